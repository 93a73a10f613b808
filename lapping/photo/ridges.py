"""How much of a picture's pattern runs in which direction, block by block.

Lines in one direction put their energy on the line through the origin of the spectrum
that is square to them (projection-slice theorem). What all directions share, such as
sensor noise, dirt and blur, is measured in the directions that nobody ground in, and
taken off.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.directions import between_deg
from lapping.photo.turned import Pixels

Array = NDArray[np.float64]

LONG_BLOCK, SHORT_BLOCK = 256, 128
BLOCKS_A_SIDE = 3
"""A picture with fewer short blocks than this a side is too small."""
MOST_A_SIDE = 10
LEAST_WAVES = 8
"""Fewer waves a block have no clear direction; uneven light is among them."""
FINEST = 0.36
"""Waves a pixel; above it lie what sensors and their filters make of colours."""
FINE = 0.1
"""Waves a pixel: what is finer than this goes first where a photo is blurred."""
RINGS = 8
HALF_WIDTH_DEG = 22.0
"""How far from its direction a scratch made by hand may run, where there is room."""
GUARD_DEG = 3.0
JPEG_BLOCK = 8
CLIPPED_SHARE = 0.05
FLATTEN_PX = 16


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ridges:
    """Energy per block in two directions, above what every direction has.

    It is the variance of brightness as a share of what is usual round about.
    ``energy`` is (rows, columns, 2), ``floor`` (rows, columns) what was taken off,
    ``uneven`` how far it differs between the free directions; NaN where a block is
    blown out or black. ``fine`` is the share of the energy at periods below 10 px, for
    either direction.
    """

    energy: Array
    floor: Array
    uneven: Array
    fine: Array


def ridges(grey: Pixels, one_deg: float, other_deg: float) -> Ridges:
    """Measure lines along two directions, in degrees clockwise from upright.

    ValueError for a picture smaller than BLOCKS_A_SIDE short blocks.
    """
    size = _block_size(grey.shape)
    flat = flattened(grey)
    tops, lefts = (_starts(n, size) for n in grey.shape)
    window = np.hanning(size + 2)[1:-1].astype(np.float32)
    window = np.outer(window, window)
    sums = _sums(size, one_deg, other_deg)
    # Parseval: the whole spectrum then sums up to the variance.
    sums /= size**2 * float((window**2).sum())
    found = np.full((len(tops), len(lefts), sums.shape[1]), np.nan)
    for i, top in enumerate(tops):
        for j, left in enumerate(lefts):
            part = np.s_[top : top + size, left : left + size]
            clipped = (grey[part] >= 250) | (grey[part] <= 4)
            if clipped.mean() > CLIPPED_SHARE:
                continue
            block = flat[part]
            waves = np.fft.rfft2((block - block.mean()) * window)
            found[i, j] = (np.abs(waves) ** 2).ravel() @ sums
    parts = found.reshape(*found.shape[:2], RINGS, 5)
    energy = parts[..., :2]
    fine = _edges(size)[:-1] > 0.99 * FINE
    with np.errstate(invalid="ignore", divide="ignore"):
        share = np.nansum(energy[:, :, fine], axis=(0, 1, 2)) / np.nansum(
            energy, axis=(0, 1, 2)
        )
    return Ridges(
        energy=energy.sum(axis=2),
        floor=parts[..., 2].sum(axis=2),
        uneven=(parts[..., 3] - parts[..., 4]).sum(axis=2) / 2,
        fine=np.asarray(share, np.float64),
    )


def flattened(grey: Pixels) -> NDArray[np.float32]:
    """Give brightness as a share of what is usual round about, less one."""
    small = cv2.resize(
        grey.astype(np.float32),
        None,
        fx=1 / FLATTEN_PX,
        fy=1 / FLATTEN_PX,
        interpolation=cv2.INTER_AREA,
    )
    small = cv2.GaussianBlur(small, (0, 0), 1.5)
    usual = cv2.resize(
        small, (grey.shape[1], grey.shape[0]), interpolation=cv2.INTER_CUBIC
    )
    return np.asarray(grey / np.maximum(usual, 1.0) - 1, np.float32)


def grain(grey: Pixels) -> tuple[float, float]:
    """Give how much of the pattern runs one way (0 to 1), and which way, in degrees.

    Coherence of the structure tensor over the whole picture, from gradients at a scale
    of one pixel. The angle is that of the
    lines, clockwise from upright.
    """
    smooth = cv2.GaussianBlur(grey.astype(np.float32), (0, 0), 1.0)
    down, right = np.gradient(smooth)
    xx, yy, xy = (
        float(np.mean(a * b, dtype=np.float64))
        for a, b in ((right, right), (down, down), (right, down))
    )
    if xx + yy == 0:
        return 0.0, 0.0
    # The gradient is square to the lines, and its angle from the right is therefore
    # theirs from upright.
    angle = np.degrees(0.5 * np.arctan2(2 * xy, xx - yy)) % 180
    return float(np.hypot(xx - yy, 2 * xy) / (xx + yy)), float(angle)


def _block_size(shape: tuple[int, ...]) -> int:
    for size in (LONG_BLOCK, SHORT_BLOCK):
        if min(shape) >= BLOCKS_A_SIDE * size:
            return size
    message = f"at least {BLOCKS_A_SIDE * SHORT_BLOCK} pixels a side are needed"
    raise ValueError(message)


def _starts(length: int, size: int) -> list[int]:
    # A little over each other, as the window leaves the rims of a block out.
    count = min(MOST_A_SIDE, max(BLOCKS_A_SIDE, round(1.3 * length / size)))
    return [round(at) for at in np.linspace(0, length - size, count)]


def _edges(size: int) -> Array:
    """Give the borders of the rings, with one at FINE for every size."""
    low = LEAST_WAVES / size
    below = 3 if size == LONG_BLOCK else 1
    return np.concatenate(
        [
            np.geomspace(low, FINE, below + 1)[:-1],
            np.geomspace(FINE, FINEST, RINGS - below + 1),
        ]
    )


def _sums(size: int, one_deg: float, other_deg: float) -> NDArray[np.float32]:
    """Give the weights that turn a block's spectrum into energies, ring by ring.

    For each ring: above the floor in either direction, the floor below both, and the
    floor as either half of the free directions has it.
    """
    down = np.asarray(np.fft.fftfreq(size)[:, None], np.float64)
    right = np.asarray(np.fft.rfftfreq(size)[None, :], np.float64)
    radius = np.hypot(right, down)
    # Half of the spectrum stands for all of it.
    twice = np.where((right == 0) | (right == 0.5), 1.0, 2.0) * np.ones_like(radius)
    angle = np.degrees(np.arctan2(down, right)) % 180
    usable = twice * ~_from_jpeg(down, right, size)
    apart = between_deg(one_deg, other_deg)
    half = min(HALF_WIDTH_DEG, apart / 2)
    near = [_near(angle, deg) <= half for deg in (one_deg, other_deg)]
    near[1] &= ~near[0]
    free = np.all(
        [_near(angle, deg) > half + GUARD_DEG for deg in (one_deg, other_deg)], axis=0
    )
    # The middle between the two by the shorter way, and the rest by the longer one.
    middle = one_deg + ((other_deg - one_deg + 90) % 180 - 90) / 2
    short = free & (_near(angle, middle) <= apart / 2)
    columns = []
    for low, high in zip(_edges(size)[:-1], _edges(size)[1:], strict=True):
        ring = (radius >= low) & (radius < high)
        floor = _mean(usable, ring & free)
        counts = [float((twice * (ring & n)).sum()) for n in near]
        for n, count in zip(near, counts, strict=True):
            columns.append(count * (_mean(usable, ring & n) - floor))
        columns.append(sum(counts) * floor)
        columns += [
            counts[0] * _mean(usable, ring & part) for part in (short, free & ~short)
        ]
    return np.stack([c.ravel() for c in columns], axis=1).astype(np.float32)


def _near(angle: Array, deg: float) -> Array:
    apart = np.abs(angle - deg) % 180
    return np.asarray(np.minimum(apart, 180 - apart))


def _mean(usable: Array, mask: NDArray[np.bool_]) -> Array:
    weights = usable * mask
    return np.asarray(weights / max(float(weights.sum()), 1e-9))


def _from_jpeg(down: Array, right: Array, size: int) -> NDArray[np.bool_]:
    """Say where the borders of JPEG's blocks put energy of their own."""
    found = np.zeros((down.size, right.size), bool)
    for harmonic in range(1, JPEG_BLOCK // 2):
        for across, along in ((right, down), (np.abs(down), np.abs(right))):
            beside = np.abs(across - harmonic / JPEG_BLOCK) <= 2.01 / size
            found |= beside & (np.abs(along) <= 0.5 / JPEG_BLOCK)
    return found
