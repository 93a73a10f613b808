"""What was to be done at every earlier look at a face, as it is judged today."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lapping.advice.advised import Action
from lapping.advice.case import glances_of, look_at
from lapping.advice.table import advise_on
from lapping.contact_map import ContactMap
from lapping.removal.job import Job
from lapping.removal.rates import Beliefs

NEWEST = 12
"""Each takes nearly as long as an advice; what was said longer ago interests nobody."""
LOOKS_BACK = 5
"""So many looks before it say how fast the papers of the time cut."""


def advised_then(
    job: Job,
    *,
    contacts: Mapping[int, ContactMap] | None = None,
    held: Beliefs | None = None,
) -> dict[int, Action]:
    """Give the action that fits every look by its number, the newest looks only.

    It is judged by what was known then: readings, strokes and photos entered before.
    Looks that show no surface have none.
    """
    found = {}
    glances, _ = glances_of(job)
    for at in range(max(0, len(glances) - NEWEST), len(glances)):
        now = glances[max(0, at - LOOKS_BACK) : at + 1]
        number = now[-1].look.number
        then = replace(
            job,
            looks=tuple(one.look for one in now),
            runs=job.runs_between(0, number),
            squares=tuple(s for s in job.squares if s.number <= number),
            mouths=tuple(s for s in job.mouths if s.number <= number),
            thicknesses=tuple(s for s in job.thicknesses if s.number <= number),
            photos=tuple(n for n in job.photos if n <= number),
        )
        maps = {n: c for n, c in (contacts or {}).items() if n <= number}
        case = look_at(then, contacts=maps, held=held, glanced=now)
        found[number] = advise_on(case).action
    return found
