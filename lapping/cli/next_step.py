"""The next step in short, at the end of a set of readings."""

from __future__ import annotations

import shlex

from lapping.cli.asking import Bench
from lapping.errors import LappingError
from lapping.log.opening import Log
from lapping.log.planes import the_face


def tell_what_is_next(log: Log, at: Bench, label: str, where: str) -> None:
    """Say what a finished set leads to, and what says more about it."""
    step = _step(log, label)
    if step is not None:
        at.say(step)
    at.say("What they say:")
    named = f"{shlex.quote(label)}{where}"
    print(f"  lapping check {named}")
    if step is not None:
        print(f"  lapping advice {named}")


def _step(log: Log, label: str) -> str | None:
    """Give what to do next with a face in a sentence or two, None for a lap."""
    from lapping.advice.table import advise
    from lapping.from_log.bench_rates import from_other_faces
    from lapping.from_log.job import job_of
    from lapping.words.advice import advice_line

    try:
        face = the_face(log, label)
        job = job_of(log, face)
        if job.face.kind == "lap":
            return None  # nobody laps a lap
        return advice_line(advise(job, held=from_other_faces(log, face)))
    except LappingError as trouble:
        # The readings are kept, and that is what was asked for.
        return f"No advice: {trouble}"
