"""High and low spots: regions that stand out from their surroundings, and how surely.

A spot is a peak of the map with its prominence, the height by which it stands over
the saddle to any higher ground (merge tree of the map, from the highest place down;
Edelsbrunner and Harer, Computational Topology, 2010, chapter VII).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.grid import Grid

Array = NDArray[np.float64]

SHOWN = 5
SURE, DOUBTFUL = 2.0, 1.0
"""A spot is sure, or doubtful, when both its height over the best-fit plane and its
prominence are so many times its uncertainty."""
LEAST_SHARE = 0.1
"""A spot less prominent than this share of the whole range is not worth a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One region: its extreme place, its height over the best-fit plane, its area.

    ``height_um`` is negative for a low spot; ``u_um`` is its standard uncertainty.
    """

    along_mm: float
    across_mm: float
    height_um: float
    u_um: float
    area_mm2: float
    sure: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Read:
    """The places read (p,), with heights about the best-fit plane and their u."""

    along_mm: Array
    across_mm: Array
    height_um: Array
    u_um: Array


def spots(
    grid: Grid, height_um: Array, u_um: Array, *, shown: NDArray[np.bool_], read: Read
) -> tuple[tuple[Spot, ...], tuple[Spot, ...]]:
    """Give the high and the low spots of a map, the most prominent first.

    ``height_um`` and ``u_um`` (m,) are heights about the best-fit plane on the grid's
    metal places, ``shown`` (m,) the places near enough to a reading. A place ``read``
    within a step of a peak and higher than it is the peak.
    """
    high = _peaks(grid, height_um, u_um, shown, read)
    down = replace(read, height_um=-read.height_um)
    low = _peaks(grid, -height_um, u_um, shown, down)
    return high, tuple(replace(s, height_um=-s.height_um) for s in low)


def _peaks(
    grid: Grid, height: Array, u: Array, shown: NDArray[np.bool_], read: Read
) -> tuple[Spot, ...]:
    neighbours = _neighbours(grid)
    if not shown.any():
        return ()
    # Over all the metal: ground that is not shown still joins what lies about it.
    order = np.argsort(-height, kind="stable")
    level = height.tolist()
    parent: dict[int, int] = {}
    members: dict[int, list[int]] = {}
    found: list[tuple[float, int, list[int]]] = []

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for i in order.tolist():
        parent[i] = i
        members[i] = [i]
        near = {root(j) for j in neighbours[i] if j in parent}
        peaks = sorted(near, key=lambda j: -level[j])
        for peak in peaks[1:]:
            found.append((level[peak] - level[i], peak, list(members[peak])))
        if peaks:
            top = peaks[0]
            for other in (i, *peaks[1:]):
                parent[other] = top
                members[top] += members.pop(other)
    bottom = float(height.min())
    for peak in {root(int(i)) for i in order}:
        found.append((level[peak] - bottom, peak, members[peak]))
    least = LEAST_SHARE * float(np.ptp(height))
    result = []
    for prominence, peak, region in sorted(found, key=lambda f: (-f[0], f[1])):
        spot = _nearest_read(grid, peak, level[peak], float(u[peak]), read)
        stands = min(prominence + spot.height_um - level[peak], spot.height_um)
        if not shown[peak] or stands < DOUBTFUL * spot.u_um or prominence < least:
            continue
        # Down to half way to the saddle, or to the plane where that is nearer.
        half = max(level[peak] - prominence / 2, level[peak] / 2)
        area = sum(level[i] >= half for i in region)
        result.append(
            replace(
                spot,
                area_mm2=area * grid.cell_mm2,
                sure=stands >= SURE * spot.u_um,
            )
        )
    return tuple(result[:SHOWN])


def _nearest_read(grid: Grid, peak: int, height: float, u: float, read: Read) -> Spot:
    """Give the peak, at the place read beside it where that is higher."""
    along, across = float(grid.along_mm[peak]), float(grid.across_mm[peak])
    step_along = grid.along_axis_mm[1] - grid.along_axis_mm[0]
    step_across = grid.across_axis_mm[1] - grid.across_axis_mm[0]
    near = np.nonzero(
        (np.abs(read.along_mm - along) <= step_along)
        & (np.abs(read.across_mm - across) <= step_across)
    )[0]
    if near.size > 0:
        best = near[np.argmax(read.height_um[near])]
        if read.height_um[best] > height:
            along, across = float(read.along_mm[best]), float(read.across_mm[best])
            height, u = float(read.height_um[best]), float(read.u_um[best])
    return Spot(
        along_mm=along,
        across_mm=across,
        height_um=height,
        u_um=u,
        area_mm2=0.0,
        sure=False,
    )


def _neighbours(grid: Grid) -> list[list[int]]:
    """Give for each metal place the metal places beside it, corners included."""
    number = np.full(np.array(grid.metal.shape) + 2, -1)
    number[1:-1, 1:-1][grid.metal] = np.arange(grid.metal.sum())
    i, j = np.nonzero(grid.metal)
    around = np.stack(
        [
            number[i + 1 + di, j + 1 + dj]
            for di in (-1, 0, 1)
            for dj in (-1, 0, 1)
            if di or dj
        ],
        axis=1,
    )
    return [[k for k in row if k >= 0] for row in around.tolist()]
