"""Photos of a scribbled plane on real textures, with corners known exactly.

A box with a drawn face is seen through a lens without distortion; the bench under it is
one of the photographs that come with scikit-image. Invented throughout.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from skimage import data

from lapping.face import Face

Array = NDArray[np.float64]
Picture = NDArray[np.uint8]

BENCHES = ("brick", "grass", "gravel", "coffee", "astronaut", "text", "camera")
INKS = ((30, 25, 25), (150, 60, 30), (40, 40, 190), (70, 120, 30), (110, 30, 90))
PX_PER_MM = 5


@dataclass(frozen=True, kw_only=True)
class FacePhoto:
    """A photo of a face: its corners toe-left, toe-right, heel-right, heel-left."""

    picture: Picture
    corners_px: Array
    face: Face

    def off_mm(self, found_px: Array) -> float:
        """Say how far the worst corner found lies from the true one, on the face.

        An outline does not know its toe, so it may begin at any corner.
        """
        size = np.array([self.face.width_mm, self.face.length_mm])
        true = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * size
        to_mm = cv2.getPerspectiveTransform(
            self.corners_px.astype(np.float32), true.astype(np.float32)
        ).astype(np.float64)
        back = cv2.perspectiveTransform(np.asarray(found_px, np.float64)[None], to_mm)[
            0
        ]
        return min(
            float(np.linalg.norm(np.roll(back, turn, axis=0) - true, axis=1).max())
            for turn in range(4)
        )


def draw_face(face: Face, rng: np.random.Generator) -> Picture:
    """Draw a face straight on, toe up: metal, zigzag ink, rubbed places, mouth."""
    high, wide = (int(s * PX_PER_MM) for s in (face.length_mm, face.width_mm))
    grain = rng.normal(0, 1, (high // 40 + 1, wide)).astype(np.float32)
    metal = rng.uniform(90, 190) + 9 * cv2.resize(grain, (wide, high))
    drawn = np.repeat(metal[..., None], 3, axis=2) * rng.uniform(0.94, 1.06, 3)
    ink = np.zeros((high, wide), np.uint8)
    line = int(rng.uniform(2, 5) * PX_PER_MM)
    step = int(line * rng.uniform(0.8, 2.2))
    rim = int(rng.uniform(0, 2) * PX_PER_MM)
    turns = [
        (rim if k % 2 else wide - rim, y) for k, y in enumerate(range(rim, high, step))
    ]
    cv2.polylines(ink, [np.array(turns, np.int32)], False, 255, line)
    rubbed = cv2.resize(rng.uniform(0, 1, (7, 3)).astype(np.float32), (wide, high))
    cover = (ink / 255.0) * rng.uniform(0.7, 0.95) * (rubbed < 0.6)
    colour = np.array(INKS[int(rng.integers(len(INKS)))])
    drawn += (colour - drawn) * cover[..., None]
    if face.mouth is not None:
        start, stop = (
            int(m * PX_PER_MM) for m in (face.mouth.from_mm, face.mouth.to_mm)
        )
        drawn[start:stop, 3 * PX_PER_MM : wide - 3 * PX_PER_MM] = 22
    return np.clip(drawn, 0, 255).astype(np.uint8)


def bench_of(name: str, size: int = 1400) -> Picture:
    """Give a bundled photograph as a bench, mirrored until it is large enough."""
    found = np.asarray(getattr(data, name)())
    picture = found if found.ndim == 3 else np.repeat(found[..., None], 3, axis=2)
    picture = np.ascontiguousarray(picture[..., ::-1])
    add = max(0, size - min(picture.shape[:2]))
    return np.asarray(
        cv2.copyMakeBorder(picture, 0, add, 0, add, cv2.BORDER_REFLECT), np.uint8
    )


def photo_of(
    face: Face,
    seed: int,
    *,
    bench: str,
    turned_deg: float = 90.0,
    size: tuple[int, int] = (1280, 960),
    body_mm: float = 40.0,
    fill: float = 0.8,
    tilt_deg: float = 12.0,
    shift: float = 0.04,
) -> FacePhoto:
    """See a box with the face on top; ``turned_deg`` 0 has the toe up, 90 right."""
    rng = np.random.default_rng(seed)
    wide = size[0]
    focal = rng.uniform(0.7, 1.3) * wide
    a, b = np.radians(rng.uniform(-tilt_deg, tilt_deg, 2))
    c = np.radians(turned_deg)
    about_x = np.array(
        [[1, 0, 0], [0, np.cos(a), -np.sin(a)], [0, np.sin(a), np.cos(a)]]
    )
    about_y = np.array(
        [[np.cos(b), 0, np.sin(b)], [0, 1, 0], [-np.sin(b), 0, np.cos(b)]]
    )
    about_z = np.array(
        [[np.cos(c), -np.sin(c), 0], [np.sin(c), np.cos(c), 0], [0, 0, 1]]
    )
    turn = about_x @ about_y @ about_z
    half = np.array([face.width_mm, face.length_mm]) / 2
    square = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
    off = rng.uniform(-shift, shift, 2) * size

    def see(places: Array, deep: float, away: float) -> Array:
        seen = np.column_stack([places, np.full(len(places), deep)]) @ turn.T
        seen[:, 2] += away
        return focal * seen[:, :2] / seen[:, 2:] + np.array(size) / 2 - 0.5 + off

    room = np.array(size) * fill / 2
    away = 1.0
    for away in np.geomspace(60, 6000, 500):
        ahead = (np.column_stack([square, np.zeros(4)]) @ turn.T)[:, 2] + away
        span = see(square, 0, away) - off - np.array(size) / 2
        if (ahead > 20).all() and (np.abs(span) < room).all():
            break
    top, low = see(square, 0, away), see(square, body_mm, away)
    picture = _shaded(bench_of(bench), rng)
    reach = 700.0
    under = see(np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * reach, body_mm, away)
    photo = _warp(picture, under, size, None)
    _shadow(photo, low, rng)
    for side in range(4):
        wall = np.array([top[side - 1], top[side], low[side], low[side - 1]])
        # Lit from elsewhere than the face, so lighter or darker than it.
        tone = rng.choice([rng.uniform(20, 60), rng.uniform(190, 220)])
        cv2.fillConvexPoly(photo, np.rint((2 * wall + 0.5) * 16).astype(int),
                           (tone, tone, tone * 1.05), cv2.LINE_AA, 4)  # fmt: skip
    photo = _warp(draw_face(face, rng), top, size, photo)
    photo = cv2.resize(photo, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    photo *= np.linspace(*rng.uniform(0.7, 1.15, 2), wide, dtype=np.float32)[:, None]
    photo = cv2.GaussianBlur(photo, (0, 0), rng.uniform(0.5, 1.2))
    photo += rng.normal(0, 4, photo.shape).astype(np.float32)
    bytes_ = np.clip(photo, 0, 255).astype(np.uint8)
    _, coded = cv2.imencode(".jpg", bytes_, [cv2.IMWRITE_JPEG_QUALITY, 85])
    decoded = np.asarray(cv2.imdecode(coded, cv2.IMREAD_COLOR), np.uint8)
    return FacePhoto(picture=decoded, corners_px=top, face=face)


def _shaded(picture: Picture, rng: np.random.Generator) -> Picture:
    warm = picture * rng.uniform(0.75, 1.1) * rng.uniform(0.92, 1.08, 3)
    return np.clip(warm, 0, 255).astype(np.uint8)


def _warp(
    drawn: Picture, corners: Array, size: tuple[int, int], over: Picture | None
) -> Picture:
    """Lay a picture on a quad of the photo, at twice the photo's size."""
    high, wide = drawn.shape[:2]
    whole = np.array([[0, 0], [wide, 0], [wide, high], [0, high]]) - 0.5
    to = cv2.getPerspectiveTransform(
        whole.astype(np.float32), (2 * corners + 0.5).astype(np.float32)
    )
    twice = (2 * size[0], 2 * size[1])
    laid = cv2.warpPerspective(drawn, to, twice, flags=cv2.INTER_LINEAR)
    if over is None:
        return np.asarray(laid, np.uint8)
    inside = cv2.warpPerspective(
        np.full((high, wide), 255, np.uint8), to, twice, flags=cv2.INTER_NEAREST
    )
    return np.where((inside > 0)[..., None], laid, over).astype(np.uint8)


def _shadow(photo: Picture, low: Array, rng: np.random.Generator) -> None:
    """Darken the bench beside the box, softly."""
    mask = np.zeros(photo.shape[:2], np.uint8)
    away = rng.uniform(-50, 50, 2)
    cv2.fillConvexPoly(mask, np.rint(2 * (low + away)).astype(int), 255)
    soft = cv2.blur(mask, (61, 61)).astype(np.float32) / 255
    photo[:] = (photo * (1 - 0.55 * soft[..., None])).astype(np.uint8)
