"""What a face map shows, worked out before anything is drawn."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.grid import Grid
from lapping.pictures.between import between
from lapping.planes import Plane, least_squares
from lapping.readings import ReadingSet
from lapping.surface.posterior import Surface
from lapping.surface.seen import places_shown

Array = NDArray[np.float64]

LEAST_UM = 1.0
"""Colours never spread less than this from white to full."""
FINE = 6
"""Drawn places to a step of the grid, so that level lines come out round."""
BLANK = 0.5
"""The border of the blank: half-way between a place shown and one that is not."""
SMOOTHED = 60
TIDY = 1e-4
"""Heights under this share of the scale are drawn as 0."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MapPlan:
    """Heights about the best-fit plane laid out finely over the whole outline.

    ``height_um`` (n_along, n_across) is NaN well inside the blank; ``near`` is 1 where
    a reading is near and 0 where none is. ``levels_um`` are as many above 0 as below.
    """

    along_mm: Array
    across_mm: Array
    height_um: Array
    near: Array
    levels_um: Array

    @property
    def lines_um(self) -> Array:
        """Give the levels that the heights cross."""
        known = self.height_um[np.isfinite(self.height_um)]
        low, high = known.min(initial=np.inf), known.max(initial=-np.inf)
        levels = self.levels_um
        return np.asarray(levels[(levels > low) & (levels < high)])

    @property
    def has_heights(self) -> bool:
        """Say whether any height may be drawn."""
        return bool(np.isfinite(self.height_um).any())

    @property
    def shown_share(self) -> float:
        """Give the share of the outline that a reading is near to."""
        return float((self.near >= BLANK).mean())

    @property
    def has_blank(self) -> bool:
        """Say whether part of the face is too far from any reading."""
        return bool((self.near < BLANK).any())


def plan_map(answer: Answer) -> MapPlan:
    """Lay out the mean surface, finer than its grid, and choose the level lines."""
    floor = 0.0 if answer.floor is None else answer.floor.clear_um / 2
    return plan_surface(
        answer.surface, answer.sets, unseen=bool(answer.unseen), least_um=floor
    )


