"""The command `scribble`: photos in, where the face bore out."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, cast, get_args

from lapping.cli.log_place import the_log
from lapping.cli.picture import refuse_early
from lapping.cli.readings_named import read_as_it_is, read_sets
from lapping.contact_words import Json, contact_json, contact_report
from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import ToeInPhoto
from lapping.log.opening import Log
from lapping.log.photos import ENDINGS, keep_photo
from lapping.log.planes import FaceEntry, face_label, read_settings, the_face
from lapping.photo.corners import parse_corners
from lapping.photo.look import Look, look

if TYPE_CHECKING:
    from lapping.answer import Answer

BEFORE, AFTER = "before", "after"
"""In a folder, NAME_before.jpg is from before the strokes of NAME.jpg, which may be
called NAME_after.jpg as well."""


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
    with _the_face(asked) as (face, log, entry):
        seen = _look(after, asked, face)
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
    if asked.as_json:
        return json.dumps(_json(seen), ensure_ascii=False, indent=1, allow_nan=False)
    photos = [after.name] if asked.before is None else [after.name, asked.before.name]
    return contact_report(seen.contact, photos)


def look_through(folder: Path, asked: Asked) -> None:
    """Answer for every photo in a folder, a few at a time; nothing is kept."""
    if asked.before or asked.corners or asked.before_corners or asked.picture:
        message = (
            f"{folder} is a folder: its photos are taken one by one, each with "
            f"NAME_{BEFORE} as its photo from before; leave out --before, --corners "
            "and --picture"
        )
        raise BadInput(message)
    pairs = list(_pairs(folder))
    if not pairs:
        message = f"{folder}: no photo in it; photos end in {', '.join(ENDINGS)}"
        raise BadInput(message)
    with _the_face(asked) as (face, _, _):
        pass
    answers: list[Json] = []
    with ProcessPoolExecutor() as pool:
        runs = [
            pool.submit(_one, after, replace(asked, before=b), face)
            for after, b in pairs
        ]
        for number, (run, (after, _)) in enumerate(zip(runs, pairs, strict=True), 1):
            _show_progress(number - 1, len(pairs), after.name)
            line, found = run.result()
            answers.append(found)
            _show_progress(None, 0, "")
            if not asked.as_json:
                print(line, flush=True)
    if asked.as_json:
        print(json.dumps(answers, ensure_ascii=False, indent=1, allow_nan=False))


def _one(after: Path, asked: Asked, face: Face) -> tuple[str, Json]:
    try:
        seen = _look(after, asked, face)
    except BadInput as bad:
        return f"{after.name}: {bad.mistakes[0]}", {
            "file": after.name,
            "refused": list(bad.mistakes),
        }
    share = seen.contact.contact_percent
    said = "cannot tell" if share is None else f"{share:.0f} % bears"
    unseen = f"{seen.contact.unknown_percent:.0f} % not seen"
    return f"{after.name}: {said}, {unseen}", {"file": after.name} | _json(seen)


def _pairs(folder: Path) -> Iterator[tuple[Path, Path | None]]:
    photos = sorted(p for p in folder.iterdir() if p.suffix.lower() in ENDINGS)
    names = {p.stem: p for p in photos}
    for photo in photos:
        if not photo.stem.endswith(f"_{BEFORE}"):
            name = photo.stem.removesuffix(f"_{AFTER}")
            yield photo, names.get(f"{name}_{BEFORE}")


def _show_progress(done: int | None, of: int, name: str) -> None:
    """Draw a bar where a person watches, and wipe it before a line is printed."""
    if not sys.stderr.isatty():
        return
    if done is None:
        print("\r\033[K", end="", file=sys.stderr)
        return
    filled = round(24 * done / of)
    bar = "#" * filled + "." * (24 - filled)
    print(f"\r{bar} {done} of {of}  {name}\033[K", end="", file=sys.stderr, flush=True)


@contextmanager
def _the_face(asked: Asked) -> Iterator[tuple[Face, Log | None, FaceEntry | None]]:
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


def _look(after: Path, asked: Asked, face: Face) -> Look:
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
    from lapping.cross_check import cross_check
    from lapping.cross_words import cross_words

    said = cross_words(found.face, cross_check(found, seen.contact))
    warnings = (*seen.contact.warnings, *said)
    return replace(seen, contact=replace(seen.contact, warnings=warnings))


def _keep(log: Log, entry: FaceEntry, after: Path, asked: Asked) -> str:
    before = None
    toe = None if asked.toe is None else _toe(asked.toe)
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
    with_before = "" if before is None else f" with {before.id} from before"
    return f"{kept.id}  {face_label(log, entry)}: photo kept{with_before}"


def _toe(text: str) -> ToeInPhoto:
    for way in get_args(ToeInPhoto):
        if way == text:
            return cast("ToeInPhoto", way)
    ways = ", ".join(get_args(ToeInPhoto))
    message = f"--toe {text}: say where the toe lies in the photo: {ways}"
    raise BadInput(message)


def _json(seen: Look) -> Json:
    after = seen.after
    return contact_json(seen.contact, after.corners_px, after.how, after.sure)
