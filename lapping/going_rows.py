"""Rows of the table of advice for going on: measure, keep lapping, next grit, done."""

from __future__ import annotations

import numpy as np

from lapping.advised import Advice
from lapping.between_row import ENOUGH_SETS, PROBABLY_DONE, sets_read
from lapping.case import Case
from lapping.doubt_words import most_doubted, where_high
from lapping.gauge_words import finer_words
from lapping.next_grit import finer_choice, scratches_to_go
from lapping.removal import rate_of
from lapping.strokes_left import COVERS, Left, as_counted
from lapping.uncertainty import COVER

STALE_CHANCE = 0.25
"""Strokes since the last reading may have done it with this chance: then read."""
NEARLY_DONE = 0.8


def measure(case: Case) -> Advice | None:
    """Measure, where what is not known leads to two different next actions."""
    found = case.answer
    if found is None:
        return None
    if case.since > 0:
        return _stale(case)
    if case.chance is None and found.unseen:
        return Advice(
            action="measure",
            why=(
                f"{' and '.join(found.unseen)} was not measured, and the face may be "
                f"done or far from it: read {found.next_line or 'more lines'}"
            ),
        )
    slip = case.sign("reading in doubt")
    if slip is not None and case.slip_decides:
        return Advice(
            action="measure",
            why=f"{slip.says}, and without it the next step would be another",
            where=slip.where,
        )
    chance = case.chance
    if chance is None or chance <= 1 - COVER:
        return None
    coarse = case.sign("coarse gauge")
    if coarse is not None:
        return Advice(
            action="measure",
            why=(
                f"the face may be done and may not, and a finer gauge decides, not "
                f"more strokes: {coarse.says}; to help: {finer_words(found)}"
            ),
        )
    if chance >= PROBABLY_DONE and sets_read(case) < ENOUGH_SETS + (
        chance >= NEARLY_DONE
    ):
        return Advice(
            action="measure",
            why=(
                "it is more likely done than not, and readings taken once more, of "
                "other places too, cost no metal"
            ),
            where=most_doubted(case),
        )
    return None


def keep_lapping(case: Case) -> Advice | None:
    """Keep lapping: how many strokes are left, and where it should bear."""
    if case.answer is None or case.done:
        return None
    left = case.left
    if left is None:
        return Advice(
            action="keep lapping",
            why=(
                f"whatever was not measured, the face is at least "
                f"{case.answer.likely.interval_um[0]:.0f} µm out and "
                f"{case.target_um:g} is allowed"
            ),
            grit=case.next_run.grit,
        )
    strokes = np.maximum(left.strokes - case.since, 0.0)
    few, many = np.quantile(strokes, COVERS)
    if _nearly(case):
        many = many + _margin(case)
    few_many = as_counted((float(few), float(many)))
    return Advice(
        action="keep lapping",
        why=_to_go(case, left, few_many),
        where=where_high(case),
        strokes=few_many,
        grit=case.next_run.grit,
    )


def _nearly(case: Case) -> bool:
    """Say whether it is more likely done than not, and only not shown."""
    return case.since == 0 and (case.chance or 0.0) >= PROBABLY_DONE


def _margin(case: Case) -> float:
    """Give the strokes that take off as much as one reading is in doubt."""
    assert case.answer is not None, "what is nearly done was read"
    rate = rate_of(case.removal, case.next_run).middle_um / 100
    return case.answer.repeatability_um / rate


def _to_go(case: Case, left: Left, strokes: tuple[int, int]) -> str:
    """Say how much is left, or what shows that nothing is."""
    few, many = strokes
    on = case.next_run.grit.name
    if _nearly(case):
        return (
            f"it is more likely within {case.target_um:g} µm than not, but that is not "
            "shown, and the same readings once more would not show it; as many strokes "
            f"on {on} take off about what one reading is in doubt, and then as many "
            "places read as now can show it"
        )
    since = f"after the {case.since:.0f} strokes since, " if case.since else ""
    sheets = ""
    if left.sheets > 1:
        sheets = f" with about {left.sheets} sheets; change them as they get slow"
    return (
        f"{case.target_um:g} µm is allowed; {since}about "
        f"{float(np.median(left.dose_um)):.0f} µm of metal has to come off, "
        f"{few} to {many} strokes on {on}{sheets}"
    )


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
            strokes=None if rough is None else as_counted(rough),
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


def done(case: Case) -> Advice:
    """Stop: it is done, and what more lapping adds is risk."""
    found = case.answer
    return Advice(
        action="done",
        all_flat=found is None or found.verdict != "not flat",
        why=f"{_within(case)}; leave it, for more lapping can only make it worse",
    )


def _was_within(case: Case) -> str:
    if case.done:
        return _within(case)
    return "it was shown to be done before this paper, and nothing says otherwise"


def _within(case: Case) -> str:
    found = case.answer
    assert found is not None, "a face is done by its readings alone"
    if found.face.kind == "sole" and found.working_verdict == "flat":
        said = (
            "it works: toe, heel and what must bear between them lie within "
            f"{found.working.together_um:.0f} µm, {case.target_um:g} allowed"
        )
        if found.verdict == "not flat":
            said += "; the rest is a little hollow, and that does no harm"
        elif found.verdict != "flat":
            said += "; whether all of it is flat is not shown and need not be"
        return said
    return (
        f"the whole face is within {case.target_um:g} µm: likely "
        f"{found.likely.likely_um:.0f}"
    )


def _stale(case: Case) -> Advice | None:
    """Read again, where the strokes made since may have changed the answer."""
    if case.left is None:
        return Advice(
            action="measure",
            why=f"{case.since:.0f} strokes were made since the face was read",
        )
    chance = float(np.mean(case.left.strokes <= case.since))
    if chance < STALE_CHANCE:
        return None
    return Advice(
        action="measure",
        why=(
            f"{case.since:.0f} strokes were made since the face was read, and with a "
            f"chance of {100 * chance:.0f} % they have done it: read it again"
        ),
    )
