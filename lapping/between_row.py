"""The row of advice that sends somebody to read between the places read."""

from __future__ import annotations

import numpy as np

from lapping.advised import Advice
from lapping.case import Case
from lapping.doubt_words import BEYOND_LEAVES, most_doubted

PROBABLY_DONE = 0.5
"""More likely done than not: then read once more before taking off more."""
MAYBE_DONE = 0.1
"""With this chance and places between that nobody read, reading them comes first: it
costs some minutes and no metal."""
BETWEEN = 3.0
"""The doubt lies between the places when it is so many times that of a reading."""
ENOUGH_SETS = 2
"""A second set read at the same time, a third where it is nearly proved, has said what
reading again can say."""


def read_between(case: Case) -> Advice | None:
    """Read more places, where the face may be done and what lies between decides.

    It comes before every trouble, because it costs some minutes and no metal.
    """
    chance = case.chance
    if case.answer is None or chance is None or case.since > 0 or case.done:
        return None
    if (
        case.answer.unseen
        or chance < MAYBE_DONE
        or case.sign("coarse gauge", "reading in doubt") is not None
    ):
        return None
    if sets_read(case) >= ENOUGH_SETS or not lies_between(case):
        return None
    where = most_doubted(case)
    how = "is more likely done than not" if chance >= PROBABLY_DONE else "may be done"
    return Advice(
        action="measure",
        why=(
            f"it {how}; what is in doubt lies between the places read: "
            f"{_more(where)}; the same ones again tell nothing new"
        ),
        where=where,
    )


def _more(where: tuple[str, ...]) -> str:
    if where == BEYOND_LEAVES:
        return (
            "leaves do not reach there: lay a straightedge along the centre or use a "
            "dial"
        )
    return f"read more places, rows between rows, first of all {where[0]}"


def sets_read(case: Case) -> int:
    """Give how often the face was read with no stroke between."""
    return len([s for s in case.glances[-1].look.sets if s.method != "square"])


def lies_between(case: Case) -> bool:
    """Say whether it is what lies between the places read that is in doubt."""
    found = case.answer
    if found is None:
        return False
    sd = found.surface.sd_um[found.surface.places :]
    return float(np.median(sd)) > BETWEEN * found.repeatability_um
