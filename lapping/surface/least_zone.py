"""The least zone that heights can have while some shapes are not seen."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.zone.minimum_zone_many import minimum_zone_many

Array = NDArray[np.float64]


def least_zones(
    along_mm: Array, across_mm: Array, heights_um: Array, unseen: Array
) -> Array:
    """Give for each row of heights (t, p) its least zone over all unseen shapes.

    ``unseen`` (p, q) spans the shapes; the zone is the minimum over the plane and over
    any amount of each, a linear program (scipy's HiGHS) a row. Without unseen shapes
    it is the minimum zone.
    """
    if unseen.shape[1] == 0:
        return minimum_zone_many(along_mm, across_mm, heights_um)
    # Only unseen shapes pay for scipy's import.
    from scipy.optimize import linprog

    p, q = unseen.shape
    spread = np.array([np.ptp(along_mm), np.ptp(across_mm)])
    spread[spread == 0] = 1.0
    terms = np.column_stack(
        [np.ones(p), along_mm / spread[0], across_mm / spread[1], unseen]
    )
    above = np.column_stack([terms, np.ones(p)])
    below = np.column_stack([-terms, np.ones(p)])
    rows = -np.concatenate([above, below])
    cost = np.zeros(4 + q)
    cost[-1] = 2.0
    bounds = [(None, None)] * (3 + q) + [(0, None)]
    found = np.empty(len(heights_um))
    for i, height in enumerate(heights_um):
        size = max(float(np.ptp(height)), 1e-12)
        z = height / size
        result = linprog(
            cost, A_ub=rows, b_ub=np.concatenate([-z, z]), bounds=bounds, method="highs"
        )
        found[i] = result.fun * size
    return found
