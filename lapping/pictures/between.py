"""Values between the places of a regular grid, by cubic convolution.

Keys, Cubic convolution interpolation for digital image processing, 1981: through every
place, smooth, and exact for second-degree surfaces up to the border. A spline would do
as well, and loading one takes longer than drawing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def between(
    along_axis_mm: Array,
    across_axis_mm: Array,
    laid: Array,
    along_mm: Array,
    across_mm: Array,
    *,
    straight: bool = False,
) -> Array:
    """Give values (n_along, n_across) where two axes cross, from a regular grid.

    Between two places of the grid it goes ``straight``, or smoothly.
    """
    weigh = _straight if straight else _smooth
    rows = weigh(along_axis_mm, along_mm)
    columns = weigh(across_axis_mm, across_mm)
    return np.asarray(rows @ laid @ columns.T)


def _within(axis: Array, at: Array) -> tuple[NDArray[np.intp], Array]:
    place = (at - axis[0]) / (axis[1] - axis[0])
    start = np.clip(np.floor(place).astype(np.intp), 0, axis.size - 2)
    return start, place - start


def _straight(axis: Array, at: Array) -> Array:
    start, t = _within(axis, at)
    weight = np.zeros((at.size, axis.size))
    rows = np.arange(at.size)
    weight[rows, start], weight[rows, start + 1] = 1 - t, t
    return weight


def _smooth(axis: Array, at: Array) -> Array:
    start, t = _within(axis, at)
    # One column more at either end, for places outside the grid.
    weight = np.zeros((at.size, axis.size + 2))
    rows = np.arange(at.size)
    for off, share in enumerate(
        (
            -0.5 * t + t**2 - 0.5 * t**3,
            1 - 2.5 * t**2 + 1.5 * t**3,
            0.5 * t + 2 * t**2 - 1.5 * t**3,
            -0.5 * t**2 + 0.5 * t**3,
        )
    ):
        weight[rows, start + off] = share
    # They are what a second-degree curve through the three at that end gives.
    for outer, inner in ((0, (1, 2, 3)), (-1, (-2, -3, -4))):
        weight[:, inner] += np.outer(weight[:, outer], (3.0, -3.0, 1.0))
    return weight[:, 1:-1]
