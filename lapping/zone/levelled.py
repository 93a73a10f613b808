"""Levelled heights as the exchange sees them, and where it starts on them."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lapping.planes import Levelled
from lapping.zone.exchange import (
    BOTTOM,
    TOP,
    Extremes,
    Member,
    Reference,
    Triangle,
    wide_triangle,
)
from lapping.zone.search import Zone, solve

SMALLEST_AREA = 1e-6
PIECE = 16384
"""Places searched at a time, so that a large set stays in the processor's cache."""
FEW = 4096
BLOCK = 512
"""Of a large set the highest and lowest place of each block are tried first."""

Column = NDArray[np.float64]


class PlainHeights:
    """Heights as the exchange sees them: top and bottom value are one."""

    __slots__ = ("rows",)

    def __init__(self, rows: Column) -> None:
        """Keep rows u, v, height of shape (3, n)."""
        self.rows = rows

    def extremes(self, slope_u: float, slope_v: float) -> Extremes:
        """Give the highest and the lowest height less the slopes."""
        less = np.array((-slope_u, -slope_v, 1.0)).dot(self.rows)
        top, bottom = int(less.argmax()), int(less.argmin())
        return Extremes(top, less.item(top), bottom, less.item(bottom))

    def member(self, place: int, side: float) -> Member:
        """Give one place."""
        u, v, z = self.rows[:, place].tolist()
        return Member(place, side, u, v, z)

    def some(self, slope_u: float, slope_v: float) -> list[Member]:
        """Give both sides of the places that may matter about the slopes."""
        places = range(self.rows.shape[1])
        return [self.member(i, side) for i in places for side in (TOP, BOTTOM)]


class ManyHeights(PlainHeights):
    """The same, searched piece by piece."""

    def extremes(self, slope_u: float, slope_v: float) -> Extremes:
        """Give the highest and the lowest height less the slopes."""
        turn = np.array((-slope_u, -slope_v, 1.0))
        best = Extremes(0, -np.inf, 0, np.inf)
        for start in range(0, self.rows.shape[1], PIECE):
            less = turn.dot(self.rows[:, start : start + PIECE])
            i, j = int(less.argmax()), int(less.argmin())
            top, bottom = less.item(i), less.item(j)
            if top > best.top:
                best = best._replace(top_place=start + i, top=top)
            if bottom < best.bottom:
                best = best._replace(bottom_place=start + j, bottom=bottom)
        return best

    def some(self, slope_u: float, slope_v: float) -> list[Member]:
        """Give both sides of the extremes of each block about the slopes."""
        turn = np.array((-slope_u, -slope_v, 1.0))
        tried = block_extremes(turn.dot(self.rows))
        places = np.union1d(tried, _corners(self.rows)[0]).tolist()
        return [self.member(i, side) for i in places for side in (TOP, BOTTOM)]


def block_extremes(heights: Column) -> NDArray[np.intp]:
    """Give the place of the highest and the lowest height in each block."""
    blocks = heights.size // BLOCK
    whole = heights[: blocks * BLOCK].reshape(blocks, BLOCK)
    first = np.arange(blocks) * BLOCK
    tail = np.arange(blocks * BLOCK, heights.size)
    found = (first + whole.argmax(1), first + whole.argmin(1), tail)
    return np.unique(np.concatenate(found))


def _corners(rows: Column) -> tuple[list[int], float]:
    """Give three places that span much room, and twice the area they span."""
    u, v = rows[0], rows[1]
    first, second = int(u.argmin()), int(u.argmax())
    off = np.abs(
        (u - u[first]) * (v[second] - v[first])
        - (v - v[first]) * (u[second] - u[first])
    )
    third = int(off.argmax())
    return [first, second, third], float(off[third])


def spread(frame: Levelled) -> Column:
    """Give rows that span a plane: a line is doubled to both sides, a spot to four.

    The least zone of the copies is that of the set itself: by symmetry a plane without
    slope across the copies is among the best.
    """
    rows = frame.rows
    n = rows.shape[1]
    if frame.rank == 2:
        return rows
    if frame.rank == 1:
        rows = np.tile(rows, 2)
        rows[1] = np.repeat((-1.0, 1.0), n)
        return rows
    rows = np.tile(rows, 4)
    rows[0] = np.repeat((-1.0, -1.0, 1.0, 1.0), n)
    rows[1] = np.repeat((-1.0, 1.0, -1.0, 1.0), n)
    return rows


def zone_of(rows: Column, rounding: float) -> Zone:
    """Find the zone of levelled heights in rows u, v, height."""
    heights = rows[2]
    n = heights.size
    if n > FEW:
        tried = block_extremes(heights)
        if _corners(rows[:, tried])[1] < SMALLEST_AREA:
            # The few must span a plane, as all do.
            tried = np.union1d(tried, _corners(rows)[0])
        if tried.size < n:
            return _zone_of_many(rows, tried, rounding)
    top, bottom = int(heights.argmax()), int(heights.argmin())
    high, low = heights.item(top), heights.item(bottom)
    if n < 4 or high - low <= 2 * rounding:
        return Zone([], [], 0.0, 0.0, 0.0, high, low)
    values = PlainHeights(rows)
    reference = _first_reference(values, top, bottom)
    return solve(values, reference, high - low, rounding)


def _zone_of_many(rows: Column, tried: NDArray[np.intp], rounding: float) -> Zone:
    """Find the zone of a few places first, and let the rest enter from there."""
    values = ManyHeights(rows)
    first = zone_of(rows[:, tried], rounding)
    members = [values.member(int(tried[m.place]), m.side) for m in first.members]
    if members:
        triangle = _largest_triangle(members)
        left = next(m for m in members if m not in triangle)
        reference = Reference.of_places(triangle, left)
    else:
        reference = Reference(wide_triangle(values.some(0.0, 0.0)))
    return solve(values, reference, first.top - first.bottom, rounding)


def _first_reference(values: PlainHeights, top: int, bottom: int) -> Reference:
    """Start with the highest and lowest place and one far out on each side of them.

    Far from their line, and as high or low as can be: of the rules tried on noise and
    on bowed faces this one leaves the fewest exchanges to do.
    """
    high, low = values.member(top, TOP), values.member(bottom, BOTTOM)
    along_u, along_v = high.u - low.u, high.v - low.v
    off = np.array((-along_v, along_u, 0.0)).dot(values.rows)
    off -= high.v * along_u - high.u * along_v
    pick = off * values.rows[2]
    pick *= values.rows[2]
    left, right = int(pick.argmax()), int(pick.argmin())
    far_left, far_right = off.item(left), -off.item(right)
    if max(far_left, far_right) < SMALLEST_AREA:
        return Reference(wide_triangle(values.some(0.0, 0.0)))
    if far_left < far_right:
        left, right = right, left
    third, fourth = values.member(left, TOP), values.member(right, TOP)
    return Reference.of_places((high, low, third), fourth)


def _largest_triangle(members: list[Member]) -> Triangle:
    def area(three: Triangle) -> float:
        a, b, c = three
        return abs((b.u - a.u) * (c.v - a.v) - (c.u - a.u) * (b.v - a.v))

    return max(combinations(members, 3), key=area)
