"""Planes and their faces in the log, found by name; a face is named PLANE/sole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace as changed
from typing import TYPE_CHECKING

from lapping.errors import BadInput
from lapping.kept import Entry, Plane, PlaneFace, Settings
from lapping.log.entries import add, held, now_holding
from lapping.log.opening import Log, writing

if TYPE_CHECKING:
    from lapping.face import Face

FACE_KEYS = ("face", "length", "width", "mouth", "holes", "left_edge", "metal")
PlaneEntry = Entry[Plane]
FaceEntry = Entry[PlaneFace]


def planes(log: Log) -> list[PlaneEntry]:
    """Give all planes that hold now."""
    return held(log, Plane)


def find_plane(log: Log, name: str) -> PlaneEntry | None:
    """Give the plane of this name, or None."""
    return next(iter(held(log, Plane, "name = ?", name)), None)


def the_plane(log: Log, name: str) -> PlaneEntry:
    """Give the plane of this name, or refuse with the names that are there."""
    found = find_plane(log, name)
    if found is None:
        known = [one.fact.name for one in planes(log)]
        raise BadInput(not_there("plane", name, known))
    return found


def add_plane(log: Log, plane: Plane) -> PlaneEntry:
    """Add a plane; its name must be free."""
    with writing(log):
        _name_is_free(log, plane.name)
        return add(log, plane)


def correct_plane(log: Log, entry: PlaneEntry, plane: Plane) -> PlaneEntry:
    """Replace what is said of a plane; a new name must be free."""
    with writing(log):
        if plane.name != entry.fact.name:
            _name_is_free(log, plane.name)
        return add(log, plane, replaces=entry.id)


def faces(log: Log, plane: PlaneEntry | None = None) -> list[FaceEntry]:
    """Give the faces of a plane, or all of them."""
    if plane is None:
        return held(log, PlaneFace)
    return held(log, PlaneFace, "plane = ?", plane.root)


def find_face(log: Log, name: str) -> FaceEntry | None:
    """Give the face named PLANE/sole, or the one without a plane of that name.

    A plane's name alone means its only face, or its sole.
    """
    # The name of a plane may have a '/' in it, that of a face has none.
    plane_name, slash, face_name = name.rpartition("/")
    if not slash:
        return face_of(log, None, name) or _main_face(log, name)
    plane = find_plane(log, plane_name)
    if plane is None:
        return None
    return face_of(log, plane.root, face_name)


def _main_face(log: Log, plane_name: str) -> FaceEntry | None:
    plane = find_plane(log, plane_name)
    if plane is None:
        return None
    its = faces(log, plane)
    return its[0] if len(its) == 1 else face_of(log, plane.root, "sole")


def faces_of_size(log: Log, face: Face) -> list[FaceEntry]:
    """Give the faces of planes that have this kind, length and width."""
    size = (face.kind, face.length_mm, face.width_mm)
    return [
        one
        for one in faces(log)
        if one.fact.plane is not None and size == size_of(one.fact)
    ]


def size_of(face: PlaneFace) -> tuple[str, float, float]:
    """Give a face's kind, length and width, by which another is taken for it."""
    kind = dict(face.settings).get("face", "sole")
    return kind.strip().lower(), face.length_mm, face.width_mm


def the_face(log: Log, name: str) -> FaceEntry:
    """Give the face of this name, or refuse with the names that are there."""
    found = find_face(log, name)
    if found is not None:
        return found
    plane = None if "/" in name else find_plane(log, name)
    known = [face_label(log, one) for one in faces(log, plane)]
    if plane is not None and known:
        message = f"say which face of {name}: {', '.join(sorted(known))}"
        raise BadInput(message)
    raise BadInput(not_there("face", name, known))


def entries_about(log: Log, face: FaceEntry) -> int:
    """Count the strokes, sets and photos of a face that hold now."""
    tables = ("strokes", "reading_set", "photo")
    return sum(
        log.db.execute(
            f"SELECT count(*) FROM {table} WHERE face = ? AND NOT EXISTS "
            f"(SELECT 1 FROM entry WHERE replaces = {table}.id)",
            (face.root,),
        ).fetchone()[0]
        for table in tables
    )


