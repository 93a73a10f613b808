"""The command `scribble` for a folder: one line for each photo in it."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

from lapping.cli.scribble import Asked, face_asked, json_of, look_asked
from lapping.errors import BadInput
from lapping.face import Face
from lapping.log.photos import ENDINGS
from lapping.words.contact import Json, contact_line

BEFORE, AFTER = "before", "after"
"""In a folder, NAME_before.jpg is from before the strokes of NAME.jpg, which may be
called NAME_after.jpg as well."""

HEAD_BYTES = 400
"""Matplotlib writes its name into a PNG before the pixels (tEXt of the PNG standard,
keyword Software); no phone does."""


def look_through(folder: Path, asked: Asked) -> None:
    """Answer for every photo in a folder, a few at a time; nothing is kept.

    BadInput where no photo could be answered for; those refused beside others are
    said on stderr.
    """
    if asked.before or asked.corners or asked.before_corners or asked.picture:
        message = (
            f"{folder} is a folder: its photos are taken one by one, each with "
            f"NAME_{BEFORE} as its photo from before; leave out --before, --corners "
            "and --picture"
        )
        raise BadInput(message)
    if asked.readings:
        message = (
            f"{folder} is a folder: compare readings with one photo, the one from the "
            "strokes before they were taken"
        )
        raise BadInput(message)
    pairs = list(_pairs(folder))
    if not pairs:
        message = f"{folder}: no photo in it; photos end in {', '.join(ENDINGS)}"
        raise BadInput(message)
    with face_asked(asked) as (face, _, _):
        pass
    answers: list[Json] = []
    refused: list[str] = []
    with ProcessPoolExecutor() as pool:
        runs = [
            pool.submit(_one, after, replace(asked, before=b), face)
            for after, b in pairs
        ]
        for number, (run, (after, _)) in enumerate(zip(runs, pairs, strict=True), 1):
            _show_progress(number - 1, len(pairs), after.name)
            line, found = run.result()
            answers.append(found)
            refused += found.get("refused", ())
            _show_progress(None, 0, "")
            if line is not None and not asked.as_json:
                print(line, flush=True)
    answered = sum("refused" not in one for one in answers)
    if not answered:
        raise BadInput(refused)
    for sentence in refused:
        print(sentence, file=sys.stderr)
    if refused:
        print(f"{answered} of {len(pairs)} photos answered for", file=sys.stderr)
    if asked.face is not None:
        print("of a folder no photo is kept; give them one by one", file=sys.stderr)
    if asked.as_json:
        print(json.dumps(answers, ensure_ascii=False, indent=1, allow_nan=False))


def _one(after: Path, asked: Asked, face: Face) -> tuple[str | None, Json]:
    """Give the line to print and the answer, or None and why there is none."""
    try:
        seen = look_asked(after, asked, face)
    except BadInput as bad:
        return None, {"file": after.name, "refused": list(bad.mistakes)}
    return f"{after.name}: {contact_line(seen.contact)}", {
        "file": after.name
    } | json_of(seen)


def _pairs(folder: Path) -> Iterator[tuple[Path, Path | None]]:
    photos = sorted(
        p for p in folder.iterdir() if p.suffix.lower() in ENDINGS and p.is_file()
    )
    names = {p.stem: p for p in photos}
    for photo in photos:
        if not photo.stem.endswith(f"_{BEFORE}") and not _drawn(photo):
            name = photo.stem.removesuffix(f"_{AFTER}")
            yield photo, names.get(f"{name}_{BEFORE}")


def _drawn(path: Path) -> bool:
    """Say whether this is a picture that --picture drew, and no photo."""
    try:
        with path.open("rb") as opened:
            return b"Software\x00Matplotlib" in opened.read(HEAD_BYTES)
    except OSError:
        return False  # whoever reads it as a photo says why it cannot be


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
