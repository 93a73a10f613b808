"""A regular grid of places over the metal of a face."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face, Zone

PLACES = 250
"""About so many places: finer than the smallest bump that a reading pattern can see."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Axes of the grid and which of its (n_along, n_across) places are metal."""

    along_axis_mm: NDArray[np.float64]
    across_axis_mm: NDArray[np.float64]
    metal: NDArray[np.bool_]

    def __post_init__(self) -> None:
        """Let nobody change what others look at as well."""
        for column in (self.along_axis_mm, self.across_axis_mm, self.metal):
            column.setflags(write=False)

    @property
    def along_mm(self) -> NDArray[np.float64]:
        """Give the along place of each metal place, shape (m,)."""
        i, _ = np.nonzero(self.metal)
        return self.along_axis_mm[i]

    @property
    def across_mm(self) -> NDArray[np.float64]:
        """Give the across place of each metal place, shape (m,)."""
        _, j = np.nonzero(self.metal)
        return self.across_axis_mm[j]

    @property
    def cell_mm2(self) -> float:
        """Give the area that one place stands for."""
        return float(
            (self.along_axis_mm[1] - self.along_axis_mm[0])
            * (self.across_axis_mm[1] - self.across_axis_mm[0])
        )

    def spread(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Lay (m,) values out as (n_along, n_across), NaN where there is no metal."""
        laid = np.full(self.metal.shape, np.nan)
        laid[self.metal] = values
        return laid


@lru_cache(maxsize=8)
def metal_grid(face: Face, places: int = PLACES) -> Grid:
    """Lay about so many places over the outline, ends and edges included."""
    step = (face.length_mm * face.width_mm / places) ** 0.5
    n_along = max(5, round(face.length_mm / step) + 1)
    n_across = max(5, round(face.width_mm / step) + 1)
    along = np.linspace(0, face.length_mm, n_along)
    across = np.linspace(0, face.width_mm, n_across)
    metal = np.array([[face.is_metal(a, c) for c in across] for a in along])
    return Grid(along_axis_mm=along, across_axis_mm=across, metal=metal)


def metal_mask(
    face: Face, along_mm: NDArray[np.float64], across_mm: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Say where there is metal on a fine grid with these axes, (n_along, n_across).

    A place on the very rim of the mouth or of a hole may count either way.
    """
    metal = np.ones((along_mm.size, across_mm.size), np.bool_)
    if face.mouth is not None:
        left, right = face.mouth_sides_mm()
        open_along = (along_mm > face.mouth.from_mm) & (along_mm < face.mouth.to_mm)
        metal[np.ix_(open_along, (across_mm > left) & (across_mm < right))] = False
    for hole in face.holes:
        d2 = (along_mm[:, None] - hole.along_mm) ** 2 + (
            across_mm - hole.across_mm
        ) ** 2
        metal[d2 < (hole.diameter_mm / 2) ** 2] = False
    return metal


def in_zone(
    zone: Zone, along_mm: NDArray[np.float64], across_mm: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Say for each place whether it lies in the zone, its border included."""
    return np.array(
        [
            zone.holds(a, c)
            for a, c in zip(along_mm.tolist(), across_mm.tolist(), strict=True)
        ],
        dtype=np.bool_,
    )
