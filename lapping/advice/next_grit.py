"""Is another paper the better one: coarser for what is left, or finer to finish."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lapping.advice.case import Case
from lapping.grits import Grit
from lapping.planning.sequence import PaperPlan, order_papers, scratch_um
from lapping.removal.job import Run
from lapping.removal.learnt import Removal
from lapping.removal.rates import expected, rate_on
from lapping.wear.dose import worn_down
from lapping.wear.flattening import GIVE_UM
from lapping.wear.rate_prior import NINE_IN_TEN, Rate

FINEST_UM = 35.0
"""Finer than P400 is for looks: common practice, no source."""
WORTH = 0.7
"""A coarser paper is worth its scratches when it saves all strokes but this share."""
BITE_UM = 3.0
"""So much is taken off in thought to see where a face bears."""
HALF_SPENT = 100.0
"""At so many strokes a sheet cuts as it does on average until it is changed."""
WORTH_STROKES = 300.0
"""And it is not worth changing for fewer strokes than these."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Another paper to take, and the strokes that are to be made on it."""

    grit: Grit
    strokes: tuple[float, float]
    instead_of: float


def coarser_choice(case: Case) -> Choice | None:
    """Give the coarser paper on hand that saves so many strokes that it is worth it."""
    left = case.left
    if left is None or float(np.median(left.strokes)) < WORTH_STROKES:
        return None
    papers = papers_on_hand(case)
    now = case.next_run.grit
    shape = float(np.median(left.dose_um))
    finish = min(finish_of(papers, now), now, key=lambda g: g.grain_um)
    all_plan = _plan(case, papers, shape, finish)
    not_coarser = tuple(g for g in papers if not g.coarser_than(now))
    same = _plan(case, not_coarser, shape, finish)
    first = all_plan.steps[0] if all_plan.steps else None
    if first is None or not first.grit.coarser_than(now):
        return None
    if all_plan.strokes[1] > WORTH * same.strokes[1]:
        return None
    return Choice(
        grit=first.grit,
        strokes=(first.strokes[0], first.strokes[2]),
        instead_of=same.strokes[1],
    )


def finer_choice(case: Case) -> Choice | None:
    """Give the next finer paper on hand for a face that needs no more of this one.

    None where no finer one is listed that does more than looks.
    """
    now = case.next_run.grit
    papers = papers_on_hand(case)
    finish = finish_of(papers, now)
    if not now.coarser_than(finish):
        return None
    steps = _plan(case, papers, 0.0, finish).steps
    if not steps:
        return None
    first = steps[0]
    share = hidden_under_um(now, first.grit) / first.removes_um / where_it_bears(case)
    low, _, high = first.strokes
    return Choice(grit=first.grit, strokes=(share * low, share * high), instead_of=0.0)


def hidden_under_um(coarse: Grit, fine: Grit) -> float:
    """Give what comes off until scratches of one paper are no deeper than another's.

    By the share of its grain that a scratch is deep; the finer paper's own scratches
    hide the rest. 0 where the first is no coarser.
    """
    return max(scratch_um(coarse) - scratch_um(fine), 0.0)


def scratches_to_go(case: Case) -> tuple[float, float] | None:
    """Give the strokes still to be made on this paper for scratches of coarser ones.

    Reckoned from the share of its grain that a scratch is deep and from the rate as
    believed, for every paper that was used before; None where enough were made
    already, more likely than not.
    """
    runs = case.job.runs
    now = runs[-1].grit if runs else case.next_run.grit
    last = {run.grit: run.number for run in runs if run.grit.coarser_than(now)}
    if not last:
        return None
    held, prior = case.removal.held, case.removal.prior
    more = where_it_bears(case)
    to_go = 0.0
    for grit, number in last.items():
        off = expected(held, case.job.runs_between(number), prior)
        made = float(np.exp(held.weight @ off.mean))
        to_go = max(to_go, hidden_under_um(grit, now) - made * more)
    if to_go <= 0:
        return None
    here = rate_on(held, case.next_run, prior)
    likely = to_go / float(np.exp(held.weight @ here.mean)) / more
    factor = float(np.exp(NINE_IN_TEN * (held.weight @ here.spread)))
    return likely / factor, likely * factor


def where_it_bears(case: Case) -> float:
    """Give how many times the mean depth comes off where the face bears.

    Scratches are where it bears; a hollow has none and takes no part in it.
    """
    found = case.answer
    if found is None or found.unseen:
        return 1.0
    height = found.surface.mean_um[found.surface.places :]
    dose = np.array([BITE_UM])
    worn = worn_down(found.face, height[None], np.array([GIVE_UM]), dose)[0, 0]
    off = height - worn
    bears = off > off.max() / 2
    return max(float(np.median(off[bears])) / BITE_UM, 1.0)


def papers_on_hand(case: Case) -> tuple[Grit, ...]:
    """Give all papers that are listed, were used, or come next."""
    used = [run.grit for run in case.job.runs]
    return tuple(dict.fromkeys([*case.job.papers, *used, case.next_run.grit]))


def finish_of(papers: tuple[Grit, ...], now: Grit) -> Grit:
    """Give the finest paper that does more than looks; the one in use if none is."""
    useful = [grit for grit in papers if grit.grain_um >= FINEST_UM]
    return min([*useful, now], key=lambda grit: grit.grain_um)


def sheet_rates(known: Removal, run: Run, papers: Sequence[Grit]) -> dict[Grit, Rate]:
    """Give the rate of each paper as it is believed, sheets changed when spent."""
    weight = known.held.weight
    rates = {}
    for grit in papers:
        here = rate_on(
            known.held, replace(run, grit=grit, sheet_age=HALF_SPENT), known.prior
        )
        rates[grit] = Rate(
            um_per_100=100 * float(np.exp(weight @ here.mean)),
            spread=float(weight @ here.spread),
            learnt=known.held.learnt > 0,
        )
    return rates


def _plan(
    case: Case, papers: tuple[Grit, ...], shape_um: float, finish: Grit
) -> PaperPlan:
    """Order papers by the rates learnt here, sheets changed when they are spent."""
    rates = sheet_rates(case.removal, case.next_run, papers)
    return order_papers(
        rates,
        shape_um=shape_um,
        finish=finish,
        scratched_by=case.next_run.grit,
    )
