"""What a face map shows, worked out before anything is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RectBivariateSpline

from lapping.answer import Answer
from lapping.planes import least_squares
from lapping.seen import places_shown

Array = NDArray[np.float64]

LEAST_UM = 1.0
"""Colours never spread less than this from white to full."""
FINE = 6
"""Drawn places to a step of the grid, so that level lines come out round."""
BLANK = 0.5
"""The border of the blank: half-way between a place shown and one that is not."""
TIDY = 1e-4
"""Heights under this share of the scale are drawn as 0."""
BADGE_PT = (25.0, 15.0)
"""Width and height of a spot's label."""
RINGS = (1.0, 1.5, 2.2, 3.0, 4.0, 5.0)
"""How far off its spot a label may go, in its own sizes."""


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
    def has_blank(self) -> bool:
        """Say whether part of the face is too far from any reading."""
        return bool((self.near < BLANK).any())


def plan_map(answer: Answer) -> MapPlan:
    """Lay out the mean surface, finer than its grid, and choose the level lines."""
    surface, grid = answer.surface, answer.surface.grid
    level = least_squares(surface.along_mm, surface.across_mm, surface.mean_um)
    height = level.residual_um[surface.places :]
    # While a shape is unseen any amount of it fits, so no height may be drawn.
    shown = places_shown(surface, answer.sets) & (not answer.unseen)
    along, across = grid.along_axis_mm, grid.across_axis_mm
    fine_along = np.linspace(along[0], along[-1], FINE * (along.size - 1) + 1)
    fine_across = np.linspace(across[0], across[-1], FINE * (across.size - 1) + 1)

    laid = _filled(grid.spread(height))
    fine = RectBivariateSpline(along, across, laid)(fine_along, fine_across)
    # A spline swings past the heights it goes through; the colours must not.
    fine = fine.clip(laid.min(), laid.max())
    mask = _filled(grid.spread(shown.astype(np.float64)))
    near = RectBivariateSpline(along, across, mask, kx=1, ky=1)(fine_along, fine_across)
    # The blank is drawn over its border, so the colour has to reach a little under it.
    fine[near < 0.8 * BLANK] = np.nan
    seen = np.abs(fine[near >= BLANK]).max(initial=0.0)
    floor = 0.0 if answer.floor is None else answer.floor.clear_um / 2
    levels = _levels(max(float(seen), floor, LEAST_UM))
    # Rounding errors of a level face would be drawn as islands of either colour.
    fine[np.abs(fine) < TIDY * levels[-1]] = 0.0
    return MapPlan(
        along_mm=fine_along,
        across_mm=fine_across,
        height_um=fine,
        near=near,
        levels_um=levels,
    )


def _levels(most_um: float) -> Array:
    """Give round level lines, at most six on either side of 0.

    What noise alone reads on a flat face is in ``most_um``, so that it stays pale.
    """
    size = 10.0 ** math.floor(math.log10(most_um / 6))
    step = next(m * size for m in (1.0, 2.0, 2.5, 5.0, 10.0) if 6 * m * size >= most_um)
    n = math.ceil(most_um / step * (1 - 1e-9))
    return np.asarray(np.arange(-n, n + 1) * step, dtype=np.float64)


def _filled(laid: Array) -> Array:
    """Fill mouth and holes from the metal beside them, so that colour meets the rim."""
    filled = laid.copy()
    while np.isnan(filled).any():
        around = np.pad(filled, 1, constant_values=np.nan)
        beside = np.stack(
            [around[:-2, 1:-1], around[2:, 1:-1], around[1:-1, :-2], around[1:-1, 2:]]
        )
        known = ~np.isnan(beside)
        count = known.sum(axis=0)
        here = np.isnan(filled) & (count > 0)
        filled[here] = np.where(known, beside, 0.0).sum(axis=0)[here] / count[here]
    return filled


def place_badges(
    spots_pt: list[tuple[float, float]],
    avoid_pt: list[tuple[float, float]],
    size_pt: tuple[float, float],
) -> list[tuple[float, float]]:
    """Choose the middle of each spot's label beside its spot, all in points.

    Labels keep off one another and the spots first, then off the marks in
    ``avoid_pt``, and within a face of ``size_pt``.
    """
    wide, tall = BADGE_PT
    placed: list[tuple[float, float]] = []
    for x, y in spots_pt:
        best, least = (x, y), math.inf
        for ring in RINGS:
            for turn in range(24):
                angle = math.pi * turn / 12
                at = (
                    x + ring * 0.85 * wide * math.cos(angle),
                    y + ring * 1.1 * tall * math.sin(angle),
                )
                cost = ring
                cost += 100 * sum(_cover(at, p, wide + 2, tall + 2) for p in placed)
                cost += 20 * sum(_cover(at, p, wide / 2, tall / 2) for p in spots_pt)
                cost += 2 * sum(_cover(at, p, wide / 2, tall / 2) for p in avoid_pt)
                cost += 50 * _outside(at, size_pt)
                if cost < least - 1e-9:
                    best, least = at, cost
        placed.append(best)
    return placed


def _cover(
    at: tuple[float, float], other: tuple[float, float], wide: float, tall: float
) -> bool:
    return abs(at[0] - other[0]) < wide and abs(at[1] - other[1]) < tall


def _outside(at: tuple[float, float], size: tuple[float, float]) -> bool:
    return any(
        not half + 1 <= place <= length - half - 1
        for place, length, half in zip(
            at, size, (BADGE_PT[0] / 2, BADGE_PT[1] / 2), strict=True
        )
    )
