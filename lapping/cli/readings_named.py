"""Readings by name: files, or faces of which the log holds readings."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from lapping.cli.log_place import log_path, the_log
from lapping.errors import BadInput, LappingError
from lapping.from_files import read_files
from lapping.from_log.readings import readings_now
from lapping.log.look_back import newest_sets, runs_since
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, find_face, the_face
from lapping.readings import ReadingSet

if TYPE_CHECKING:
    from lapping.answer import Answer


def read_sets(
    names: Sequence[str], units: str | None, log: str | None
) -> list[ReadingSet]:
    """Read every file, and of every face in the log what shows it as it is now.

    What is there as a file is that file, whatever the log has of the same name.
    """
    faces = [name for name in names if not os.path.lexists(name)]
    if not faces or not os.path.exists(log_path(log)):
        return read_files(names, units)
    found: dict[str, list[ReadingSet]] = {}
    roots: list[int] = []
    with the_log(log, read_only=True) as opened:
        for name in faces:
            if find_face(opened, name) is None and "." in os.path.basename(name):
                continue  # a mistyped file; the sentence about it comes below
            face = the_face(opened, name)
            if face.root in roots:
                message = f"{name}: given twice; one reading told twice is no repeat."
                raise BadInput(message)
            roots.append(face.root)
            found[name] = readings_now(opened, face)
    files = [name for name in names if name not in found]
    read = dict(zip(files, read_files(files, units), strict=True)) if files else {}
    _refuse_told_twice(read, found)
    return [one for name in names for one in found.get(name) or [read[name]]]


def _refuse_told_twice(
    files: Mapping[str, ReadingSet], faces: Mapping[str, Sequence[ReadingSet]]
) -> None:
    """Refuse a file whose readings a face named beside it already holds."""
    for name, one in files.items():
        for face, sets in faces.items():
            if any((s.method, s.readings) == (one.method, one.readings) for s in sets):
                message = (
                    f"{name}: {face} in the log holds these very readings, and one "
                    f"reading told twice is no repeat; give {face} alone"
                )
                raise BadInput(message)


def read_as_it_is(log: Log, face: FaceEntry) -> Answer | None:
    """Answer for what was read of a face since its last strokes; None if not enough."""
    from lapping.answer import Answer
    from lapping.from_files import check_sets

    try:
        newest = newest_sets(log, face)
        if runs_since(log, face, newest):
            return None
        found = check_sets(readings_now(log, face))
    except LappingError:
        return None
    return found if isinstance(found, Answer) else None