def plan_surface(
    surface: Surface,
    sets: Sequence[ReadingSet],
    *,
    unseen: bool = False,
    least_um: float = 0.0,
) -> MapPlan:
    """Lay out any mean surface; its colours reach at least as far as ``least_um``."""
    fine = FineSurface.of(surface, sets, unseen=unseen)
    grid = surface.grid
    along = _finer(grid.along_axis_mm)
    across = _finer(grid.across_axis_mm)
    height, near = fine.height_um(along, across), fine.near(along, across)
    # The blank is drawn over its border, so the colour has to reach a little under it.
    height[near < 0.8 * BLANK] = np.nan
    seen = np.abs(height[near >= BLANK]).max(initial=0.0)
    levels = round_levels(max(float(seen), least_um, LEAST_UM))
    # Rounding errors of a level face would be drawn as islands of either colour.
    height[np.abs(height) < TIDY * levels[-1]] = 0.0
    return MapPlan(
        along_mm=along, across_mm=across, height_um=height, near=near, levels_um=levels
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FineSurface:
    """The mean surface about its best-fit plane, to be asked at any axes.

    ``plane`` is that plane, and ``shown`` the metal places that a reading is near to.
    """

    grid: Grid
    plane: Plane
    laid_um: Array
    shown: NDArray[np.bool_]

    @classmethod
    def of(
        cls, surface: Surface, sets: Sequence[ReadingSet], *, unseen: bool
    ) -> FineSurface:
        """Level a surface; while a shape is unseen no height of it may be drawn."""
        level = least_squares(surface.along_mm, surface.across_mm, surface.mean_um)
        height = level.residual_um[surface.places :]
        return cls(
            grid=surface.grid,
            plane=level.plane,
            laid_um=_filled(surface.grid.spread(height)),
            shown=places_shown(surface, sets) & (not unseen),
        )

    def height_um(self, along_mm: Array, across_mm: Array) -> Array:
        """Give heights (n_along, n_across) at the places where two axes cross."""
        return self._smooth(self.laid_um, along_mm, across_mm)

    def of_metal(self, values: Array, along_mm: Array, across_mm: Array) -> Array:
        """Give anything else that is known on the metal grid, in the same way."""
        return self._smooth(_filled(self.grid.spread(values)), along_mm, across_mm)

    def near(self, along_mm: Array, across_mm: Array) -> Array:
        """Give 1 where a reading is near, 0 where none is, between at the border."""
        mask = _filled(self.grid.spread(self.shown.astype(np.float64)))
        axes = self.grid.along_axis_mm, self.grid.across_axis_mm
        return between(*axes, mask, along_mm, across_mm, straight=True)

    def _smooth(self, laid: Array, along_mm: Array, across_mm: Array) -> Array:
        axes = self.grid.along_axis_mm, self.grid.across_axis_mm
        fine = between(*axes, laid, along_mm, across_mm)
        # A smooth curve swings past what it goes through; the colours must not.
        return fine.clip(laid.min(), laid.max())


def _finer(axis_mm: Array) -> Array:
    return np.linspace(axis_mm[0], axis_mm[-1], FINE * (axis_mm.size - 1) + 1)


def round_levels(most_um: float) -> Array:
    """Give round level lines, at most six on either side of 0.

    What noise alone reads on a flat face is in ``most_um``, so that it stays pale.
    """
    size = 10.0 ** math.floor(math.log10(most_um / 6))
    step = next(m * size for m in (1.0, 2.0, 2.5, 5.0, 10.0) if 6 * m * size >= most_um)
    n = math.ceil(most_um / step * (1 - 1e-9))
    return np.asarray(np.arange(-n, n + 1) * step, dtype=np.float64)


def _filled(laid: Array) -> Array:
    """Fill mouth and holes smoothly from the metal round them.

    A slope goes on through them unbent, so that colours and cuts meet the rim.
    """
    away = np.isnan(laid)
    filled = laid.copy()
    while np.isnan(filled).any():
        filled[away] = _beside(filled)[away]
    if away.any():
        beside, share = _beside_each(away)
        flat, places = filled.reshape(-1), np.flatnonzero(away)
        for _ in range(SMOOTHED):
            flat[places] = (share * flat[beside]).sum(axis=0)
    return filled


def _beside_each(away: NDArray[np.bool_]) -> tuple[NDArray[np.intp], Array]:
    """Give the four places beside each of some (4, k), and their shares of its mean.

    As `_beside` once every place is known; only these few are worked out again.
    """
    number = np.pad(np.arange(away.size).reshape(away.shape), 1, constant_values=-1)
    i, j = np.nonzero(away)
    beside = np.stack(
        [number[i, j + 1], number[i + 2, j + 1], number[i + 1, j], number[i + 1, j + 2]]
    )
    known = beside >= 0
    pairs = np.repeat(known[0::2] & known[1::2], 2, axis=0)
    used = np.where(pairs.any(axis=0), pairs, known)
    return beside, used / used.sum(axis=0)


def _beside(laid: Array) -> Array:
    """Give the mean of what lies opposite each other, along and across, else of any."""
    around = np.pad(laid, 1, constant_values=np.nan)
    sides = np.stack(
        [around[:-2, 1:-1], around[2:, 1:-1], around[1:-1, :-2], around[1:-1, 2:]]
    )
    # A side without its opposite would bend a slope.
    pairs = (sides[0::2] + sides[1::2]) / 2
    found = _mean_of_known(pairs)
    return np.where(np.isnan(found), _mean_of_known(sides), found)


def _mean_of_known(values: Array) -> Array:
    known = ~np.isnan(values)
    count = known.sum(axis=0)
    total = np.where(known, values, 0.0).sum(axis=0)
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), np.nan))
