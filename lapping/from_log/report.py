"""From the log to the report on a face, as one page of HTML."""

from __future__ import annotations

from collections.abc import Iterator

from lapping.advice.case import look_at
from lapping.advice.table import advise_on
from lapping.answer import Answer
from lapping.contact_map import ContactMap
from lapping.errors import TooFewReadings
from lapping.from_log.bench_rates import from_other_faces
from lapping.from_log.job import job_of
from lapping.html.lengths import Units
from lapping.html.report_page import Told, report_page
from lapping.log.opening import Log
from lapping.log.photos import kept_at, photo_before, photos_of
from lapping.log.planes import FaceEntry
from lapping.progress import progress_of
from lapping.removal.job import Job
from lapping.units import height_unit


def report_html(log: Log, face: FaceEntry, *, units: Units = "um") -> str:
    """Give the report on a face that was read, lengths in these units first.

    The page stands by itself: style, figures and photos are in it, and nothing is
    fetched. TooFewReadings where nothing was read that shows heights, LogRefused where
    a photo that belongs in it is missing from beside the log.
    """
    job = job_of(log, face).said_in(height_unit(units))
    if not job.looks:
        message = (
            f"{job.label}: no heights were read yet, so there is nothing to report; "
            f"'lapping read {job.label}' begins"
        )
        raise TooFewReadings(message)
    seen = _Photos(log, face, job)
    case = look_at(
        job,
        contacts=seen.contacts,
        scratched=seen.scratched,
        held=from_other_faces(log, face),
    )
    if case.answer is None:
        raise TooFewReadings("\n".join(case.warnings))
    return report_page(
        Told(
            case=case,
            answer=case.answer,
            progress=progress_of(case, seen.contacts),
            advice=None if job.face.kind == "lap" else advise_on(case),
            metal=None if face.fact.plane is None else job.metal.name,
            bears=tuple(seen.page(case.answer, case.glances[-1].look.number)),
            warnings=(*case.warnings, *seen.refused),
        ),
        units,
    )


class _Photos:
    """What the newest photos of a face show, looked at only where there are any."""

    def __init__(self, log: Log, face: FaceEntry, job: Job) -> None:
        self.job = job
        self.contacts: dict[int, ContactMap] = {}
        self.scratched: dict[int, bool] = {}
        self.refused: list[str] = []
        if not photos_of(log, face):
            return
        from lapping.from_log.photos import NEWEST, looks_of, scratches_of

        for photo in photos_of(log, face, "after")[-NEWEST:]:
            before = photo_before(log, photo)
            for one in (photo, *([] if before is None else [before])):
                # A report that leaves out what was kept would look whole.
                kept_at(log, one)
        self.looks, refused = looks_of(log, face, job.face)
        self.contacts = {number: seen.contact for number, seen in self.looks.items()}
        self.scratched, others = scratches_of(log, face)
        self.refused = [*refused, *others]

    def page(self, found: Answer, read: int) -> Iterator[str]:
        """Give the part of the page on the newest photo, if one shows anything.

        ``read`` is the number of the look that was answered for; its map stands beside
        the photo only if no strokes were made between the two.
        """
        if not self.contacts:
            return
        from lapping.html.bears import bears

        newest = max(self.looks)
        between = self.job.runs_between(min(newest, read), max(newest, read))
        yield from bears(self.looks[newest], None if between else found)
