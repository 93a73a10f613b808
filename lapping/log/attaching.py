"""Give a face that was read before there was a plane to one, with all that was read."""

from __future__ import annotations

from dataclasses import replace as changed
from typing import TypeVar

from lapping.errors import BadInput
from lapping.history import Lap, LoggedSet, Photo, Strokes
from lapping.log.bench import notes_about
from lapping.log.entries import add, held, take_back
from lapping.log.opening import Log, writing
from lapping.log.planes import (
    FaceEntry,
    PlaneEntry,
    correct_face,
    entries_about,
    face_label,
    face_of,
    size_of,
)

OfAFace = TypeVar("OfAFace", Strokes, LoggedSet, Photo, Lap)


def attach(log: Log, face: FaceEntry, plane: PlaneEntry, name: str) -> FaceEntry:
    """Give a face that was read without a plane to one, with all that was read.

    A face of that name that was set up and not yet used gives way, and what was said
    of it (its mouth, target, zones) is kept for the one that comes in its place. One
    that was used takes over all that was done to this one and read on it.
    """
    if face.fact.plane is not None:
        message = f"{face_label(log, face)} belongs to a plane already"
        raise BadInput(message)
    with writing(log):
        there = face_of(log, plane.root, name)
        said = face.fact
        if there is not None:
            said = there.fact
            if size_of(there.fact) != size_of(face.fact):
                message = (
                    f"{face_label(log, there)} is {said.length_mm:g} × "
                    f"{said.width_mm:g} mm, and {face.fact.name} is not; correct one "
                    "of them first, or give another name"
                )
                raise BadInput(message)
            if entries_about(log, there):
                _hand_over(log, face, there)
                return there
            take_back(log, there.id)
        return correct_face(log, face, changed(said, plane=plane.root, name=name))


def _hand_over(log: Log, face: FaceEntry, there: FaceEntry) -> None:
    """Let all that belongs to a face belong to another, and take the first back."""
    _move(log, Strokes, face, there)
    _move(log, LoggedSet, face, there)
    _move(log, Photo, face, there)
    _move(log, Lap, face, there)
    for note in notes_about(log, face.root):
        add(log, changed(note.fact, about=there.root), replaces=note.id)
    take_back(log, face.id)


def _move(log: Log, kind: type[OfAFace], face: FaceEntry, there: FaceEntry) -> None:
    for one in held(log, kind, "face = ?", face.root):
        add(log, changed(one.fact, face=there.root), replaces=one.id)
