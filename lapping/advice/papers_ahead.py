"""Which paper makes the rest of the job shortest, the finer ones after it counted.

What a finer paper takes off for the scratches of the one before brings the shape down
as well. So a coarse paper is left before the face is done where the finer ones, which
follow anyway, do the rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from lapping.advice.case import Case
from lapping.advice.next_grit import (
    Choice,
    finish_of,
    hidden_under_um,
    papers_on_hand,
    sheet_rates,
    where_it_bears,
)
from lapping.grits import Grit
from lapping.planning.sequence import is_large_step
from lapping.removal.strokes_left import LEAST_STROKES
from lapping.wear.rate_prior import NINE_IN_TEN, Rate

Array = NDArray[np.float64]

SURELY = 0.6
"""How deep scratches are is known to a factor of three either way, and who sees none
goes on: so much of the reckoned depth is counted on for the shape."""


def better_paper(case: Case) -> Choice | None:
    """Give the finer paper that makes all strokes still to come fewest, if any does."""
    left, found = case.left, case.answer
    if left is None or found is None or found.unseen:
        return None
    now = case.next_run.grit
    papers = papers_on_hand(case)
    finish = finish_of(papers, now)
    if not now.coarser_than(finish):
        return None
    papers = tuple(g for g in papers if not g.coarser_than(now))
    rates = _at_worst(sheet_rates(case.removal, case.next_run, papers), case)
    more = where_it_bears(case)
    path = fewest_strokes(
        {grit: rate.um_per_100 for grit, rate in rates.items()},
        left.dose_um,
        finish=finish,
        scratched_by=now,
        bears=more / SURELY,
    )
    first = path[0]
    if first == now:
        return None
    needed = hidden_under_um(now, first) / more
    dose = np.maximum(left.dose_um, needed)
    return Choice(grit=first, strokes=_range(dose, rates[first]), instead_of=0.0)


def fewest_strokes(
    um_per_100: Mapping[Grit, float],
    dose_um: Array,
    *,
    finish: Grit,
    scratched_by: Grit,
    bears: float = 1.0,
) -> tuple[Grit, ...]:
    """Give the papers, coarse to fine, with the fewest strokes over doses (n,).

    Each takes off what hides the scratches of the one before, ``bears`` times as deep
    where it bears as on the whole face; the first what the shape needs beyond that.
    ``scratched_by`` may be gone on with, by a few strokes at least. No step too large
    with a paper between.
    """
    papers = sorted(um_per_100, key=lambda grit: -grit.grain_um)
    before = [grit for grit in papers if grit.coarser_than(finish)]
    ways = [
        (*some, finish)
        for many in range(len(before) + 1)
        for some in combinations(before, many)
        if not _leaps((*some, finish), scratched_by, papers)
    ]
    return min(
        ways, key=lambda way: _cost(way, um_per_100, dose_um, scratched_by, bears)
    )


def _cost(
    way: Sequence[Grit],
    um_per_100: Mapping[Grit, float],
    dose_um: Array,
    scratched_by: Grit,
    bears: float,
) -> float:
    strokes = taken = 0.0
    coarser = scratched_by
    for grit in way:
        dose = hidden_under_um(coarser, grit) / bears
        strokes += 100 * dose / um_per_100[grit]
        taken += dose
        coarser = grit
    rest = 100 * np.maximum(dose_um - taken, 0.0) / um_per_100[way[0]]
    if way[0] == scratched_by:
        # Who goes on does not know that enough was done already.
        rest = np.maximum(rest, LEAST_STROKES)
    return strokes + float(np.mean(rest))


def _leaps(way: Sequence[Grit], scratched_by: Grit, papers: Sequence[Grit]) -> bool:
    """Say whether a step is too large though a paper on hand lies between."""
    steps = way if scratched_by == way[0] else (scratched_by, *way)
    return any(
        is_large_step(coarse, fine)
        and any(coarse.coarser_than(g) and g.coarser_than(fine) for g in papers)
        for coarse, fine in pairwise(steps)
    )


def _at_worst(rates: Mapping[Grit, Rate], case: Case) -> dict[Grit, Rate]:
    """Take a finer paper that was not used here to cut less, in proportion to grain.

    What is assumed of it must not lead away from one whose cut is known.
    """
    now = case.next_run.grit
    used = {run.grit for run in case.job.runs}
    most = rates[now].um_per_100 / now.grain_um
    return {
        grit: rate
        if grit in used
        else Rate(
            um_per_100=min(rate.um_per_100, most * grit.grain_um),
            spread=rate.spread,
            learnt=rate.learnt,
        )
        for grit, rate in rates.items()
    }


def _range(dose_um: Array, rate: Rate) -> tuple[float, float]:
    logs = np.log(np.maximum(dose_um, 1e-3))
    low, middle, high = np.quantile(logs, [0.05, 0.5, 0.95]) - np.log(rate.um_per_100)
    spread = NINE_IN_TEN * rate.spread
    few = middle - np.hypot(middle - low, spread)
    many = middle + np.hypot(high - middle, spread)
    return 100 * float(np.exp(few)), 100 * float(np.exp(many))
