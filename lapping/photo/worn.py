"""How much ink is gone where no earlier photo tells how much there was.

A scribble has gaps. What is left of its lines tells them from wear: beside a gap the
lines are full, towards a worn place they fade. So each sample takes the share that is
left of the nearest line, and bare metal far from any line counts as worn.
"""

from __future__ import annotations

import cv2
import numpy as np

from lapping.photo.fields import Array

THIN_MM = 1.3
"""Ink is averaged over this much first: streaks left in scratches are no lines."""
FAINT = 0.2
"""Less ink than this is no line."""
RIDGE = 0.12
"""A sample is on a line if no sample near by has more ink by this much."""
NEAR_MM = 1.3
FULL = 0.85
"""A line is full at this quantile of all lines: some are crossed and doubled."""
GAPS = (2.5, 8.0)
"""Gaps between lines are taken to be at least and at most so wide, each way, in mm."""


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
    full = float(np.quantile(on_line, FULL))
    left = np.clip(line / full, 0.0, 1.0)
    away, nearest = cv2.distanceTransformWithLabels(
        (~ridge).astype(np.uint8), cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_PIXEL
    )
    of_line = np.zeros(int(nearest.max()) + 1, np.float32)
    of_line[nearest[ridge]] = left[ridge]
    reach = _gap_mm(away, seen, step_mm)
    fades = np.clip((1.6 * reach - away * step_mm) / (0.6 * reach), 0.0, 1.0)
    found = of_line[nearest] * fades
    found = cv2.boxFilter(
        found, -1, (across + 2, across + 2), borderType=cv2.BORDER_REPLICATE
    )
    # Beside the middle of a gap it is least sure that nothing was rubbed there.
    doubt = 0.05 + 0.25 * np.clip(away * step_mm / (1.6 * reach), 0.0, 1.0)
    return found.astype(float), doubt.astype(float)


def _gap_mm(away: np.ndarray, seen: Array, step_mm: float) -> float:
    """Say how far the middle of a usual gap is from its lines, with room to spare."""
    middle = (away >= cv2.dilate(away, np.ones((5, 5)))) & (away > 1) & (seen > 0.2)
    if not middle.any():
        return GAPS[0]
    usual = float(np.quantile(away[middle], 0.75)) * step_mm
    return float(np.clip(1.8 * usual, *GAPS))


def _odd(samples: float) -> int:
    return max(3, int(round(samples)) | 1)
