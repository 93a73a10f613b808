"""What the plane stands on: wood, cloth, print, a cutting mat, stone or grit."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np

from tests.photo_scenes.colour import light_of
from tests.photo_scenes.fields import blurred, fractal, smooth, streaks
from tests.photo_scenes.scene import Array, Ground, Scene

MOST_FINE = 5.0
MOST_PX = 2400
WOODS = {"pale wood": (206, 168, 122), "dark wood": (112, 76, 50)}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bench:
    """A square of bench about the middle of the face, as BGR reflectance.

    ``fine`` is squares to a mm, ``half_mm`` how far the bench reaches each way.
    """

    top: Array
    fine: float
    half_mm: float


def bench_of(scene: Scene, per_mm: float) -> Bench:
    """Give the bench of a scene, fine enough for so many pixels to a millimetre."""
    half_mm = 1.05 * scene.face.length_mm + 60
    fine = min(MOST_FINE, MOST_PX / (2 * half_mm), 0.8 * per_mm)
    size = math.ceil(2 * half_mm * fine)
    return Bench(top=_drawn(scene, (size, size), fine), fine=fine, half_mm=half_mm)


def _drawn(scene: Scene, shape: tuple[int, int], fine: float) -> Array:
    rng = scene.stream("bench")
    draw = {
        "pale wood": _wood,
        "dark wood": _wood,
        "cloth": _cloth,
        "print": _print,
        "mat": _mat,
        "stone": _stone,
        "grit": _grit,
        "brown grit": _grit,
    }[scene.ground]
    top = draw(scene.ground, rng, shape, fine)
    for _ in range(scene.clutter):
        _lay_something(top, rng, fine)
    return np.asarray(np.clip(top, 0.004, 1.0), np.float32)


def _wood(
    ground: Ground, rng: np.random.Generator, shape: tuple[int, int], fine: float
) -> Array:
    deg = float(rng.choice([0.0, 90.0]) + rng.normal(0, 4))
    wave = smooth(rng, shape, (60 * fine, 60 * fine))
    rings = streaks(rng, shape, deg=deg, long_px=260 * fine, wide_px=7 * fine)
    rings = np.sin(4.2 * rings + 1.3 * wave)
    pores = streaks(rng, shape, deg=deg, long_px=9 * fine, wide_px=max(1, 0.35 * fine))
    fibre = streaks(rng, shape, deg=deg, long_px=50 * fine, wide_px=max(1, 0.6 * fine))
    shade = 1 + 0.13 * rings + 0.05 * fibre - 0.16 * np.clip(pores - 1.1, 0, 1.5)
    shade *= 1 + 0.08 * wave
    top = light_of(*WOODS[ground]) * shade[..., None]
    # Joints between boards.
    gap = 110 * fine
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    down, right = np.mgrid[: shape[0], : shape[1]].astype(np.float32)
    off = (-s * right + c * down + rng.uniform(0, gap)) % gap
    top[np.abs(off - gap / 2) < 0.5 * fine] *= 0.35
    return np.asarray(top, np.float32)


def _cloth(
    ground: Ground, rng: np.random.Generator, shape: tuple[int, int], fine: float
) -> Array:
    colour = light_of(*rng.choice([(84, 98, 120), (150, 144, 132), (120, 66, 60)]))
    down, right = np.mgrid[: shape[0], : shape[1]].astype(np.float32) / fine
    weave = np.sin(right * 2 * math.pi / 0.9) * np.sin(down * 2 * math.pi / 0.9)
    folds = fractal(rng, shape, 90 * fine, 3)
    lint = smooth(rng, shape, (0.5 * fine, 0.5 * fine))
    shade = np.clip(1 + 0.16 * weave + 0.2 * folds + 0.08 * lint, 0.25, 2.2)
    if rng.uniform() < 0.5:
        shade *= np.where((right % 44) < 9, 0.6, 1.0)
        shade *= np.where((down % 44) < 9, 0.7, 1.0)
    return np.asarray(colour * shade[..., None], np.float32)


def _print(
    ground: Ground, rng: np.random.Generator, shape: tuple[int, int], fine: float
) -> Array:
    """Give columns of black marks like words, with headings and grey pictures."""
    page = np.full(shape, 0.62, np.float32)
    column, lead = int(52 * fine), max(3, int(3.6 * fine))
    for left in range(0, shape[1], column):
        down = int(rng.uniform(0, 20) * fine)
        while down < shape[0]:
            kind = rng.uniform()
            if kind < 0.04:
                high = int(rng.uniform(20, 45) * fine)
                tone = 0.1 + 0.3 * rng.uniform()
                page[down : down + high, left : left + column - int(4 * fine)] = tone
                down += high + lead
                continue
            size = 3.2 if kind < 0.08 else 1.0
            word, end = left, left + column - int(5 * fine)
            tall = max(1, int(1.5 * fine * size))
            while word < end:
                wide = int(rng.uniform(1.5, 8) * fine * size)
                stop = min(word + wide, end)
                marks = rng.uniform(0, 1, (tall, max(1, stop - word))) > 0.45
                page[down : down + tall, word:stop][
                    marks[: max(0, shape[0] - down), : max(0, shape[1] - word)]
                ] = 0.05
                word = stop + max(1, int(1.1 * fine * size))
            down += int(lead * size)
    grey = blurred(page, 0.35) * (1 + 0.05 * smooth(rng, shape, (70 * fine,) * 2))
    return np.asarray(grey[..., None] * np.array([0.86, 0.95, 1.0]), np.float32)


def _mat(
    ground: Ground, rng: np.random.Generator, shape: tuple[int, int], fine: float
) -> Array:
    colour = light_of(*rng.choice([(38, 92, 78), (52, 62, 92), (70, 70, 74)]))
    down, right = np.mgrid[: shape[0], : shape[1]].astype(np.float32) / fine
    lines = ((right % 10) < 0.4) | ((down % 10) < 0.4)
    speck = smooth(rng, shape, (1.0, 1.0))
    top = colour * (1 + 0.06 * speck + 0.07 * fractal(rng, shape, 60 * fine))[..., None]
    top[lines] = 0.75 * light_of(196, 200, 150)
    return np.asarray(top, np.float32)


def _stone(
    ground: Ground, rng: np.random.Generator, shape: tuple[int, int], fine: float
) -> Array:
    speck = fractal(rng, shape, 2.2 * fine, 3)
    dark = light_of(52, 52, 56) * (1 + 0.2 * speck)[..., None]
    pale = (fractal(rng, shape, 1.4 * fine, 2) > 1.3)[..., None]
    return np.asarray(np.where(pale, light_of(150, 148, 146), dark), np.float32)


def _grit(
    ground: Ground, rng: np.random.Generator, shape: tuple[int, int], fine: float
) -> Array:
    """Give abrasive paper; the grey is about as grey as iron, on purpose."""
    colour = light_of(*((118, 116, 116) if ground == "grit" else (140, 92, 68)))
    speck = 0.22 * smooth(rng, shape, (1.0, 1.0)) + 0.06 * fractal(
        rng, shape, 50 * fine
    )
    return np.asarray(colour * np.clip(1 + speck, 0.1, 3)[..., None], np.float32)


def _lay_something(top: Array, rng: np.random.Generator, fine: float) -> None:
    """Lay a pencil, a steel strip, a scrap of paper or a shaving on the bench."""
    high, wide = top.shape[:2]
    size = {
        0: (150.0, 7.5, (196, 150, 40)),
        1: (210.0, 22.0, (176, 178, 182)),
        2: (90.0, 60.0, (232, 230, 222)),
        3: (120.0, 14.0, (222, 190, 140)),
    }[int(rng.integers(4))]
    long, broad, colour = size
    middle = rng.uniform(0.05, 0.95, 2) * (wide, high)
    box = (
        (float(middle[0]), float(middle[1])),
        (long * fine, broad * fine),
        float(rng.uniform(0, 180)),
    )
    shape = np.zeros((high, wide), np.uint8)
    corners = np.round(cv2.boxPoints(box) * 16).astype(np.int32)
    cv2.fillPoly(shape, [corners], 255, cv2.LINE_AA, 4)
    cover = (shape.astype(np.float32) / 255)[..., None]
    shade = blurred(cover[..., 0], 2.5 * fine)
    top *= 1 - 0.4 * (shade - cover[..., 0] * shade)[..., None]
    grain = streaks(
        rng, (high, wide), deg=box[2], long_px=80 * fine, wide_px=max(1, 0.5 * fine)
    )
    colours = light_of(*colour) * (1 + 0.07 * grain)[..., None]
    top *= 1 - cover
    top += colours * cover
