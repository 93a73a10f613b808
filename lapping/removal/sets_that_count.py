"""Which sets of readings still say how a face is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lapping.readings import ReadingSet
from lapping.removal.glance import Glance
from lapping.removal.heat import warmth_of
from lapping.removal.job import Job
from lapping.removal.learnt import Removal
from lapping.removal.rates import expected

STILL_SHARE, MOST_SETS = 0.5, 4
"""Readings count on while less than this share of their u came off since, so many sets
in all."""
LOOKS_BACK = 6
"""What more places showed longer ago has been lapped since."""


def sets_that_count(
    job: Job, glances: Sequence[Glance], known: Removal
) -> list[ReadingSet]:
    """Give the sets of the last look, and earlier ones that still say how it is.

    A few strokes take off less than a reading tells, and what they took was high: to
    let the readings before them count makes the face no better than it is.
    """
    last = glances[-1]
    sets = [s for s in last.look.sets if s.method != "square"]
    for one in reversed(glances[:-1]):
        runs = job.runs_between(one.look.number, last.look.number)
        more = [s for s in one.look.sets if s.method != "square"]
        if not runs or len(sets) + len(more) > MOST_SETS:
            break
        off = expected(known.held, runs, known.prior)
        dose = float(np.exp(known.held.weight @ off.mean))
        warm = warmth_of(job, one.look) is not None
        if warm or dose > STILL_SHARE * float(np.median(last.heights.u_um)):
            break
        sets = [*more, *sets]
    return sets


def most_places(glances: Sequence[Glance]) -> int:
    """Give at how many places the face was read, at the look that had most."""
    return max(len(one.heights) for one in glances[-LOOKS_BACK:])
