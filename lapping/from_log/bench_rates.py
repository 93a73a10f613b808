"""What the other faces in a log tell of the rates at this bench."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.advice.case import glances_of
from lapping.advice.next_grit import sheet_rates
from lapping.from_log.job import job_of
from lapping.grits import Grit
from lapping.history import Strokes
from lapping.log.entries import held
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, faces
from lapping.removal.job import Job
from lapping.removal.learnt import assumed_rate, learn_removal
from lapping.removal.next_run import next_run_of
from lapping.removal.rates import Beliefs, on_another_lap
from lapping.wear.rate_prior import Rate

MOST_FACES, MOST_LOOKS = 3, 5
"""So many faces that were lapped last, and so many looks of each: the newest say most,
and each costs some hundredths of a second."""


def from_other_faces(log: Log, face: FaceEntry | None) -> Beliefs | None:
    """Learn the rates from other faces lapped before; None where there are none.

    From all faces for one that is not in the log.
    """
    strokes = held(log, Strokes)
    last_first = dict.fromkeys(one.fact.face for one in reversed(strokes))
    own = None if face is None else face.root
    others = {one.root: one for one in faces(log) if one.root != own}
    found: Beliefs | None = None
    newest = [root for root in last_first if root in others][:MOST_FACES]
    for root in reversed(newest):
        job = job_of(log, others[root], newest=MOST_LOOKS, strokes=strokes)
        glances, _ = glances_of(job)
        known = learn_removal(job, glances, assumed_rate(job), found)
        if known.held.learnt:
            found = on_another_lap(known.held)
    return found


def rates_learnt(
    log: Log, entry: FaceEntry | None, stock: Job, papers: Sequence[Grit]
) -> dict[Grit, Rate] | None:
    """Give the rate of each paper as learnt at this bench; None where nothing was.

    ``stock`` stands for a face that is not in the log.
    """
    job = stock if entry is None else job_of(log, entry)
    glances, _ = glances_of(job)
    others = from_other_faces(log, entry)
    known = learn_removal(job, glances, assumed_rate(job), others)
    if not known.held.learnt:
        return None
    return sheet_rates(known, next_run_of(job), papers)
