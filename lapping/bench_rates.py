"""What the other faces in a log tell of the rates at this bench."""

from __future__ import annotations

from dataclasses import replace

from lapping.case import glances_of
from lapping.history import Strokes
from lapping.job import Job
from lapping.job_from_log import job_of
from lapping.log.entries import held
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, faces
from lapping.rates import Beliefs, on_another_lap
from lapping.removal import assumed_rate, learn_removal

MOST_FACES, MOST_LOOKS = 3, 5
"""So many faces that were lapped last, and so many looks of each: the newest say most,
and each costs some hundredths of a second."""


def from_other_faces(log: Log, face: FaceEntry) -> Beliefs | None:
    """Learn the rates from other faces lapped before; None where there are none."""
    lapped = dict.fromkeys(one.fact.face for one in held(log, Strokes))
    others = {one.root: one for one in faces(log) if one.root != face.root}
    found: Beliefs | None = None
    for root in [root for root in lapped if root in others][-MOST_FACES:]:
        job = _newest(job_of(log, others[root]))
        glances, _ = glances_of(job)
        known = learn_removal(job, glances, assumed_rate(job), found)
        if known.held.learnt:
            found = on_another_lap(known.held)
    return found


def _newest(job: Job) -> Job:
    return replace(job, looks=job.looks[-MOST_LOOKS:])
