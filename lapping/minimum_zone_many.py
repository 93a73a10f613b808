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

AT_A_TIME = 2**17
"""Heights taken up together: few enough to stay in the processor's cache."""
PASSES = 60

Bools = NDArray[np.bool_]


class References(NamedTuple):
    """The references of t trials; see `lapping.exchange.Reference` for the meaning.

    Shapes: columns (4, 4, t), the member first; planes (4, t), as level, slope_u,
    slope_v, half; member and side (4, t).
    """

    columns: Column
    planes: Column
    member: Places
    side: Column

    def take(self, at: Places) -> References:
        """Copy some of them."""
        return References(
            self.columns.take(at, axis=2),
            self.planes.take(at, axis=1),
            self.member.take(at, axis=1),
            self.side.take(at, axis=1),
        )

    def put(self, at: Places, some: References) -> None:
        """Copy some of them back."""
        for whole, part in zip(self, some, strict=True):
            whole[..., at] = part

    def join(self, more: References) -> References:
        """Put more of them after these."""
        return References(
            np.concatenate((self.columns, more.columns), axis=2),
            np.concatenate((self.planes, more.planes), axis=1),
            np.concatenate((self.member, more.member), axis=1),
            np.concatenate((self.side, more.side), axis=1),
        )


class State(NamedTuple):
    """Trials at work: trial, within and age of shape (t,), heights of (t, n)."""

    trial: Places
    within: Column
    age: Places
    heights: Column
    references: References

    def take(self, at: Places) -> State:
        """Keep some of the trials."""
        return State(
            self.trial.take(at),
            self.within.take(at),
            self.age.take(at),
            self.heights.take(at, axis=0),
            self.references.take(at),
        )

    def join(self, more: State) -> State:
        """Put the trials of another state after these."""
        return State(
            np.concatenate((self.trial, more.trial)),
            np.concatenate((self.within, more.within)),
            np.concatenate((self.age, more.age)),
            np.concatenate((self.heights, more.heights)),
            self.references.join(more.references),
        )


