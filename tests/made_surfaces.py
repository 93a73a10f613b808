"""Ground metal made up for tests: scratches of two grits, a lamp, a phone's camera.

What is true of it is the last grit's share of the energy of brightness.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """How a surface was ground and photographed; angles clockwise from upright."""

    last_deg: float = 90.0
    this_deg: float = 0.0
    share: float = 0.3
    seed: int = 1
    size: tuple[int, int] = (600, 800)
    scatter_deg: float = 4.0
    scratches: int = 250
    last_px: float = 3.0
    this_px: float = 1.5
    contrast: float = 0.1
    falloff: float = 0.5
    blur_px: float = 0.8
    smear_px: int = 0
    noise: float = 3.0
    quality: int = 90
    dirt: int = 0
    shiny: bool = False


def photo(ground: Ground) -> NDArray[np.uint8]:
    """Give the close-up, BGR. The lamp shines equally aslant to both grits."""
    rng = np.random.default_rng(ground.seed)
    height, width = ground.size
    half = ((ground.this_deg - ground.last_deg + 90) % 180 - 90) / 2
    lamp = np.radians(ground.last_deg + half)
    slopes = [
        _slopes(ground, deg, wide, lamp, rng)
        for deg, wide in (
            (ground.last_deg, ground.last_px),
            (ground.this_deg, ground.this_px),
        )
    ]
    seen = np.sqrt(ground.share) * slopes[0] + np.sqrt(1 - ground.share) * slopes[1]
    if ground.shiny:
        # A lobe of reflection instead of a straight line: bends large slopes down.
        seen = (np.exp(-(((0.25 * seen - 0.5) / 0.5) ** 2)) - np.exp(-1)) / 0.36
    y, x = np.mgrid[0:height, 0:width]
    far = np.hypot(x - 0.3 * width, y - 0.4 * height) / np.hypot(width, height)
    light = 140 * (1 - ground.falloff * far) * (1 + ground.contrast * seen)
    for _ in range(ground.dirt):
        middle = (int(rng.integers(width)), int(rng.integers(height)))
        shade = float(rng.choice([20, 230]))
        cv2.circle(light, middle, int(rng.integers(4, 22)), shade, -1)
    light = cv2.GaussianBlur(light, (0, 0), ground.blur_px)
    if ground.smear_px:
        # Twice: a hand slows down and turns round.
        light = cv2.blur(light, (ground.smear_px, 1))
        light = cv2.blur(light, (ground.smear_px, 1))
    light = light + rng.normal(0, ground.noise, light.shape)
    grey = np.clip(light, 0, 255).astype(np.uint8)
    return coded(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR), ground.quality)


def coded(picture: NDArray[np.uint8], quality: int) -> NDArray[np.uint8]:
    """Give what is left of a picture after JPEG."""
    _, packed = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(packed, cv2.IMREAD_COLOR), np.uint8)


def _slopes(
    ground: Ground, deg: float, wide: float, lamp: float, rng: np.random.Generator
) -> Array:
    """Give the slopes towards the lamp of one grit's scratches, of unit variance."""
    height, width = ground.size
    reach = float(np.hypot(height, width))
    depth = np.zeros((height, width), np.uint8)
    for _ in range(ground.scratches):
        angle = np.radians(deg + rng.normal(0, ground.scatter_deg))
        middle = rng.uniform((-0.2 * width, -0.2 * height), (1.2 * width, 1.2 * height))
        along = np.array([np.sin(angle), -np.cos(angle)])
        half = reach * rng.lognormal(-0.3, 0.5) / 2
        ends = [
            ((middle + s * half * along) * 16).astype(int).tolist() for s in (-1, 1)
        ]
        shade = float(np.clip(40 * rng.lognormal(0, 0.6), 5, 255))
        across = max(1, round(wide * rng.lognormal(0, 0.4)))
        cv2.line(depth, ends[0], ends[1], shade, across, cv2.LINE_AA, 4)
    rounded = cv2.GaussianBlur(depth.astype(np.float64), (0, 0), 0.7)
    down, right = np.gradient(-rounded)
    slopes = right * np.sin(lamp) - down * np.cos(lamp)
    return np.asarray(slopes / slopes.std())
