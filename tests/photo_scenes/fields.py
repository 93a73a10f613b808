"""Smooth and streaky noise, the stuff that surfaces are made of."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import ArrayLike

from tests.photo_scenes.scene import Array

STEP_PX = 6.0
"""Streaks are told at least this often along their run; warping is coarse."""


def smooth(
    rng: np.random.Generator, shape: tuple[int, int], cell_px: tuple[float, float]
) -> Array:
    """Give noise with mean 0 and deviation 1 that changes over ``cell_px``."""
    small = tuple(
        math.ceil(n / c) + 3 for n, c in zip(shape, map(_one, cell_px), strict=True)
    )
    noise = rng.standard_normal(small, dtype=np.float32)
    high, wide = (
        max(n, round(s * _one(c)))
        for n, s, c in zip(shape, small, cell_px, strict=True)
    )
    big = cv2.resize(noise, (wide, high), interpolation=cv2.INTER_CUBIC)
    return _scaled(big[: shape[0], : shape[1]])


def fractal(
    rng: np.random.Generator, shape: tuple[int, int], cell_px: float, octaves: int = 4
) -> Array:
    """Give cloudy noise from ``cell_px`` down, halving with each octave."""
    total = np.zeros(shape, np.float32)
    for octave in range(octaves):
        cell = max(1.0, cell_px / 2**octave)
        total += smooth(rng, shape, (cell, cell)) * 0.6**octave
    return _scaled(total)


def streaks(
    rng: np.random.Generator,
    shape: tuple[int, int],
    *,
    deg: float,
    long_px: float,
    wide_px: float,
) -> Array:
    """Give streaks that run at ``deg`` (0 along the columns' axis, 90 down)."""
    c, s = math.cos(math.radians(deg)), math.sin(math.radians(deg))
    high, wide = shape
    run = abs(wide * c) + abs(high * s)
    side = abs(wide * s) + abs(high * c)
    across = max(1.0, wide_px)
    coarse = smooth(
        rng,
        (math.ceil(side / across) + 4, math.ceil(run / STEP_PX) + 4),
        (1.0, max(1.0, long_px / STEP_PX)),
    )
    # From a place in the picture to a place in the field of streaks.
    middle = np.array([wide / 2, high / 2])
    turn = np.array([[c / STEP_PX, s / STEP_PX], [-s / across, c / across]])
    offset = np.array(coarse.shape[::-1]) / 2 - turn @ middle
    found = cv2.warpAffine(
        coarse,
        np.column_stack([turn, offset]),
        (wide, high),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REFLECT,
    )
    return _scaled(found)


def even(field: Array) -> Array:
    """Turn normal noise into noise that is spread evenly from 0 to 1."""
    # A logistic stand-in for the normal distribution, within 0.01 of it.
    return np.asarray(1 / (1 + np.exp(-1.702 * field)), np.float32)


def step(field: Array) -> Array:
    """Rise smoothly from 0 to 1 while the field goes from 0 to 1."""
    held = np.clip(field, 0.0, 1.0)
    return np.asarray(held * held * (3 - 2 * held), np.float32)


def fitted(coarse: Array, shape: tuple[int, int]) -> Array:
    """Give a coarse field at the size asked for."""
    return np.asarray(
        cv2.resize(coarse, shape[::-1], interpolation=cv2.INTER_LINEAR), np.float32
    )


def blurred(field: Array, sigma_px: float) -> Array:
    """Give the field blurred by a bell of that deviation."""
    if sigma_px < 0.2:
        return field
    return np.asarray(cv2.GaussianBlur(field, (0, 0), sigma_px), np.float32)


def _scaled(raw: ArrayLike) -> Array:
    field = np.asarray(raw, np.float32)
    return np.asarray((field - field.mean()) / (field.std() + 1e-9), np.float32)


def _one(cell: float) -> float:
    return max(1.0, cell)
