"""Photos beside the log, each once, under the hash of its content."""

from __future__ import annotations

import dataclasses
import hashlib
import os
from pathlib import Path

from lapping.errors import BadInput, LogRefused
from lapping.history import Entry, Photo, Shows, ToeInPhoto
from lapping.log.entries import add, held, now_holding, replace
from lapping.log.opening import Log, writing
from lapping.log.planes import FaceEntry

MOST_BYTES = 100_000_000
ENDINGS = (".jpg", ".jpeg", ".png")
_SAID = ("note", "before", "corners", "toe", "previous_direction", "this_direction")


def photo_folder(log_path: Path) -> Path:
    """Give the folder of a log's photos."""
    return log_path.with_name(f"{log_path.name}.photos")


def photo_path(folder: Path, photo: Photo) -> Path:
    """Give where a photo lies in such a folder."""
    return folder / f"{photo.sha256}{photo.ending}"


def keep_photo(
    log: Log,
    face: FaceEntry,
    path: Path,
    *,
    shows: Shows | None = None,
    before: Entry[Photo] | None = None,
    corners: str | None = None,
    toe: ToeInPhoto | None = None,
    previous_direction: str | None = None,
    this_direction: str | None = None,
    note: str | None = None,
) -> Entry[Photo]:
    """Copy a photo beside the log and say which face it shows, and what of it.

    The file is taken as it is: whoever calls has seen that it is a picture. One that
    is kept already as showing the same gives its entry, corrected by what is said now:
    the same look told twice would be two looks.
    """
    if before is not None and (before.fact.face, before.fact.shows) != (
        face.root,
        "before",
    ):
        message = f"entry {before.id} is no photo of this face from before strokes"
        raise BadInput(message)
    content = _content(path)
    photo = Photo(
        face=face.root,
        sha256=hashlib.sha256(content).hexdigest(),
        ending=path.suffix.lower(),
        size=len(content),
        note=note,
        shows=shows,
        before=None if before is None else before.root,
        corners=corners,
        toe=toe,
        previous_direction=previous_direction,
        this_direction=this_direction,
    )
    # The file first: an entry must never lead to a photo that is not there.
    store(photo_folder(log.path), photo, content)
    earlier = _kept_already(log, face, photo)
    if earlier is None:
        with writing(log):
            return add(log, photo)
    said = {
        name: getattr(photo, name) for name in _SAID if getattr(photo, name) is not None
    }
    corrected = dataclasses.replace(earlier.fact, **said)
    if corrected == earlier.fact:
        return earlier
    return replace(log, earlier.id, corrected)


def _kept_already(log: Log, face: FaceEntry, photo: Photo) -> Entry[Photo] | None:
    if photo.shows is None:
        return None
    same = [
        p for p in photos_of(log, face, photo.shows) if p.fact.sha256 == photo.sha256
    ]
    return same[-1] if same else None


def photos_of(
    log: Log, face: FaceEntry, shows: Shows | None = None
) -> list[Entry[Photo]]:
    """Give the photos of a face in the order they were kept, or those of one kind."""
    if shows is None:
        return held(log, Photo, "face = ?", face.root)
    return held(log, Photo, "face = ? AND shows = ?", face.root, shows)


def photo_before(log: Log, entry: Entry[Photo]) -> Entry[Photo] | None:
    """Give the photo from before the strokes; None if there is none or no longer."""
    before = entry.fact.before
    return None if before is None else now_holding(log, Photo, before)


def kept_at(log: Log, entry: Entry[Photo]) -> Path:
    """Give the photo's file, or refuse if it is gone or not what was kept."""
    path = photo_path(photo_folder(log.path), entry.fact)
    if not is_whole(path, entry.fact):
        message = f"{path}: this photo is missing or damaged; take it from a backup"
        raise LogRefused(message)
    return path


def _content(path: Path) -> bytes:
    if path.suffix.lower() not in ENDINGS:
        message = f"{path}: a photo must end in {', '.join(ENDINGS)}"
        raise BadInput(message)
    try:
        if path.stat().st_size > MOST_BYTES:
            message = f"{path}: over {MOST_BYTES // 1_000_000} MB is too large"
            raise BadInput(message)
        content = path.read_bytes()
    except OSError as problem:
        message = f"{path}: the photo cannot be read ({problem.strerror})"
        raise BadInput(message) from problem
    if not content:
        message = f"{path}: the photo is empty"
        raise BadInput(message)
    return content


def store(folder: Path, photo: Photo, content: bytes) -> None:
    """Write a photo whole and to the disk; one that is there already is left."""
    target = photo_path(folder, photo)
    part = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        folder.mkdir(exist_ok=True)
        if target.exists() and is_whole(target, photo):
            return
        try:
            with part.open("wb") as opened:
                opened.write(content)
                opened.flush()
                os.fsync(opened.fileno())
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)
    except OSError as problem:
        message = f"{target}: the photo cannot be kept ({problem.strerror})"
        raise LogRefused(message) from problem


def is_whole(path: Path, photo: Photo) -> bool:
    """Say whether the file has the content that the photo was kept for."""
    if not path.is_file() or path.stat().st_size != photo.size:
        return False
    return hashlib.sha256(path.read_bytes()).hexdigest() == photo.sha256
