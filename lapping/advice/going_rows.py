"""Rows of the table of advice for going on: measure, and keep lapping."""

from __future__ import annotations

import numpy as np

from lapping.advice.advised import Advice
from lapping.advice.between_row import PROBABLY_DONE
from lapping.advice.case import ENOUGH_SETS, Case
from lapping.removal.learnt import rate_of
from lapping.removal.strokes_left import COVERS, Left, as_counted
from lapping.surface.uncertainty import COVER
from lapping.words.doubt import most_doubted, where_high
from lapping.words.gauge import finer_words

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
    again = case.job.times_read <= ENOUGH_SETS
    if slip is not None and case.slip_decides and again:
        return Advice(
            action="measure",
            why=f"{slip.says}, and without it the next step would be another",
            where=slip.where,
        )
    chance = case.chance
    if chance is None or chance <= 1 - COVER:
        return None
    coarse = case.sign("coarse gauge")
    # Who has none that is finer is not asked for it for ever.
    if coarse is not None and again:
        return Advice(
            action="measure",
            why=(
                f"the face may be done and may not, and a finer gauge decides, not "
                f"more strokes: {coarse.says}; to help: {finer_words(found)}"
            ),
        )
    if chance >= NEARLY_DONE and again and coarse is None:
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
    left, unit = case.left, case.job.shown_in
    if left is None:
        return Advice(
            action="keep lapping",
            why=(
                f"whatever was not measured, the face is at least "
                f"{unit.said(case.answer.likely.interval_um[0])} out and "
                f"{unit.limit(case.target_um)} is allowed"
            ),
            grit=case.next_run.grit,
        )
    strokes = np.maximum(left.strokes - case.since, 0.0)
    few, many = np.quantile(strokes, COVERS)
    if _nearly(case):
        many = max(float(many), _margin(case))
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
    on, unit = case.next_run.grit.name, case.job.shown_in
    allowed = f"{unit.limit(case.target_um)} {unit.name}"
    if _nearly(case):
        return (
            f"it is more likely within {allowed} than not, but that is not "
            "shown, and the same readings once more would not show it; as many strokes "
            f"on {on} take off about what one reading is in doubt, and then as many "
            "places read as now can show it"
        )
    since = f"after the {case.since:.0f} strokes since, " if case.since else ""
    sheets = ""
    if left.sheets > 1:
        sheets = f" with about {left.sheets} sheets; change them as they get slow"
    return (
        f"{allowed} is allowed; {since}about "
        f"{unit.said(float(np.median(left.dose_um)))} of metal has to come off, "
        f"{few} to {many} strokes on {on}{sheets}"
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
