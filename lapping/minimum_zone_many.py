"""The minimum zones of many sets of heights at the same places, all at once.

The exchange of `lapping.exchange`, carried out side by side: every trial has its own
reference, every pass moves all trials that are not finished. Each answer is proved as
a single one is, and a trial that is not goes through `lapping.minimum_zone` alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapping.exchange import BOTTOM, SMALLEST_PIVOT, TOP
from lapping.minimum_zone import SMALLEST_AREA, spread, zone_of
from lapping.planes import levelled
from lapping.zone_search import PROVED, WITHIN

Column = NDArray[np.float64]
Places = NDArray[np.intp]

AT_A_TIME = 2**16
"""Heights worked on together: they stay in the processor's cache."""
PASSES = 60


def minimum_zone_many(
    along_mm: ArrayLike, across_mm: ArrayLike, heights_um: ArrayLike
) -> Column:
    """Give the minimum zone width of each trial, shape (trials,).

    ``heights_um`` has shape (trials, n), one row a trial, and the places shape (n,).
    The width is that of `lapping.minimum_zone.minimum_zone`, to rounding. Raises
    TooFewReadings without a place.
    """
    heights = np.asarray(heights_um, dtype=np.float64)
    if heights.ndim != 2:
        message = f"heights must have shape (trials, n) (got {heights.ndim} axes)"
        raise ValueError(message)
    frame = levelled(along_mm, across_mm, np.zeros(heights.shape[1]))
    n = heights.shape[1]
    places = spread(frame)[:2]
    copies = places.shape[1] // n
    out = np.empty(heights.shape[0])
    step = max(1, AT_A_TIME // places.shape[1])
    for start in range(0, heights.shape[0], step):
        part = heights[start : start + step]
        if not np.isfinite(part).all():
            message = "every value must be a finite number (got NaN or infinity)"
            raise ValueError(message)
        part = part - part.mean(axis=1)[:, None]
        rounding = 4e-16 * np.sqrt(np.einsum("ij,ij->i", part, part) / n)
        part = np.tile(part, copies) if copies > 1 else part
        part -= (part @ places.T / places.shape[1]) @ places
        out[start : start + step] = _zones(part, places, rounding)
    return out


class State(NamedTuple):
    """The references of t trials; see `lapping.exchange.Reference` for the meaning."""

    trial: Places
    heights: Column
    within: Column
    columns: Column
    planes: Column
    member: Places
    side: Column

    def take(self, keep: NDArray[np.bool_]) -> State:
        """Keep some of the trials."""
        return State(
            self.trial[keep],
            self.heights[keep],
            self.within[keep],
            self.columns[:, :, keep],
            self.planes[:, keep],
            self.member[:, keep],
            self.side[:, keep],
        )


def _zones(heights: Column, places: Column, rounding: Column) -> Column:
    """Give the widths (t,) for levelled heights (t, n)."""
    trials, n = heights.shape
    row = np.arange(trials)
    top, bottom = heights.argmax(axis=1), heights.argmin(axis=1)
    width = heights[row, top] - heights[row, bottom]
    span = width.copy()
    flat = span <= 2 * rounding
    if n < 4 or flat.all():
        return width
    within = WITHIN * span + rounding
    state, wide = _first(heights, places, top, bottom, within)
    proved = np.full(trials, -np.inf)
    state = state.take(wide & ~flat) if not (wide & ~flat).all() else state
    for _ in range(PASSES):
        if state.trial.size == 0:
            break
        state = _pass(state, places, (width, proved))
    unproved = ~flat & ~(np.abs(width - proved) <= PROVED * span + 4 * rounding)
    for trial in np.flatnonzero(unproved).tolist():
        rows = np.vstack((places, heights[trial]))
        zone = zone_of(rows, float(rounding[trial]))
        width[trial] = zone.top - zone.bottom
    return width


def _first(
    heights: Column, places: Column, top: Places, bottom: Places, within: Column
) -> tuple[State, NDArray[np.bool_]]:
    """Start each trial from its extremes and the places farthest from their line."""
    trials = heights.shape[0]
    row = np.arange(trials)
    high, low = places[:, top], places[:, bottom]
    away = np.stack((high[1] - low[1], low[0] - high[0]))
    line = (away * high).sum(axis=0)
    off = away.T @ places
    left, right = off.argmax(axis=1), off.argmin(axis=1)
    far_left, far_right = off[row, left] - line, line - off[row, right]
    swap = far_left < far_right
    third, fourth = np.where(swap, right, left), np.where(swap, left, right)
    wide = np.maximum(far_left, far_right) >= SMALLEST_AREA
    # A degenerate triangle is worked out alone later; here it must not divide by 0.
    area = np.where(wide, np.where(swap, -far_right, far_left), 1.0)
    spot = places[:, third]
    corners = (high, low, spot)
    inverse = np.empty((4, 4, trials))
    for j in range(3):
        (_, (pu, pv), (qu, qv)) = (corners[(j + k) % 3] for k in range(3))
        inverse[j] = pu * qv - qu * pv, pv - qv, qu - pu, np.zeros(trials)
    inverse[:3] /= area
    in_u, in_v = places[:, fourth]
    share = inverse[:3, 0] + inverse[:3, 1] * in_u + inverse[:3, 2] * in_v
    member = np.stack((top, bottom, third, fourth))
    value = heights[row, member]
    rise = value[3] - (share * value[:3]).sum(axis=0)
    planes = (inverse[:3] * value[:3, None]).sum(axis=0)
    side = np.empty((4, trials))
    side[3] = np.where(rise > 0, TOP, BOTTOM)
    side[:3] = np.where(share > 0, -side[3], side[3])
    inverse[:3] *= side[:3, None]
    inverse[3] = -inverse[:3].sum(axis=0)
    inverse[3, 3] = 1.0
    state = State(row, heights, within, inverse, planes, member, side)
    _enter(state, places, fourth, side[3].copy(), np.abs(rise))
    return state, wide


def _pass(state: State, places: Column, answers: tuple[Column, Column]) -> State:
    """Search all trials once, put the finished ones aside, move the others on."""
    width, proved = answers
    planes = state.planes
    less = planes[1:3].T @ places
    np.subtract(state.heights, less, out=less)
    top_place, bottom_place = less.argmax(axis=1), less.argmin(axis=1)
    row = np.arange(top_place.size)
    top, bottom = less[row, top_place], less[row, bottom_place]
    over = top - planes[0] - planes[3]
    under = planes[0] - bottom - planes[3]
    going = np.maximum(over, under) > state.within
    if not going.all():
        done = ~going
        ends = state.trial[done]
        width[ends] = (top - bottom)[done]
        proved[ends] = _proofs(
            state.heights[done], places, state.member[:, done], state.side[:, done]
        )
        state = state.take(going)
        over, under = over[going], under[going]
        top_place, bottom_place = top_place[going], bottom_place[going]
    upper = over >= under
    side = np.where(upper, TOP, BOTTOM)
    first = np.where(upper, top_place, bottom_place)
    _enter(state, places, first, side, np.maximum(over, under))
    return state


def _enter(
    state: State, places: Column, place: Places, side: Column, outside: Column
) -> None:
    """Take one member into each trial's reference and let one go, in place."""
    columns = state.columns
    row = np.arange(place.size)
    u, v = places[:, place] * side
    pull = columns[:, 0] * side + columns[:, 1] * u + columns[:, 2] * v + columns[:, 3]
    may = pull > SMALLEST_PIVOT
    ratio = np.divide(columns[:, 3], pull, out=np.full(pull.shape, np.inf), where=may)
    second, fourth = ratio[1] < ratio[0], ratio[3] < ratio[2]
    back = np.minimum(ratio[2], ratio[3]) < np.minimum(ratio[0], ratio[1])
    leaves = np.where(back, 2 + fourth, second + 0)
    column = columns[leaves, :, row].T / pull[leaves, row]
    columns -= pull[:, None] * column
    columns[leaves, :, row] = column.T
    state.planes[:] += outside * column
    state.member[leaves, row] = place
    state.side[leaves, row] = side


def _proofs(heights: Column, places: Column, member: Places, side: Column) -> Column:
    """Work out afresh what each trial's reference proves; NaN where it proves nothing.

    Twin of `lapping.exchange.weigh` for shape (4, t).
    """
    u, v = places[:, member]
    u, v = u - u[0], v - v[0]
    weight = np.empty_like(side)
    weight[1] = side[1] * (u[2] * v[3] - u[3] * v[2])
    weight[2] = side[2] * (u[3] * v[1] - u[1] * v[3])
    weight[3] = side[3] * (u[1] * v[2] - u[2] * v[1])
    weight[0] = -side[0] * (side[1:] * weight[1:]).sum(axis=0)
    total = 0.5 * weight.sum(axis=0)
    fair = total != 0.0
    weight /= np.where(fair, total, 1.0)
    fair &= weight.min(axis=0) >= -1e-9
    value = heights[np.arange(heights.shape[0]), member]
    return np.where(fair, (weight * side * value).sum(axis=0), np.nan)
