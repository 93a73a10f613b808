"""The command `progress`: how a face came along, on one screen."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from pathlib import Path

from lapping.advice.case import Case, look_at
from lapping.cli.advice import asked_of
from lapping.cli.picture import refuse_early
from lapping.cli.screen import with_spark
from lapping.contact_map import ContactMap
from lapping.from_log.advice import seen_in_photos
from lapping.from_log.bench_rates import from_other_faces
from lapping.from_log.job import job_of
from lapping.progress import progress_of
from lapping.removal.rates import Beliefs
from lapping.words.progress import progress_to_json, progress_words


def show_progress(
    name: str | None,
    face: str | None,
    log: str | None,
    *,
    as_json: bool,
    picture: Path | None = None,
) -> str:
    """Give the history of a face in the log, or in the log that a folder holds."""
    refuse_early(picture)
    with asked_of(name, face, log) as (opened, chosen):
        held = from_other_faces(opened, chosen)
        job = job_of(opened, chosen)
        contacts, _, refused = seen_in_photos(opened, chosen, job)
    case = look_at(job, contacts=contacts, held=held)
    found = progress_of(case, contacts)
    if picture is not None:
        # What it does not show must be known.
        for sentence in refused:
            print(sentence, file=sys.stderr)
        draw(case, contacts, held, picture)
    if as_json:
        return json.dumps(
            progress_to_json(found), ensure_ascii=False, indent=1, allow_nan=False
        )
    return with_spark(progress_words(found), found)


def draw(
    case: Case,
    contacts: Mapping[int, ContactMap],
    held: Beliefs | None,
    picture: Path,
) -> None:
    """Draw the history with what was to be done at each look."""
    from lapping.advice.advised_then import advised_then
    from lapping.pictures.frame import save_figure
    from lapping.pictures.progress import progress

    advised = {}
    if case.job.face.kind != "lap":
        advised = advised_then(case.job, contacts=contacts, held=held)
    found = progress_of(case, contacts, advised)
    save_figure(progress(found, case.glances), picture)
