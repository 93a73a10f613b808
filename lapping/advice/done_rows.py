"""Rows of the table of advice for the end: a finer paper, scratches, done."""

from __future__ import annotations

import numpy as np

from lapping.advice.advised import Advice
from lapping.advice.case import Case
from lapping.advice.next_grit import finer_choice, scratches_to_go
from lapping.advice.papers_ahead import better_paper
from lapping.removal.strokes_left import as_counted
from lapping.words.doubt import where_high


def finer_already(case: Case) -> Advice | None:
    """Take a finer paper before the face is done, where that takes fewer strokes.

    Only of what was read cold: what heat added is not for a finer paper to take off.
    """
    if case.since > 0 or case.done or case.warm is not None or not case.job.runs:
        return None
    if case.sign("reading in doubt") is not None and case.slip_decides:
        return None
    rough = scratches_to_go(case)
    better = better_paper(case)
    if better is None or rough is not None or case.scratched:
        return None
    return Advice(
        action="next grit",
        why=(
            f"what is left of the shape, about {_dose(case)} of metal, comes "
            f"off with the scratches of {case.next_run.grit.name}: {better.grit.name} "
            "does both, and that takes the fewest strokes in all"
        ),
        where=where_high(case),
        grit=better.grit,
        strokes=as_counted(better.strokes),
    )


def _dose(case: Case) -> str:
    assert case.left is not None, "where a paper is better something is left"
    return case.job.shown_in.said(float(np.median(case.left.dose_um)))


def next_grit(case: Case) -> Advice | None:
    """Take the next finer paper on hand, or go on till the old scratches are gone."""
    if not case.shaped or (case.since > 0 and not case.done):
        return None
    rough = scratches_to_go(case)
    if case.scratched or (rough is not None and case.scratched is None):
        how = "still show" if case.scratched else "are as deep as that by reckoning"
        return Advice(
            action="keep lapping",
            why=(
                f"{_was_within(case)}, but scratches of the grit before {how}: light "
                f"strokes on {case.next_run.grit.name} in another direction until "
                "none is seen"
            ),
            grit=case.next_run.grit,
            strokes=as_counted(rough or _as_many_again(case)),
        )
    finer = finer_choice(case)
    if finer is None or not case.job.runs:
        return None
    return Advice(
        action="next grit",
        why=(
            f"{_was_within(case)}; {case.next_run.grit.name} has done its work, and "
            f"{finer.grit.name} takes out its scratches; look first whether "
            "any are left of the paper before it"
        ),
        grit=finer.grit,
        strokes=as_counted(finer.strokes),
    )


def _as_many_again(case: Case) -> tuple[float, float]:
    """Give strokes for scratches that are deeper than reckoned: up to those made."""
    now = case.next_run.grit
    last = max((r.number for r in case.job.runs if r.grit != now), default=0)
    return 0.0, sum(run.strokes for run in case.job.runs_between(last))


def done(case: Case) -> Advice:
    """Stop: it is done, and what more lapping adds is risk."""
    found = case.answer
    look = case.sign("look for scratches")
    also = "" if look is None else f"; but {look.says}"
    return Advice(
        action="done",
        all_flat=found is None or found.verdict != "not flat",
        why=(
            f"{_within(case)}; leave it, for more lapping can only make it worse{also}"
        ),
    )


def _was_within(case: Case) -> str:
    if case.done:
        return _within(case)
    return "it was shown to be done before this paper, and nothing says otherwise"


def _within(case: Case) -> str:
    found = case.answer
    assert found is not None, "a face is done by its readings alone"
    unit = case.job.shown_in
    allowed = unit.limit(case.target_um)
    if found.face.kind == "sole" and found.working_verdict == "flat":
        said = (
            "it works: toe, heel and what must bear between them lie within "
            f"{unit.said(found.working.together_um)}, {allowed} allowed"
        )
        if found.verdict == "not flat":
            said += "; the rest is a little hollow, and that does no harm"
        elif found.verdict != "flat":
            said += "; whether all of it is flat is not shown and need not be"
        return said
    likely = found.likely.likely_um
    if found.verdict == "flat":
        return (
            f"the whole face is within {allowed} {unit.name}: likely "
            f"{'not known' if likely is None else unit.bare(likely)}"
        )
    return (
        f"{allowed} {unit.name} are kept by the readings together with the strokes, "
        "which leave no bump standing between the places read where it bears"
    )
