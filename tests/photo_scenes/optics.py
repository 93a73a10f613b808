"""The camera: where it stands, and which place each pixel sees.

World: across (right), along (to the heel) and depth (away from the camera), mm, from
the toe-left corner of the face, whose plane has depth 0. The camera sees the face from
depth below 0. Pinhole with one radial term, r' = r (1 + k r²), in shares of the focal
length.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from tests.photo_scenes.scene import Array, Camera

Double = NDArray[np.float64]
TURNS = {"up": 0.0, "right": 90.0, "down": 180.0, "left": -90.0}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pose:
    """A camera that has been placed: turn, place, focal length and lens.

    ``turn`` takes world directions to the camera's (right, down, ahead).
    """

    size_px: tuple[int, int]
    focal_px: float
    radial: float
    turn: Double
    eye_mm: Double

    @property
    def middle_px(self) -> Double:
        """Give where the axis of the lens meets the picture."""
        return (np.array(self.size_px) - 1) / 2

    def seen_at_px(self, places_mm: Double) -> Double:
        """Give the pixels (n, 2) of places (n, 3) in the world."""
        local = (places_mm - self.eye_mm) @ self.turn.T
        flat = local[:, :2] / local[:, 2:]
        bent = flat * (1 + self.radial * (flat**2).sum(axis=1, keepdims=True))
        return np.asarray(bent * self.focal_px + self.middle_px)

    def rays(self) -> tuple[Array, Array, Array]:
        """Give for each pixel the world direction it looks in: three pictures."""
        wide, high = self.size_px
        middle = self.middle_px
        right = ((np.arange(wide) - middle[0]) / self.focal_px)[None, :]
        down = ((np.arange(high) - middle[1]) / self.focal_px)[:, None]
        bend = self.radial * (right**2 + down**2)
        # The lens undone, as a series; the next term is below 1e-6 for these lenses.
        straight = 1 - bend + 3 * bend**2 - 12 * bend**3 + 55 * bend**4
        right, down = right * straight, down * straight
        back = self.turn.T
        ways = [
            np.asarray(back[k, 0] * right + back[k, 1] * down + back[k, 2])
            for k in range(3)
        ]
        return ways[0], ways[1], ways[2]

    def on_plane(
        self, rays: tuple[Array, Array, Array], depth_mm: float
    ) -> tuple[Array, Array]:
        """Give across and along where each pixel meets the plane at that depth."""
        reach = (depth_mm - self.eye_mm[2]) / rays[2]
        return (
            np.asarray(self.eye_mm[0] + reach * rays[0], np.float32),
            np.asarray(self.eye_mm[1] + reach * rays[1], np.float32),
        )


def face_corners_mm(face: Face) -> Double:
    """Give toe-left, toe-right, heel-right and heel-left in the world."""
    long, wide = face.length_mm, face.width_mm
    return np.array([[0, 0, 0], [wide, 0, 0], [wide, long, 0], [0, long, 0]], float)


def placed(camera: Camera, face: Face) -> Pose:
    """Place a camera so that the face fills and lies in the frame as told."""
    wide, high = camera.size_px
    focal = camera.focal * max(camera.size_px)
    half = (wide / 2 / focal, high / 2 / focal)
    radial = 2 * camera.bow_percent / 100 / (max(half) * min(half))
    turn = _turn(camera)
    corners = face_corners_mm(face)
    middle = corners.mean(axis=0)
    far = 2.0 * face.length_mm
    aim = middle.copy()
    pose = Pose(
        size_px=camera.size_px, focal_px=focal, radial=radial, turn=turn, eye_mm=aim
    )
    for _ in range(60):
        pose = Pose(
            size_px=camera.size_px,
            focal_px=focal,
            radial=radial,
            turn=turn,
            eye_mm=aim - far * turn[2],
        )
        seen = pose.seen_at_px(corners)
        low, high_px = seen.min(axis=0), seen.max(axis=0)
        fill = float(((high_px - low) / camera.size_px).max())
        off = (low + high_px) / 2 - pose.middle_px
        off = off - np.array(camera.shift) * camera.size_px
        # Where the face lies too far right the eye goes right; likewise down.
        aim = aim + 0.8 * far / focal * (off[0] * turn[0] + off[1] * turn[1])
        far *= (fill / camera.fill) ** 0.8
    return pose


def _turn(camera: Camera) -> Double:
    roll = math.radians(TURNS[camera.toe] + camera.turn_deg)
    c, s = math.cos(roll), math.sin(roll)
    rolled = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    tilt, to = math.radians(camera.tilt_deg), math.radians(camera.tilt_to_deg)
    axis = np.array([-math.sin(to), math.cos(to), 0])
    cross = np.array(
        [[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]]
    )
    tilted = np.eye(3) + math.sin(tilt) * cross + (1 - math.cos(tilt)) * cross @ cross
    return np.asarray(rolled @ tilted)
