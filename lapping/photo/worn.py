"""How much ink is gone where no earlier photo tells how much there was.

A scribble has gaps. What is left of its lines tells them from wear: beside a gap the
lines are full, towards a worn place they fade. So each sample takes the share that is
left of the nearest line, and bare metal far from any line counts as worn.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.fields import Array

THIN_MM = 1.3
"""Ink is averaged over this much first: streaks left in scratches are no lines."""
FAINT = 0.2
"""Less ink than this is no line."""
RIDGE = 0.15
"""A sample is on a line if no sample near by has more ink by this much."""
NEAR_MM = 0.7
BINS, PEAK = 40, 0.6
"""Full lines make a peak in the ink on lines, worn ones lie spread below it; a peak is
at least this share of the highest one."""
SLACK = 0.93
"""A line with this share of a usual full one is full: no line is quite even."""
GAPS = (2.5, 10.0)
"""Half of the widest gap between lines is taken to be at least and at most so wide."""
WIDEST, ROOM = 0.9, 2.4
"""That half is so many times this quantile of the gaps' middles from their lines."""
SOFT_MM = 1.5
"""Worn ground begins over about so much beyond the last of a line."""


def ink_left(ink: Array, seen: Array, step_mm: float) -> tuple[Array, Array]:
    """Give the share of ink left at each sample, and its uncertainty (1 for none)."""
    across = _odd(THIN_MM / step_mm)
    weight = seen.astype(np.float32)
    amount = cv2.boxFilter(ink.astype(np.float32) * weight, -1, (across, across))
    line = amount / np.maximum(cv2.boxFilter(weight, -1, (across, across)), 1e-3)
    line = np.where(weight > 0.2, line, 0.0).astype(np.float32)
    near = _odd(2 * NEAR_MM / step_mm)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (near, near))
    ridge = (line >= cv2.dilate(line, disc) - RIDGE) & (line > FAINT)
    if not ridge.any():
        return np.zeros(ink.shape), np.full(ink.shape, 0.05)
    on_line = line[ridge]
    full = _full(on_line)
    left = np.clip(line / full, 0.0, 1.0)
    away, nearest = cv2.distanceTransformWithLabels(
        (~ridge).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    of_line = np.zeros(int(nearest.max()) + 1, np.float32)
    of_line[nearest[ridge]] = left[ridge]
    far = np.asarray(away, np.float32)
    reach = _half_gap_mm(far, seen, step_mm)
    scribbled = _closed(far * step_mm, reach, step_mm)
    found = cv2.blur(of_line[nearest] * scribbled, (across + 2, across + 2))
    # In the middle of a gap it is least sure that nothing was rubbed there.
    doubt = 0.05 + 0.25 * np.clip(away * step_mm / reach, 0.0, 1.0)
    return found.astype(float), doubt.astype(float)


def _full(on_line: NDArray[np.floating]) -> float:
    """Give the ink of a line that nothing was rubbed off, from all lines."""
    most = float(np.quantile(on_line, 0.98))
    counts, edges = np.histogram(on_line, BINS, (0.0, 1.25 * most))
    smooth = np.convolve(counts, [1, 2, 3, 2, 1], "same")
    inner = smooth[1:-1]
    peaks = (inner >= smooth[:-2]) & (inner >= smooth[2:])
    high = np.flatnonzero(peaks & (inner >= PEAK * smooth.max()))
    last = int(high[-1]) + 1 if high.size else int(np.argmax(smooth))
    return SLACK * float(edges[last] + edges[last + 1]) / 2


def _half_gap_mm(away: NDArray[np.floating], seen: Array, step_mm: float) -> float:
    """Say how far the middle of the widest gap is from the lines beside it."""
    most = cv2.dilate(away, np.ones((5, 5), np.uint8))
    middle = (away >= most) & (away > 1) & (seen > 0.2)
    if not middle.any():
        return GAPS[0]
    usual = float(np.quantile(away[middle], WIDEST)) * step_mm
    return float(np.clip(ROOM * usual, *GAPS))


def _closed(
    away_mm: NDArray[np.floating], reach: float, step_mm: float
) -> NDArray[np.floating]:
    """Fill the gaps between lines (1), and leave what is wider open (0).

    A closing by distances: all within reach of a line, less what is within reach of
    the rest, so that the border of a worn place stays where it is.
    """
    near = (away_mm <= reach).astype(np.uint8)
    if near.all():
        return np.ones(near.shape, np.float32)
    depth = cv2.distanceTransform(near, cv2.DIST_L2, 5) * step_mm
    filled = np.clip((depth - reach) / SOFT_MM + 0.5, 0.0, 1.0)
    return np.asarray(np.maximum(filled, away_mm == 0), np.float32)


def _odd(samples: float) -> int:
    return max(3, round(samples) | 1)
