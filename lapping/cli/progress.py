"""The command `progress`: how a face came along, on one screen."""

from __future__ import annotations

import json

from lapping.advice_from_log import seen_in_photos
from lapping.bench_rates import from_other_faces
from lapping.case import look_at
from lapping.cli.advice import asked_of
from lapping.job_from_log import job_of
from lapping.progress import progress_of
from lapping.progress_words import progress_to_json, progress_words


def show_progress(
    name: str | None, face: str | None, log: str | None, *, as_json: bool
) -> str:
    """Give the history of a face in the log, or in the log that a folder holds."""
    with asked_of(name, face, log) as (opened, chosen):
        held = from_other_faces(opened, chosen)
        job = job_of(opened, chosen)
        contacts, _, _ = seen_in_photos(opened, chosen, job)
        found = progress_of(look_at(job, contacts=contacts, held=held), contacts)
    if as_json:
        return json.dumps(
            progress_to_json(found), ensure_ascii=False, indent=1, allow_nan=False
        )
    return progress_words(found)
