"""What was to be done at every earlier look at a face, as it is judged today."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from lapping.advice import advise
from lapping.advised import Action
from lapping.contact_map import ContactMap
from lapping.job import Job
from lapping.rates import Beliefs

NEWEST = 12
"""Each takes as long as an advice; older ones interest nobody."""


def advised_then(
    job: Job,
    *,
    contacts: Mapping[int, ContactMap] | None = None,
    held: Beliefs | None = None,
) -> dict[int, Action]:
    """Give the action that fits every look by its number, the newest looks only.

    Judged by what was known then: readings, strokes and photos entered before it.
    """
    found = {}
    for at in range(max(0, len(job.looks) - NEWEST), len(job.looks)):
        number = job.looks[at].number
        then = replace(
            job,
            looks=job.looks[: at + 1],
            runs=job.runs_between(0, number),
            squares=tuple(s for s in job.squares if s.number <= number),
            mouths=tuple(s for s in job.mouths if s.number <= number),
            thicknesses=tuple(s for s in job.thicknesses if s.number <= number),
            photos=tuple(n for n in job.photos if n <= number),
        )
        maps = {n: c for n, c in (contacts or {}).items() if n <= number}
        found[number] = advise(then, contacts=maps, held=held).action
    return found
