"""What intervals of height say for certain about flatness.

A leaf that goes and the next that does not leave each place an interval. The smallest
flatness that any surface inside them can have holds for the whole face; the largest
holds for the places read, because between them the face may do as it likes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapping.planes import Levelled, levelled
from lapping.zone.exchange import (
    BOTTOM,
    TOP,
    Extremes,
    Member,
    Reference,
    wide_triangle,
)
from lapping.zone.levelled import SMALLEST_AREA, spread
from lapping.zone.search import Zone, solve

Column = NDArray[np.float64]

MOST_PLACES = 40
"""Up to here every reference is tried: 91 390 of them at 40 places."""
BALANCED = 1e-9
"""Four places nearer to one line than this add nothing to what three of them say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket:
    """Smallest and largest minimum zone width of heights inside the intervals.

    Both are measured along the height axis. ``upper_um`` is None when a place that
    matters has no lowest or no highest height. ``upper_is`` says whether it is the
    largest width itself or only a bound above it.
    """

    lower_um: float
    upper_um: float | None
    upper_is: Literal["exact", "bound"]


def feeler_bracket(
    along_mm: ArrayLike, across_mm: ArrayLike, low_um: ArrayLike, high_um: ArrayLike
) -> Bracket:
    """Bracket the flatness of every surface with low_um <= height <= high_um.

    All columns have shape (n,); -inf and +inf stand for no bound. Raises
    TooFewReadings without a place and ValueError where low_um exceeds high_um.
    """
    low = np.array(low_um, dtype=np.float64)
    high = np.array(high_um, dtype=np.float64)
    if not (low <= high).all() or low.ndim != 1:
        message = "every place needs low_um <= high_um, neither of them NaN"
        raise ValueError(message)
    along = np.asarray(along_mm, dtype=np.float64)
    across = np.asarray(across_mm, dtype=np.float64)
    no_low, no_high = np.isneginf(low), np.isposinf(high)
    if not (no_low.any() or no_high.any()):
        frame = levelled(along, across, 0.5 * (low + high))
        return _bracket(frame, low, high)
    frame = levelled(along, across, np.zeros(low.size))
    half_known = no_low != no_high
    middle = np.where(no_low, high, low)
    both = ~(no_low | no_high)
    middle[both] = 0.5 * (low[both] + high[both])
    seen = both | half_known
    lower = 0.0
    if seen.any():
        part = levelled(along[seen], across[seen], middle[seen])
        lower = _lower(part, low[seen], high[seen])
    exact = low.size <= MOST_PLACES
    free = np.flatnonzero(~both)
    upper: float | None = None
    if all(_stands_alone(along, across, frame.rank, int(i)) for i in free):
        # Whatever such a place does, a plane follows it; no height of it matters.
        low[free] = high[free] = 0.0
        whole = levelled(along, across, 0.5 * (low + high))
        upper = _upper(whole, low, high)
    return Bracket(
        lower_um=lower, upper_um=upper, upper_is="exact" if exact else "bound"
    )


def _bracket(frame: Levelled, low: Column, high: Column) -> Bracket:
    return Bracket(
        lower_um=_lower(frame, low, high),
        upper_um=_upper(frame, low, high),
        upper_is="exact" if low.size <= MOST_PLACES else "bound",
    )


def _stands_alone(along: Column, across: Column, rank: int, place: int) -> bool:
    """Say whether a place is the only one off the line (or spot) of all others."""
    if along.size == 1:
        return True
    others = np.delete(along, place), np.delete(across, place)
    return levelled(*others, np.zeros(along.size - 1)).rank < rank


class Intervals:
    """Intervals as the exchange sees them, with their own top and bottom values."""

    __slots__ = ("bottom", "places", "top")

    def __init__(self, places: Column, top: Column, bottom: Column) -> None:
        """Keep rows u and v of shape (2, n) and the two values of each place."""
        self.places = places
        self.top = top
        self.bottom = bottom

    def extremes(self, slope_u: float, slope_v: float) -> Extremes:
        """Give the highest top value and the lowest bottom value, less the slopes."""
        tilt = np.array((slope_u, slope_v)).dot(self.places)
        top, bottom = self.top - tilt, self.bottom - tilt
        i, j = int(top.argmax()), int(bottom.argmin())
        return Extremes(i, top.item(i), j, bottom.item(j))

    def member(self, place: int, side: float) -> Member:
        """Give one place's value on one side."""
        u, v = self.places[:, place].tolist()
        value = (self.top if side == TOP else self.bottom).item(place)
        return Member(place, side, u, v, value)

    def some(self, slope_u: float, slope_v: float) -> list[Member]:
        """Give every value there is."""
        both = [
            self.member(i, side) for i in range(self.top.size) for side in (TOP, BOTTOM)
        ]
        return [member for member in both if abs(member.value) < np.inf]

    def bound(self, place: int, side: float) -> Member:
        """Give the wanted side of a place, or the other when it has no bound there."""
        member = self.member(place, side)
        return member if abs(member.value) < np.inf else self.member(place, -side)


