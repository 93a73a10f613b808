"""The minimum zones of many sets of heights at the same places, all at once.

The exchange (`exchange`), carried out side by side: every trial has its own
reference, every pass moves all trials that are not finished. Each answer is proved as
a single one is, and a trial that is not goes through `minimum_zone` alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapping.planes import levelled
from lapping.zone.exchange import BOTTOM, TOP
from lapping.zone.exchange_many import References, ends, enter, first_references, proofs
from lapping.zone.levelled import spread, zone_of
from lapping.zone.search import PROVED, WITHIN

Column = NDArray[np.float64]
Places = NDArray[np.intp]

AT_A_TIME = 2**18
"""Heights at work together: enough that the calls cost little beside the numbers."""
SEARCHED = 2**16
"""Heights searched together: few enough to stay in the processor's cache."""
PASSES = 60
PACKED = 0.7
"""Below this share of trials still at work the others' heights are dropped."""


class State(NamedTuple):
    """Trials at work: trial, within, age and slot of shape (t,).

    ``heights`` has shape (n, slots); the trials that are finished leave it late,
    because moving heights costs more than searching them once more.
    """

    trial: Places
    within: Column
    age: Places
    slot: Places
    heights: Column
    references: References

    def take(self, at: Places) -> State:
        """Keep some of the trials."""
        return State(
            self.trial.take(at),
            self.within.take(at),
            self.age.take(at),
            self.slot.take(at),
            self.heights,
            self.references.take(at),
        )

    def packed(self) -> State:
        """Drop the heights of finished trials."""
        heights = self.heights.take(self.slot, axis=1)
        return self._replace(slot=np.arange(self.slot.size), heights=heights)

    @classmethod
    def join(cls, some: list[State]) -> State:
        """Put the trials of several states one after the other."""
        widths = [state.heights.shape[1] for state in some]
        starts = np.cumsum([0, *widths[:-1]])
        return cls(
            np.concatenate([state.trial for state in some]),
            np.concatenate([state.within for state in some]),
            np.concatenate([state.age for state in some]),
            np.concatenate([s.slot + k for s, k in zip(some, starts, strict=True)]),
            np.concatenate([state.heights for state in some], axis=1),
            References.join([state.references for state in some]),
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
    The width is that of `lapping.zone.minimum_zone.minimum_zone`, to rounding. Raises
    TooFewReadings without a place.
    """
    heights = np.asarray(heights_um, dtype=np.float64)
    if heights.ndim != 2:
        message = f"heights must have shape (trials, n) (got {heights.ndim} axes)"
        raise ValueError(message)
    trials, n = heights.shape
    places = spread(levelled(along_mm, across_mm, np.zeros(n)))[:2]
    answers = Answers(np.empty(trials), np.full(trials, np.nan), np.empty(trials))
    step = max(1, SEARCHED // places.shape[1])
    most = AT_A_TIME // places.shape[1]
    waiting: list[State] = []
    for start in range(0, trials, step):
        part = slice(start, min(start + step, trials))
        waiting.append(_begin(heights[part], places, part, answers))
        if sum(state.trial.size for state in waiting) > most:
            state = State.join(waiting)
            # Trials that need many passes wait for the next ones: a pass over few
            # trials takes nearly as long as one over many.
            while state.trial.size > most // 2:
                state = _pass(state, places, answers)
            waiting = [state.packed()]
    if waiting:
        state = State.join(waiting)
        while state.trial.size > 0:
            state = _pass(state, places, answers)
    width, proved, allowed = answers
    unproved = ~(np.abs(width - proved) <= allowed)
    for trial in np.flatnonzero(unproved).tolist():
        levels, rounding = _level(heights[trial : trial + 1], places)
        zone = zone_of(np.vstack((places, levels.T)), rounding.item())
        width[trial] = zone.top - zone.bottom
    return width


def _level(heights: Column, places: Column) -> tuple[Column, Column]:
    """Take each trial's least squares plane off; give also its rounding error.

    The heights come as (t, n) and leave as (n, t).
    """
    n = heights.shape[1]
    copies = places.shape[1] // n
    flat = heights.reshape(-1)
    if not flat.dot(flat) < np.inf:
        message = "every value must be a finite number (got NaN or infinity)"
        raise ValueError(message)
    level = np.tile(heights.T, (copies, 1)) if copies > 1 else heights.T.copy()
    level -= np.add.reduce(level, 0) / places.shape[1]
    size = np.sqrt(np.add.reduce(level * level, 0) / places.shape[1])
    level -= places.T @ (places @ level / places.shape[1])
    return level, 4e-16 * size


def _begin(heights: Column, places: Column, part: slice, answers: Answers) -> State:
    """Level some trials and give those that are not flat their first reference."""
    level, rounding = _level(heights, places)
    row = np.arange(level.shape[1])
    top_place, top, bottom_place, bottom = ends(level)
    span = top - bottom
    answers.width[part] = span
    answers.allowed[part] = PROVED * span + 4 * rounding
    flat = span <= 2 * rounding
    if places.shape[1] < 4:
        flat[:] = True
    answers.proved[part] = np.where(flat, span, np.nan)
    references, wide = first_references(level, places, top_place, bottom_place)
    within = WITHIN * span + rounding
    age = np.zeros_like(row)
    state = State(row + part.start, within, age, row, level, references)
    chosen = wide & ~flat
    return state if chosen.all() else state.take(np.flatnonzero(chosen))


def _pass(state: State, places: Column, answers: Answers) -> State:
    """Search all trials once, put the finished ones aside, move the others on."""
    if state.slot.size < PACKED * state.heights.shape[1]:
        state = state.packed()
    planes = state.references.block[4]
    top_place, top, bottom_place, bottom = _search(state, places)
    over = top - planes[0] - planes[3]
    under = planes[0] - bottom - planes[3]
    going = np.maximum(over, under) > state.within
    going &= state.age < PASSES
    if not going.all():
        at = np.flatnonzero(~going)
        trial, code = state.trial.take(at), state.references.code.take(at, axis=1)
        value = state.heights[code // 2, state.slot.take(at)]
        answers.width[trial] = (top - bottom).take(at)
        answers.proved[trial] = proofs(code, value, places)
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


def _search(state: State, places: Column) -> tuple[Places, Column, Places, Column]:
    """Give each trial's highest and lowest place and height, less the slopes."""
    n, slots = state.heights.shape
    slopes = np.zeros((2, slots))
    slopes[:, state.slot] = state.references.block[4, 1:3]
    step = max(1, SEARCHED // n)
    parts = []
    for start in range(0, slots, step):
        part = slice(start, start + step)
        less = places.T @ slopes[:, part]
        np.subtract(state.heights[:, part], less, out=less)
        parts.append(ends(less))
    top_place, top, bottom_place, bottom = (
        np.concatenate(found).take(state.slot) for found in zip(*parts, strict=True)
    )
    return top_place, top, bottom_place, bottom


def _outside(state: State, places: Column, place: Places, side: Column) -> Column:
    """Say how far one place of each trial lies outside its plane."""
    level, slope_u, slope_v, half = state.references.block[4]
    u, v = places.take(place, axis=1)
    value = state.heights[place, state.slot]
    gap: Column = side * (value - level - u * slope_u - v * slope_v) - half
    return gap
