"""For the picture of a plan: what strokes took off the face before, if it has any."""

from __future__ import annotations

import os
from collections.abc import Sequence

from lapping.advice.case import glances_of
from lapping.cli.log_place import log_path
from lapping.from_log.bench_rates import from_other_faces
from lapping.from_log.job import job_of
from lapping.log.opening import open_log
from lapping.log.planes import find_face
from lapping.removal.learnt import assumed_rate, learn_removal
from lapping.removal.told import StageTold, stages_told


def seen_before(names: Sequence[str], log: str | None) -> tuple[StageTold, ...]:
    """Give what came off between the readings of the one face named; else nothing."""
    path = log_path(log)
    if len(names) != 1 or os.path.lexists(names[0]) or not os.path.exists(path):
        return ()
    with open_log(path, read_only=True) as opened:
        face = find_face(opened, names[0])
        if face is None:
            return ()
        job = job_of(opened, face)
        held = from_other_faces(opened, face)
    glances, _ = glances_of(job)
    return stages_told(learn_removal(job, glances, assumed_rate(job), held))