def face_label(log: Log, face: FaceEntry) -> str:
    """Give the name that finds the face again: PLANE/sole."""
    if face.fact.plane is None:
        return face.fact.name
    plane = now_holding(log, Plane, face.fact.plane)
    # A plane taken back leaves its faces and their readings where they were.
    return f"{plane.fact.name}/{face.fact.name}" if plane else face.fact.name


def add_face(log: Log, face: PlaneFace, plane: PlaneEntry | None = None) -> FaceEntry:
    """Add a face to a plane, or one without a plane yet; its name must be free."""
    with writing(log):
        root = None if plane is None else plane.root
        _face_is_free(log, root, face.name)
        return add(log, changed(face, plane=root))


def correct_face(log: Log, entry: FaceEntry, face: PlaneFace) -> FaceEntry:
    """Replace what is said of a face; its sets stay its own."""
    with writing(log):
        if (face.plane, face.name) != (entry.fact.plane, entry.fact.name):
            _face_is_free(log, face.plane, face.name)
        return add(log, face, replaces=entry.id)


def face_without_a_plane(log: Log, settings: Settings) -> FaceEntry:
    """Give the face of this outline that belongs to no plane yet, added if new."""
    face = read_settings(settings)
    name = f"{face.kind}-{face.length_mm:g}x{face.width_mm:g}mm"
    with writing(log):
        known = face_of(log, None, name)
        return known or add(log, make_face(name, settings))


def make_face(
    name: str,
    settings: Settings,
    *,
    target: str | None = None,
    target_reason: str | None = None,
    zones: tuple[str, ...] = (),
) -> PlaneFace:
    """Make the record of a face from header lines, refusing what cannot be one."""
    face = read_settings(settings)
    known = [zone.name for zone in face.zones()]
    for zone in zones:
        if zone not in known:
            raise BadInput(not_there("zone", zone, known))
    return PlaneFace(
        name=name,
        settings=settings,
        length_mm=face.length_mm,
        width_mm=face.width_mm,
        target=target,
        target_reason=target_reason,
        zones=zones,
    )


def read_settings(settings: Settings) -> Face:
    """Draw the face that header lines describe, or refuse them."""
    # Readers take time to load, and to record strokes nothing is read.
    from fractions import Fraction

    from lapping.readings_file.face_headers import read_face
    from lapping.readings_file.header_lines import HeaderLines
    from lapping.readings_file.text import HeaderLine, Mistakes, Sheet
    from lapping.units import UM_PER_MM

    mistakes = Mistakes("the face")
    sheet = Sheet(
        headers=tuple(
            HeaderLine(key, value, line)
            for line, (key, value) in enumerate(settings, start=1)
        ),
        head=None,
        rows=(),
        late=(),
        delimiter=",",
    )
    lines = HeaderLines(sheet, FACE_KEYS, mistakes)
    face = read_face(lines, Fraction(UM_PER_MM))
    if mistakes.found or face is None:
        # There is no file and no line to look at; what is wrong says its own name.
        raise BadInput(text.partition(": ")[2] for _, text in sorted(mistakes.found))
    return face


def face_of(log: Log, plane: int | None, name: str) -> FaceEntry | None:
    """Give the face of this name and no other, of a plane or of none."""
    return next(
        iter(held(log, PlaneFace, "plane IS ? AND name = ?", plane, name)), None
    )


def _face_is_free(log: Log, plane: int | None, name: str) -> None:
    if face_of(log, plane, name) is not None:
        message = f"there is a face '{name}' already; give this one another name"
        raise BadInput(message)


def _name_is_free(log: Log, name: str) -> None:
    if find_plane(log, name) is not None:
        message = f"there is a plane '{name}' already; give this one another name"
        raise BadInput(message)


def not_there(what: str, name: str, known: Sequence[str]) -> str:
    """Say that a name is not there, and which one may have been meant."""
    import difflib

    near = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    if near:
        return f"there is no {what} '{name}'; did you mean '{near[0]}'?"
    if known:
        return f"there is no {what} '{name}'; there is {', '.join(sorted(known)[:10])}"
    return f"there is no {what} '{name}', and no other yet"
