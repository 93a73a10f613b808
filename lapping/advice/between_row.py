"""The row of advice that sends somebody to read between the places read."""

from __future__ import annotations

import numpy as np

from lapping.advice.advised import Advice
from lapping.advice.case import ENOUGH_SETS, Case
from lapping.words.doubt import BEYOND_LEAVES, most_doubted

PROBABLY_DONE = 0.5
"""More likely done than not."""
MAYBE_DONE = 0.1
"""With this chance and places between that nobody read, reading them comes first: it
costs some minutes and no metal."""
BETWEEN = 3.0
"""The doubt lies between the places when it is so many times that of a reading."""
AGAIN = 0.25
"""With this chance reading once more comes before taking off more."""


def read_between(case: Case) -> Advice | None:
    """Read more places, where the face may be done and what lies between decides.

    It comes before every trouble, because it costs some minutes and no metal.
    """
    found = case.answer
    if found is None or not _may_be_done(case, MAYBE_DONE):
        return None
    if case.sign("coarse gauge", "reading in doubt") is not None:
        return None
    unread = found.unread
    if not unread and (case.job.times_read >= ENOUGH_SETS or not lies_between(case)):
        return None
    where = unread or most_doubted(case)
    return Advice(
        action="measure",
        why=(
            f"{_how_likely(case)}; what is in doubt lies between the places read: "
            f"{_more(where)}; the same ones again tell nothing new"
        ),
        where=where,
    )


def read_again(case: Case) -> Advice | None:
    """Read once more, where the face may be done and one set does not prove it."""
    if not _may_be_done(case, AGAIN) or case.job.times_read >= ENOUGH_SETS:
        return None
    if case.sign("coarse gauge") is not None or case.slip_decides:
        return None
    return Advice(
        action="measure",
        why=(
            f"{_how_likely(case)}, and readings taken once more, of other places too, "
            "cost no metal"
        ),
        where=most_doubted(case),
    )


def _may_be_done(case: Case, least: float) -> bool:
    """Say whether the readings are of now, all shapes were seen, and it may be done."""
    found, chance = case.answer, case.chance
    if found is None or chance is None or case.since > 0 or case.done:
        return False
    return not found.unseen and chance >= least


def _how_likely(case: Case) -> str:
    probably = (case.chance or 0.0) >= PROBABLY_DONE
    return "it is more likely done than not" if probably else "it may be done"


def _more(where: tuple[str, ...]) -> str:
    if where == BEYOND_LEAVES:
        return (
            "leaves do not reach there: lay a straightedge along the centre or use a "
            "dial"
        )
    return f"read more places, rows between rows, first of all {where[0]}"


def lies_between(case: Case) -> bool:
    """Say whether it is what lies between the places read that is in doubt."""
    found = case.answer
    if found is None:
        return False
    sd = found.surface.sd_um[found.surface.places :]
    return float(np.median(sd)) > BETWEEN * found.repeatability_um
