"""From a face in the log, its photos and the other faces to advice."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from lapping.advice.case import Case, look_at
from lapping.contact_map import ContactMap
from lapping.errors import BadInput
from lapping.from_log.bench_rates import from_other_faces
from lapping.from_log.job import job_of
from lapping.log.opening import Log
from lapping.log.photos import photos_of
from lapping.log.planes import FaceEntry
from lapping.removal.job import Job
from lapping.units import HeightUnit

if TYPE_CHECKING:
    from lapping.from_log.photos import Looker


def case_of(
    log: Log,
    chosen: FaceEntry,
    *,
    look: Looker | None = None,
    unit: HeightUnit | None = None,
) -> Case:
    """Give a face as it is known now; BadInput for a lap.

    ``look`` may remember photos. ``unit`` is that of sentences; otherwise that of the
    readings.
    """
    job = job_of(log, chosen)
    if unit is not None:
        job = job.said_in(unit)
    if job.face.kind == "lap":
        message = (
            f"{job.label} is a lap, and nobody laps a lap; 'lapping check' says "
            "what it is good for"
        )
        raise BadInput(message)
    contacts, scratched, refused = seen_in_photos(log, chosen, job, look)
    return look_at(
        replace(job, warnings=(*job.warnings, *refused)),
        contacts=contacts,
        scratched=scratched,
        held=from_other_faces(log, chosen),
    )


def seen_in_photos(
    log: Log, chosen: FaceEntry, job: Job, look: Looker | None = None
) -> tuple[dict[int, ContactMap], dict[int, bool], list[str]]:
    """Look at the newest photos that are kept of the face, if there are any."""
    if not photos_of(log, chosen):
        return {}, {}, []
    # Looking at photos loads what most faces never need.
    from lapping.from_log.photos import contacts_of, scratches_of

    contacts, refused = contacts_of(log, chosen, job.face, look=look)
    scratched, others = scratches_of(log, chosen)
    return contacts, scratched, [*refused, *others]