class Answers(NamedTuple):
    """What is known of every trial, each of shape (trials,)."""

    width: Column
    proved: Column
    allowed: Column


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
    trials, n = heights.shape
    places = spread(levelled(along_mm, across_mm, np.zeros(n)))[:2]
    answers = Answers(np.empty(trials), np.full(trials, np.nan), np.empty(trials))
    step = max(1, AT_A_TIME // places.shape[1])
    state: State | None = None
    for start in range(0, trials, step):
        part = slice(start, min(start + step, trials))
        fresh = _begin(heights[part], places, part, answers)
        state = fresh if state is None else state.join(fresh)
        # Trials that need many passes wait for the next part: a pass over few trials
        # takes nearly as long as one over many.
        while state.trial.size > step // 2:
            state = _pass(state, places, answers)
    while state is not None and state.trial.size > 0:
        state = _pass(state, places, answers)
    width, proved, allowed = answers
    unproved = ~(np.abs(width - proved) <= allowed)
    for trial in np.flatnonzero(unproved).tolist():
        levels, rounding = _level(heights[trial : trial + 1], places)
        zone = zone_of(np.vstack((places, levels)), rounding.item())
        width[trial] = zone.top - zone.bottom
    return width


def _level(heights: Column, places: Column) -> tuple[Column, Column]:
    """Take each trial's least squares plane off; give also its rounding error."""
    n = heights.shape[1]
    copies = places.shape[1] // n
    flat = heights.reshape(-1)
    if not flat.dot(flat) < np.inf:
        message = "every value must be a finite number (got NaN or infinity)"
        raise ValueError(message)
    level = heights - (heights.sum(axis=1) / n)[:, None]
    squares = np.einsum("ij,ij->i", level, level)
    if copies > 1:
        level = np.tile(level, copies)
    level -= (level @ places.T / places.shape[1]) @ places
    return level, 4e-16 * np.sqrt(squares / n)


def _begin(heights: Column, places: Column, part: slice, answers: Answers) -> State:
    """Level some trials and give those that are not flat their first reference."""
    level, rounding = _level(heights, places)
    row = np.arange(level.shape[0])
    top, bottom = level.argmax(axis=1), level.argmin(axis=1)
    span = level[row, top] - level[row, bottom]
    answers.width[part] = span
    answers.allowed[part] = PROVED * span + 4 * rounding
    flat = span <= 2 * rounding
    if places.shape[1] < 4:
        flat[:] = True
    answers.proved[part] = np.where(flat, span, np.nan)
    references, wide = _first(level, places, top, bottom)
    within = WITHIN * span + rounding
    state = State(row + part.start, within, np.zeros_like(row), level, references)
    chosen = wide & ~flat
    return state if chosen.all() else state.take(np.flatnonzero(chosen))


def _first(
    heights: Column, places: Column, top: Places, bottom: Places
) -> tuple[References, Bools]:
    """Start each trial from its extremes and two places far out to their sides."""
    trials = heights.shape[0]
    row = np.arange(trials)
    high, low = places[:, top], places[:, bottom]
    away = np.stack((high[1] - low[1], low[0] - high[0]))
    line = (away * high).sum(axis=0)
    off = away.T @ places - line[:, None]
    pick = off * heights
    pick *= heights
    left, right = pick.argmax(axis=1), pick.argmin(axis=1)
    far_left, far_right = off[row, left], -off[row, right]
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
    references = References(inverse, planes, member, side)
    _enter(references, places, fourth, side[3].copy(), np.abs(rise))
    return references, wide


def _pass(state: State, places: Column, answers: Answers) -> State:
    """Search all trials once, put the finished ones aside, move the others on."""
    planes = state.references.planes
    top_place, top, bottom_place, bottom = _search(state.heights, planes[1:3], places)
    over = top - planes[0] - planes[3]
    under = planes[0] - bottom - planes[3]
    going = np.maximum(over, under) > state.within
    going &= state.age < PASSES
    if not going.all():
        ended = state.take(np.flatnonzero(~going))
        answers.width[ended.trial] = (top - bottom)[~going]
        answers.proved[ended.trial] = _proofs(ended, places)
        at = np.flatnonzero(going)
        state = state.take(at)
        over, under = over.take(at), under.take(at)
        top_place, bottom_place = top_place.take(at), bottom_place.take(at)
    state.age[:] += 1
    upper = over >= under
    side = np.where(upper, TOP, BOTTOM)
    first = np.where(upper, top_place, bottom_place)
    _enter(state.references, places, first, side, np.maximum(over, under))
    # Both ends of one search are used: a search costs more than an exchange.
    other = np.where(upper, bottom_place, top_place)
    outside = _outside(state, places, other, -side)
    at = np.flatnonzero(outside > state.within)
    some = state.references.take(at)
    _enter(some, places, other.take(at), -side.take(at), outside.take(at))
    state.references.put(at, some)
    return state


def _search(
    heights: Column, slopes: Column, places: Column
) -> tuple[Places, Column, Places, Column]:
    """Give each trial's highest and lowest place and height, less the slopes."""
    trials, n = heights.shape
    top_place, bottom_place = np.empty((2, trials), dtype=np.intp)
    top, bottom = np.empty((2, trials))
    step = max(1, AT_A_TIME // 4 // n)
    room = np.empty((min(step, trials), n))
    row = np.arange(step)
    for start in range(0, trials, step):
        part = slice(start, min(start + step, trials))
        less = room[: part.stop - start]
        np.matmul(slopes[:, part].T, places, out=less)
        np.subtract(heights[part], less, out=less)
        at = row[: less.shape[0]]
        top[part] = less[at, less.argmax(axis=1, out=top_place[part])]
        bottom[part] = less[at, less.argmin(axis=1, out=bottom_place[part])]
    return top_place, top, bottom_place, bottom


def _outside(state: State, places: Column, place: Places, side: Column) -> Column:
    """Say how far one place of each trial lies outside its plane."""
    level, slope_u, slope_v, half = state.references.planes
    u, v = places.take(place, axis=1)
    value = state.heights[np.arange(place.size), place]
    gap: Column = side * (value - level - u * slope_u - v * slope_v) - half
    return gap


def _enter(
    references: References,
    places: Column,
    place: Places,
    side: Column,
    outside: Column,
) -> None:
    """Take one member into each trial's reference and let one go, in place."""
    columns, planes, member, sides = references
    row = np.arange(place.size)
    u, v = places.take(place, axis=1) * side
    pull = columns[:, 0] * side + columns[:, 1] * u + columns[:, 2] * v + columns[:, 3]
    may = pull > SMALLEST_PIVOT
    ratio = np.divide(columns[:, 3], pull, out=np.full(pull.shape, np.inf), where=may)
    second, fourth = ratio[1] < ratio[0], ratio[3] < ratio[2]
    back = np.minimum(ratio[2], ratio[3]) < np.minimum(ratio[0], ratio[1])
    leaves = np.where(back, 2 + fourth, second + 0)
    column = columns[leaves, :, row].T / pull[leaves, row]
    columns -= pull[:, None] * column
    columns[leaves, :, row] = column.T
    planes += outside * column
    member[leaves, row] = place
    sides[leaves, row] = side


def _proofs(state: State, places: Column) -> Column:
    """Work out afresh what each trial's reference proves; NaN where it proves nothing.

    Twin of `lapping.exchange.weigh` for shape (4, t).
    """
    side, member = state.references.side, state.references.member
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
    value = state.heights[np.arange(state.trial.size), member]
    proved: Column = (weight * side * value).sum(axis=0)
    proved[~fair] = np.nan
    return proved
