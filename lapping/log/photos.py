"""Photos beside the log, each once, under the hash of its content."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from lapping.errors import BadInput, LogRefused
from lapping.history import Entry, Photo
from lapping.log.entries import add, held
from lapping.log.opening import Log, writing
from lapping.log.planes import FaceEntry

MOST_BYTES = 100_000_000
ENDINGS = (".jpg", ".jpeg", ".png")


def photo_folder(log_path: Path) -> Path:
    """Give the folder of a log's photos."""
    return log_path.with_name(f"{log_path.name}.photos")


def photo_path(folder: Path, photo: Photo) -> Path:
    """Give where a photo lies in such a folder."""
    return folder / f"{photo.sha256}{photo.ending}"


def keep_photo(
    log: Log, face: FaceEntry, path: Path, *, note: str | None = None
) -> Entry[Photo]:
    """Copy a photo beside the log and say which face it shows."""
    ending = path.suffix.lower()
    if ending not in ENDINGS:
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
    photo = Photo(
        face=face.root,
        sha256=hashlib.sha256(content).hexdigest(),
        ending=ending,
        size=len(content),
        note=note,
    )
    # The file first: an entry must never lead to a photo that is not there.
    store(photo_folder(log.path), photo, content)
    with writing(log):
        return add(log, photo)


def photos_of(log: Log, face: FaceEntry) -> list[Entry[Photo]]:
    """Give the photos of a face in the order they were kept."""
    return held(log, Photo, "face = ?", face.root)


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