def _lower(frame: Levelled, low: Column, high: Column) -> float:
    """Give the least zone of any surface in the intervals: the proved distance."""
    return max(0.0, _zone(frame, low, high, low, high).proved)


def _upper(frame: Levelled, low: Column, high: Column) -> float:
    """Give the largest zone of heights in the intervals, or a bound above it."""
    if low.size <= MOST_PLACES:
        return _largest(frame, low, high)
    zone = _zone(frame, high, low, low, high)
    return zone.top - zone.bottom


def _zone(
    frame: Levelled, top: Column, bottom: Column, low: Column, high: Column
) -> Zone:
    """Find the least zone that has every top value below it and bottom value above."""
    rows = spread(frame)
    copies = rows.shape[1] // low.size
    middle = rows[2]
    wide = high - low
    known = wide[wide < np.inf]
    span = float(middle.max() - middle.min()) + float(known.max(initial=0.0))
    given = np.where(low > -np.inf, low, high)
    given = np.where(wide < np.inf, 0.5 * (low + high), given)
    level = frame.rows[2] - given
    values = Intervals(
        rows[:2], np.tile(top + level, copies), np.tile(bottom + level, copies)
    )
    reference = _first_reference(values, middle)
    return solve(values, reference, span, frame.rounding_um)


def _first_reference(values: Intervals, middle: Column) -> Reference:
    """Start with the highest and lowest place and one far from their line."""
    first, second = int(middle.argmax()), int(middle.argmin())
    high, low = values.bound(first, TOP), values.bound(second, BOTTOM)
    along_u, along_v = high.u - low.u, high.v - low.v
    off = np.array((-along_v, along_u)).dot(values.places)
    off -= high.v * along_u - high.u * along_v
    off *= off
    third = int(off.argmax())
    if off[third] < SMALLEST_AREA**2:
        return Reference(wide_triangle(values.some(0.0, 0.0)))
    return Reference((high, low, values.bound(third, TOP)))


def _largest(frame: Levelled, low: Column, high: Column) -> float:
    """Try every reference there is, with each of its heights at its worst end.

    A minimum zone is the largest weighted difference over all references, so the
    largest zone over the intervals is the largest such difference over both.
    """
    u, v, _ = frame.rows
    chosen = _choices(low.size, frame.rank + 2)
    if chosen.shape[1] == 0:
        return 0.0
    if frame.rank == 2:
        du, dv = u[chosen] - u[chosen[0]], v[chosen] - v[chosen[0]]
        weight = np.empty_like(du)
        weight[1] = du[2] * dv[3] - du[3] * dv[2]
        weight[2] = du[3] * dv[1] - du[1] * dv[3]
        weight[3] = du[1] * dv[2] - du[2] * dv[1]
        weight[0] = -weight[1] - weight[2] - weight[3]
    elif frame.rank == 1:
        a, b, c = u[chosen]
        weight = np.stack((c - b, a - c, b - a))
    else:
        weight = np.stack((np.ones(chosen.shape[1]), -np.ones(chosen.shape[1])))
    total = 0.5 * np.abs(weight).sum(axis=0)
    fair = total > BALANCED
    chosen, weight = chosen[:, fair], weight[:, fair] / total[fair]
    at_high, at_low = weight * high[chosen], weight * low[chosen]
    most = np.maximum(at_high, at_low).sum(axis=0).max(initial=0.0)
    least = np.minimum(at_high, at_low).sum(axis=0).min(initial=0.0)
    return float(max(most, -least))


@lru_cache(maxsize=8)
def _choices(n: int, size: int) -> NDArray[np.intp]:
    """Give every choice of ``size`` places out of n, one a column."""
    every = np.array(list(combinations(range(n), size)), dtype=np.intp)
    every = every.reshape(-1, size).T.copy()
    every.setflags(write=False)
    return every
