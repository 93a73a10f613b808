"""What depends on the places of readings alone: how all of them are correlated.

A face is read at the same places session after session, and a long history asks for
this once instead of each time.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import Grid, metal_grid
from lapping.observations import form_terms, plane_terms
from lapping.surface.kriging import matern52

Array = NDArray[np.float64]

JITTER = 1e-9
MOST_KEPT = 200
"""Of more readings nothing is kept: it would fill the memory."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Correlated:
    """Places read and then the metal grid, with the residual's correlation of all.

    ``residuals`` has one matrix (t, t) for each length scale asked for.
    """

    grid: Grid
    along_mm: Array
    across_mm: Array
    plane: Array
    form: Array
    residuals: tuple[Array, ...]
    _roots: dict[int, Array] = field(default_factory=dict, repr=False)

    def root(self, at: int) -> Array:
        """Give the Cholesky root of the residual at one length scale."""
        if at not in self._roots:
            jitter = JITTER * np.eye(self.along_mm.size)
            root = np.linalg.cholesky(self.residuals[at] + jitter)
            self._roots[at] = np.asarray(root, dtype=np.float64)
        return self._roots[at]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """What readings see of each shape tried, for unit amplitude.

    A shape is a length scale with a ratio of the form: all ratios for the first length,
    then for the next. ``places`` holds the covariances (t, n) of all places with the
    readings, ``signals`` (n, n) those of the readings with each other.
    """

    places: tuple[Array, ...]
    signals: tuple[Array, ...]


def seen_by(spots: Correlated, weights: Array, ratios: tuple[float, ...]) -> Seen:
    """Give what readings see; ``weights`` (n, p) are those of places in each of them.

    ``ratios`` are the form coefficients' standard deviations over the residual's.
    """
    if len(weights) > MOST_KEPT:
        return _see(spots, weights, ratios)
    return _seen_before(spots, weights.tobytes(), len(weights), ratios)


@lru_cache(maxsize=4)
def _seen_before(
    spots: Correlated, weights: bytes, many: int, ratios: tuple[float, ...]
) -> Seen:
    return _see(spots, np.frombuffer(weights).reshape(many, -1), ratios)


def _see(spots: Correlated, weights: Array, ratios: tuple[float, ...]) -> Seen:
    p, form = weights.shape[1], spots.form
    places = tuple(
        (residual[:, :p] + ratio**2 * (form @ form[:p].T)) @ weights.T
        for residual in spots.residuals
        for ratio in ratios
    )
    return Seen(places=places, signals=tuple(weights @ one[:p] for one in places))


@lru_cache(maxsize=4)
def correlated_places(
    face: Face, along: bytes, across: bytes, lengths_mm: tuple[float, ...]
) -> Correlated:
    """Correlate places, given as the bytes of their columns in mm, and the grid."""
    grid = metal_grid(face)
    along_mm = np.concatenate([np.frombuffer(along), grid.along_mm])
    across_mm = np.concatenate([np.frombuffer(across), grid.across_mm])
    made = Correlated(
        grid=grid,
        along_mm=along_mm,
        across_mm=across_mm,
        plane=plane_terms(face, along_mm, across_mm),
        form=form_terms(face, along_mm, across_mm),
        residuals=tuple(matern52(along_mm, across_mm, length) for length in lengths_mm),
    )
    for column in (along_mm, across_mm, made.plane, made.form, *made.residuals):
        column.setflags(write=False)
    return made
