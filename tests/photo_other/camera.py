"""A phone's camera: where it stands, where points fall, and how light becomes a file.

World frame in mm: x runs across the face from its left edge, y runs towards the toe
(so a place of the face is x = across, y = −along), z runs up from the bench.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .scenes import Scene

Array = NDArray[np.float32]
Real = NDArray[np.float64]
ROLL = {"up": 0.0, "right": 90.0, "down": 180.0, "left": -90.0}
GREY = np.array([0.2126, 0.7152, 0.0722], dtype=np.float32)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """A pinhole with a little radial bend of the lens; pixel centres at integers."""

    width_px: int
    height_px: int
    focal_px: float
    turn: Real
    """Rotation from world to camera (right, down, ahead)."""
    place_mm: Real
    bend: float

    def project(self, points_mm: Real) -> Real:
        """Give the pixels (n, 2) of world points (n, 3)."""
        seen = (points_mm - self.place_mm) @ self.turn.T
        flat = seen[:, :2] / seen[:, 2:]
        flat = flat * (1 + self.bend * np.sum(flat**2, axis=1, keepdims=True))
        middle = np.array([self.width_px - 1, self.height_px - 1]) / 2
        return np.asarray(flat * self.focal_px + middle)

    def rays(self, first: int, last: int) -> Array:
        """Give the directions in which the pixels of these picture rows look."""
        u = (np.arange(self.width_px) - (self.width_px - 1) / 2) / self.focal_px
        v = (np.arange(first, last) - (self.height_px - 1) / 2) / self.focal_px
        bent = np.hypot(u[None, :], v[:, None])
        straight = np.linspace(0, 2, 4001)
        asked = straight * (1 + self.bend * straight**2)
        scale = np.interp(bent, asked, straight) / np.maximum(bent, 1e-9)
        scale[bent < 1e-9] = 1.0
        ahead = np.stack(
            [u[None, :] * scale, v[:, None] * scale, np.ones_like(bent)], axis=-1
        )
        return (ahead @ self.turn).astype(np.float32)

    def shrunk(self, times: int) -> Camera:
        """Give the same view in fewer pixels; the sizes are multiples of times."""
        return Camera(
            width_px=self.width_px // times,
            height_px=self.height_px // times,
            focal_px=self.focal_px / times,
            turn=self.turn,
            place_mm=self.place_mm,
            bend=self.bend,
        )


def _spin(degrees: float, axis: tuple[float, float, float]) -> Real:
    turned, _ = cv2.Rodrigues(np.radians(degrees) * np.array(axis))
    return np.asarray(turned, dtype=np.float64)


def corners_mm(scene: Scene) -> Real:
    """Give toe-left, toe-right, heel-right, heel-left in the world frame."""
    long, wide, high = scene.face.length_mm, scene.face.width_mm, scene.body_mm
    flat = [(0, 0), (wide, 0), (wide, -long), (0, -long)]
    return np.array([(x, y, high) for x, y in flat], dtype=np.float64)


def make_camera(scene: Scene, rng: np.random.Generator, *, before: bool) -> Camera:
    """Stand the camera so that the face fills the frame as the scene says."""
    lying = scene.toe in ("left", "right")
    wide = scene.wide if lying else 1 / scene.wide
    height = np.sqrt(scene.megapixels * 1e6 / wide)
    width_px, height_px = (round(n / 16) * 16 for n in (height * wide, height))
    focal = scene.zoom * max(width_px, height_px)
    # The second picture is never taken from quite the same place.
    jog = rng.normal(0, 1, 5) * scene.apart * (1 if before else 0)
    tilt = scene.tilt_deg + 2.0 * jog[0]
    tilt = float(np.clip(tilt, 0.5, 35))
    way = np.radians(scene.tilt_from_deg + 8 * jog[1])
    turned = float(np.clip(scene.turn_deg + 2.5 * jog[2], -20, 20))
    down = np.diag([1.0, -1.0, -1.0])
    roll = _spin(ROLL[scene.toe] + turned, (0, 0, 1))
    lean = _spin(tilt, (np.cos(way), np.sin(way), 0))
    turn = lean @ roll @ down
    corners = corners_mm(scene)
    fill = scene.fill * (1 - 0.03 * abs(jog[3]))
    off = np.array([scene.aside, -0.5 * scene.aside]) + 0.01 * jog[3:5] * (fill < 1)
    target = corners.mean(axis=0)
    distance = 2.0 * scene.face.length_mm
    camera = None
    for _ in range(40):
        camera = Camera(
            width_px=width_px,
            height_px=height_px,
            focal_px=focal,
            turn=turn,
            place_mm=target - distance * turn[2],
            bend=scene.lens,
        )
        seen = camera.project(corners)
        frame = np.array([width_px, height_px])
        share = float(np.max((seen.max(axis=0) - seen.min(axis=0)) / frame))
        miss = (seen.max(axis=0) + seen.min(axis=0)) / 2 - (0.5 + off) * frame
        # Slide over the plane of the face until it lies where it should.
        slide = (miss[0] * turn[0] + miss[1] * turn[1]) * distance / focal
        target = target + slide - turn[2] * slide[2] / turn[2, 2]
        distance *= share / fill
    assert camera is not None
    return camera


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Setting:
    """What the phone chose for one picture."""

    gain: Array
    local: Array


def choose(light: Array, scene: Scene) -> Setting:
    """Choose exposure, white balance and local lifting as a phone would."""
    small = cv2.resize(light, (96, 96), interpolation=cv2.INTER_AREA)
    luma = small @ GREY
    there = np.linspace(-1, 1, 96)
    weight = np.exp(-(there[:, None] ** 2 + there[None, :] ** 2) / 0.8)
    mean = float(np.sum(luma * weight) / np.sum(weight))
    bright = float(np.percentile(luma, 94))
    gain = min(0.3 / mean, 1.2 / max(bright, 1e-9)) * 2**scene.stops
    cast = np.sum(small * weight[..., None], axis=(0, 1)) / np.sum(weight)
    white = (float(cast @ GREY) / cast) ** 0.6
    base = cv2.GaussianBlur(np.minimum(luma * gain, 4.0), (0, 0), 9)
    lift = (0.3 / (base + 0.03)) ** scene.squeeze
    return Setting(
        gain=(gain * white).astype(np.float32), local=lift.astype(np.float32)
    )


def tone(light: Array, setting: Setting) -> Array:
    """Turn light into 0..1 as the file stores it: shoulder, then the sRGB curve."""
    size = (light.shape[1], light.shape[0])
    lift = cv2.resize(setting.local, size, interpolation=cv2.INTER_CUBIC)
    level = np.maximum(light * setting.gain * lift[..., None], 0)
    # Straight below 0.6, then a shoulder that is full at about 1.7.
    over = np.maximum(level - 0.6, 0)
    level = np.where(level > 0.6, 0.6 + 0.4 * (1 - np.exp(-over / 0.4)) * 1.04, level)
    level = np.clip(level, 0, 1)
    # IEC 61966-2-1; the linear foot below 0.0031308 included.
    curve = np.where(
        level > 0.0031308, 1.055 * level ** (1 / 2.4) - 0.055, 12.92 * level
    )
    # A phone adds a little contrast of its own.
    curve = curve + 0.06 * np.sin(2 * np.pi * (curve - 0.5)) * 0.8
    return np.asarray(np.clip(curve, 0, 1), dtype=np.float32)


def blur(light: Array, scene: Scene, rng: np.random.Generator, times: int = 1) -> Array:
    """Blur by lens and hand, with the darker corners of a small lens."""
    out = cv2.GaussianBlur(light, (0, 0), max(scene.soft_px / times, 0.3))
    heading = rng.uniform(0, np.pi)
    if scene.shake_px / times > 1:
        reach = int(scene.shake_px / times) + 2
        streak = np.zeros((2 * reach + 1, 2 * reach + 1), dtype=np.float32)
        d = scene.shake_px / times / 2 * np.array([np.cos(heading), np.sin(heading)])
        ends = [
            (int((reach + s * d[0]) * 16), int((reach + s * d[1]) * 16))
            for s in (-1, 1)
        ]
        cv2.line(streak, ends[0], ends[1], 1.0, 1, cv2.LINE_AA, 4)
        out = cv2.filter2D(out, -1, streak / streak.sum())
    v = np.linspace(-1, 1, out.shape[0], dtype=np.float32)[:, None, None]
    u = np.linspace(-1, 1, out.shape[1], dtype=np.float32)[None, :, None]
    return np.asarray(out * (1 - 0.14 * (u * u + v * v)), dtype=np.float32)


def develop(
    light: Array, setting: Setting, scene: Scene, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """Make the file: noise, a denoiser's smear, tone, sharpening, JPEG."""
    spread = rng.standard_normal(light.shape, dtype=np.float32)
    level = light * setting.gain
    noise = 0.006 * scene.grain * np.sqrt(np.maximum(level, 0) + 0.004) * spread
    level = level + noise
    if scene.grain > 1.5:
        mush = cv2.GaussianBlur(level, (0, 0), 1.2)
        level = mush + 0.45 * (level - mush)
    picture = tone(level / setting.gain, setting)
    luma = picture @ GREY
    soft = cv2.GaussianBlur(luma, (0, 0), 1.6)
    picture = picture + scene.crisp * np.clip(luma - soft, -0.12, 0.12)[..., None]
    bytes_ = np.clip(picture * 255 + 0.5, 0, 255).astype(np.uint8)[..., ::-1]
    how = [cv2.IMWRITE_JPEG_QUALITY, scene.quality]
    ok, packed = cv2.imencode(".jpg", np.ascontiguousarray(bytes_), how)
    assert ok
    shown = cv2.imdecode(packed, cv2.IMREAD_COLOR)
    return np.asarray(shown, dtype=np.uint8)
