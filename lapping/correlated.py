"""What depends on the places of readings alone: how all places are correlated.

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
from lapping.kriging import matern52
from lapping.observations import form_terms, plane_terms

Array = NDArray[np.float64]

JITTER = 1e-9


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
