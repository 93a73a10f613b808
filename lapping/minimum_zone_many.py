"""The minimum zones of many sets of heights at the same places, all at once.

The exchange of `lapping.exchange`, carried out side by side: every trial has its own
reference, every pass moves all trials that are not finished. Each answer is proved as
a single one is, and a trial that is not goes through `lapping.minimum_zone` alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapping.exchange import BOTTOM, TOP
from lapping.exchange_many import References, enter, first_references, proofs
from lapping.planes import levelled
from lapping.zone_of_heights import spread, zone_of
from lapping.zone_search import PROVED, WITHIN

Column = NDArray[np.float64]
Places = NDArray[np.intp]

AT_A_TIME = 2**17
"""Heights taken up together: few enough to stay in the processor's cache."""
PASSES = 60


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
    references, wide = first_references(level, places, top, bottom)
    within = WITHIN * span + rounding
    state = State(row + part.start, within, np.zeros_like(row), level, references)
    chosen = wide & ~flat
    return state if chosen.all() else state.take(np.flatnonzero(chosen))


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
        answers.proved[ended.trial] = proofs(ended.references, ended.heights, places)
        at = np.flatnonzero(going)
        state = state.take(at)
        over, under = over.take(at), under.take(at)
        top_place, bottom_place = top_place.take(at), bottom_place.take(at)
    state.age[:] += 1
    upper = over >= under
    side = np.where(upper, TOP, BOTTOM)
    first = np.where(upper, top_place, bottom_place)
    enter(state.references, places, first, side, np.maximum(over, under))
    # Both ends of one search are used: a search costs more than an exchange.
    other = np.where(upper, bottom_place, top_place)
    outside = _outside(state, places, other, -side)
    at = np.flatnonzero(outside > state.within)
    some = state.references.take(at)
    enter(some, places, other.take(at), -side.take(at), outside.take(at))
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
