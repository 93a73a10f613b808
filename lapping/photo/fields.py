"""Smooth fields over a grid of samples: how bright metal would be, place by place.

Penalised tensor-product B-splines (Eilers and Marx, Statistical Science 11, 1996,
89-121): where nothing was sampled the field goes on as straight as it can.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Basis:
    """Values of the splines along both sides of a grid, and the penalty on bending."""

    down: Array
    over: Array
    bending: Array
    down_pairs: Array
    over_pairs: Array

    def fit(self, value: Array, weight: Array, stiffness: float) -> Array:
        """Fit fields (channels, rows, columns) to weighted values; give their values.

        ``stiffness`` is how many samples' worth of weight the bending of one knot to
        the next counts; it must be more than 0.
        """
        p, q = self.down.shape[1], self.over.shape[1]
        inner = weight @ self.over_pairs
        normal = (self.down_pairs.T @ inner).reshape(p, p, q, q)
        left = normal.transpose(0, 2, 1, 3).reshape(p * q, p * q)
        right = self.down.T @ (weight * value) @ self.over
        penalty = stiffness * self.bending + 1e-6 * np.eye(p * q)
        found = np.linalg.solve(left + penalty, right.reshape(-1, p * q).T)
        field = self.down @ found.T.reshape(-1, p, q) @ self.over.T
        return np.asarray(field, value.dtype)


@lru_cache(maxsize=16)
def basis(rows: int, columns: int, spacing: float) -> Basis:
    """Make a basis for a grid with a knot about every ``spacing`` samples."""
    down, bend_down = _splines(rows, spacing)
    over, bend_over = _splines(columns, spacing)
    p, q = down.shape[1], over.shape[1]
    bending = np.kron(bend_down, np.eye(q)) + np.kron(np.eye(p), bend_over)
    return Basis(
        down=down,
        over=over,
        bending=bending,
        down_pairs=_pairs(down),
        over_pairs=_pairs(over),
    )


def _pairs(values: Array) -> Array:
    """Give the product of every two splines at each sample (count, k * k)."""
    pairs: Array = (values[:, :, None] * values[:, None, :]).reshape(len(values), -1)
    return pairs


def _splines(count: int, spacing: float) -> tuple[Array, Array]:
    """Give cubic B-splines at the samples (count, k), and their bending (k, k)."""
    spans = max(1, round(count / spacing))
    at = (np.arange(count) + 0.5) / count * spans
    first = np.minimum(at.astype(int), spans - 1)
    t = at - first
    four = np.stack(
        [
            (1 - t) ** 3,
            3 * t**3 - 6 * t**2 + 4,
            -3 * t**3 + 3 * t**2 + 3 * t + 1,
            t**3,
        ],
        axis=1,
    )
    values = np.zeros((count, spans + 3))
    for k in range(4):
        values[np.arange(count), first + k] = four[:, k] / 6
    second = np.diff(np.eye(spans + 3), n=2, axis=0)
    return values, second.T @ second
