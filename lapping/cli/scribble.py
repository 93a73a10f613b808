"""The command `scribble`: photos in, where the face bore out."""

from __future__ import annotations

import json
import shlex
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, cast, get_args

from lapping.cli.log_place import the_log
from lapping.cli.picture import refuse_early
from lapping.cli.readings_named import read_as_it_is, read_sets
from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import ToeInPhoto
from lapping.log.opening import Log
from lapping.log.photos import keep_photo, photos_of
from lapping.log.planes import FaceEntry, face_label, read_settings, the_face
from lapping.photo.corners import parse_corners
from lapping.photo.look import Look, look
from lapping.words.contact import Json, contact_json, contact_report

if TYPE_CHECKING:
    from lapping.answer import Answer


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What was said on the command line; sizes are length, width and mouth as typed."""

    before: Path | None
    sizes: tuple[str | None, str | None, str | None]
    face: str | None
    toe: str | None
    corners: str | None
    before_corners: str | None
    readings: tuple[str, ...]
    picture: Path | None
    as_json: bool
    log: str | None


def look_at(after: Path, asked: Asked) -> str:
    """Answer for one photo, or a pair; keep them if a face in the log is named."""
    refuse_early(asked.picture)
    then = None
    with face_asked(asked) as (face, log, entry):
        seen = look_asked(after, asked, face)
        found = None
        if asked.readings:
            found = _readings(asked)
            seen = _compared(seen, found)
        elif asked.picture is not None and log is not None and entry is not None:
            found = read_as_it_is(log, entry)
        if asked.picture is not None:
            from lapping.pictures.contact import save_contact

            save_contact(seen, asked.picture, found)
        if log is not None and entry is not None:
            kept = _keep(log, entry, after, asked)
            print(kept, file=sys.stderr)
            named = shlex.quote(face_label(log, entry))
            then = f"lapping advice {named} weighs it with the readings."
    if asked.as_json:
        return json.dumps(json_of(seen), ensure_ascii=False, indent=1, allow_nan=False)
    photos = [after.name] if asked.before is None else [after.name, asked.before.name]
    return contact_report(seen.contact, photos, then=then)


@contextmanager
def face_asked(asked: Asked) -> Iterator[tuple[Face, Log | None, FaceEntry | None]]:
    """Give the face from its sizes, or from the log, which stays open meanwhile."""
    length, width, mouth = asked.sizes
    if asked.face is not None:
        if any(asked.sizes):
            message = (
                "the log knows the sizes of the face; leave them out, or leave --face"
            )
            raise BadInput(message)
        with the_log(asked.log) as log:
            entry = the_face(log, asked.face)
            yield read_settings(entry.fact.settings), log, entry
        return
    if length is None or width is None:
        message = (
            "say how large the face is, as --length 250mm --width 60mm, or which face "
            "of the log it is, as --face Bramble/sole"
        )
        raise BadInput(message)
    said = {"face": "sole", "length": length, "width": width}
    settings = said if mouth is None else said | {"mouth": mouth}
    yield read_settings(tuple(settings.items())), None, None


def look_asked(after: Path, asked: Asked, face: Face) -> Look:
    """Look at one photo as it was asked to be."""
    toe = None if asked.toe is None else _toe(asked.toe)
    corners = [
        None if text is None else parse_corners(text)
        for text in (asked.corners, asked.before_corners)
    ]
    return look(
        after,
        face,
        before=asked.before,
        corners_px=corners[0],
        before_corners_px=corners[1],
        toe=toe,
    )


def _readings(asked: Asked) -> Answer:
    from lapping.answer import Answer
    from lapping.from_files import check_sets

    found = check_sets(read_sets(list(asked.readings), None, asked.log))
    if not isinstance(found, Answer):
        message = "a square tells no heights: nothing to compare with the ink"
        raise BadInput(message)
    return found


def _compared(seen: Look, found: Answer) -> Look:
    """Add to the warnings where the gauge and the ink do not agree."""
    from lapping.cross_check.flips import cross_check
    from lapping.words.cross_check import cross_words

    checked = cross_check(found, seen.contact)
    said = cross_words(found.face, checked, found.shown_in)
    warnings = (*seen.contact.warnings, *said)
    return replace(seen, contact=replace(seen.contact, warnings=warnings))


def _keep(log: Log, entry: FaceEntry, after: Path, asked: Asked) -> str:
    before = None
    toe = None if asked.toe is None else _toe(asked.toe)
    already = {photo.root for photo in photos_of(log, entry)}
    if asked.before is not None:
        before = keep_photo(
            log,
            entry,
            asked.before,
            shows="before",
            corners=asked.before_corners,
            toe=toe,
        )
    kept = keep_photo(
        log, entry, after, shows="after", before=before, corners=asked.corners, toe=toe
    )
    again = " already" if kept.root in already else ""
    said = f"{kept.id}  {face_label(log, entry)}: photo kept{again}"
    return said if before is None else f"{said}, the one from before as {before.id}"


def _toe(text: str) -> ToeInPhoto:
    for way in get_args(ToeInPhoto):
        if way == text:
            return cast("ToeInPhoto", way)
    ways = ", ".join(get_args(ToeInPhoto))
    message = f"--toe {text}: say where the toe lies in the photo: {ways}"
    raise BadInput(message)


def json_of(seen: Look) -> Json:
    """Give the answer for another program."""
    after = seen.after
    return contact_json(seen.contact, after.corners_px, after.how, after.sure)
