"""Set up a plane with few answers, list, show, correct: what was said, kept."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from lapping.errors import BadInput
from lapping.kept import Plane, PlaneFace, Settings
from lapping.log.opening import Log, writing
from lapping.log.planes import (
    PlaneEntry,
    add_face,
    add_plane,
    correct_face,
    correct_plane,
    entries_about,
    faces,
    find_face,
    find_plane,
    make_face,
    planes,
    the_plane,
)

SOLE_SIZES = ("length", "width")
ABOUT = (
    *("name", "kind", "metal", "bed_deg", "front_deg", "mouth_mm", "weight_g"),
    "note",
)
SIZES = ("length", "width", "mouth", "holes", "left_edge")
AIMS = ("target", "target_reason", "zones")
_WEIGHT = re.compile(r"(\d+(?:\.\d+)?)\s*(kg|g|lbs?)", re.IGNORECASE)
_GRAMS = {"kg": 1000.0, "g": 1.0, "lb": 453.59237, "lbs": 453.59237}
_DEGREES = re.compile(r"(\d+(?:\.\d+)?)\s*(?:°|deg(?:rees)?)?", re.IGNORECASE)


def list_planes(log: Log) -> Iterator[str]:
    """Give a line for every plane, and how to begin where there is none."""
    found = planes(log)
    for plane in found:
        yield f"{plane.fact.name}: {plane_words(plane.fact)}"
        yield from (f"  {line}" for line in _faces(log, plane))
    loose = [face for face in faces(log) if face.fact.plane is None]
    for face in loose:
        yield f"{face.fact.name}: no plane yet; 'lapping log attach' gives it one"
    if not found and not loose:
        yield (
            "No plane yet. Begin with three answers: lapping plane Bramble --length "
            "245mm --width 60mm"
        )


def show_plane(log: Log, name: str) -> Iterator[str]:
    """Give all that is said of a plane."""
    plane = the_plane(log, name)
    yield f"{name}: {plane_words(plane.fact)}"
    yield from (f"  {line}" for line in _faces(log, plane))
    if plane.fact.note:
        yield f"  {plane.fact.note}"


def set_up(
    log: Log,
    name: str,
    face_name: str,
    about: Sequence[str | None],
    sizes: Sequence[str | None],
    aims: Sequence[str | None],
) -> Iterator[str]:
    """Add a plane or a face, or correct what is said of one that is there.

    What is not said stays as it was; the first face of a plane needs two sizes. The
    three lists are what ABOUT, SIZES and AIMS name, None where nothing was said.
    """
    said = _plane_values(_said(ABOUT, about))
    settings, wanted = _said(SIZES, sizes), _wanted(_said(AIMS, aims))
    plane = find_plane(log, name)
    there = None if plane is None else find_face(log, f"{name}/{face_name}")
    kind = face_name if face_name in ("sole", "bed") else "side"
    face = None
    if plane is None or settings or wanted:
        face = _face(there.fact if there else None, face_name, kind, settings, wanted)
    with writing(log):
        if plane is None:
            plane = add_plane(log, Plane(**({"name": name} | said)))
        elif said:
            plane = correct_plane(log, plane, replace(plane.fact, **said))
        if face is not None and there is not None:
            correct_face(log, there, replace(face, plane=there.fact.plane))
        elif face is not None:
            add_face(log, face, plane)
    yield from show_plane(log, said.get("name", name))


def _said(names: Sequence[str], values: Sequence[str | None]) -> dict[str, str]:
    pairs = zip(names, values, strict=True)
    return {name: value for name, value in pairs if value is not None}


def _wanted(aims: dict[str, str]) -> dict[str, Any]:
    wanted: dict[str, Any] = dict(aims)
    if "target" in aims:
        from lapping.units import parse_target_um

        parse_target_um(aims["target"])  # refused now, not when it is read
    if "zones" in aims:
        parts = (part.strip() for part in aims["zones"].split(","))
        wanted["zones"] = tuple(part for part in parts if part)
    return wanted


def _face(
    before: PlaneFace | None,
    name: str,
    kind: str,
    settings: dict[str, str],
    about: dict[str, Any],
) -> PlaneFace:
    known = dict(before.settings) if before else {"face": kind}
    known |= settings
    if not all(size in known for size in SOLE_SIZES):
        message = (
            f"the {name} needs its length and width, such as --length 245mm "
            "--width 60mm"
        )
        raise BadInput(message)
    lines: Settings = tuple(known.items())
    kept = {}
    if before:
        kept = {k: getattr(before, k) for k in ("target", "target_reason", "zones")}
    return make_face(name, lines, **(kept | about))


def _plane_values(said: Mapping[str, str]) -> dict[str, Any]:
    values: dict[str, Any] = dict(said)
    for key in ("bed_deg", "front_deg"):
        if key in said:
            values[key] = _degrees(said[key])
    if "weight_g" in said:
        found = _WEIGHT.fullmatch(said["weight_g"].strip())
        if found is None:
            message = f"'{said['weight_g']}' is no weight; write one such as 1.8kg"
            raise BadInput(message)
        values["weight_g"] = float(found[1]) * _GRAMS[found[2].lower()]
    if "mouth_mm" in said:
        from lapping.units import parse_length_mm

        values["mouth_mm"] = parse_length_mm(said["mouth_mm"])
    return values


def _degrees(text: str) -> float:
    found = _DEGREES.fullmatch(text.strip())
    if found is None:
        message = f"'{text}' is no angle; write degrees, such as 45"
        raise BadInput(message)
    return float(found[1])


def plane_words(plane: Plane) -> str:
    """Say in one line what a plane is."""
    parts = [
        plane.kind,
        plane.metal,
        f"bed {plane.bed_deg:g}°" if plane.bed_deg else None,
        f"front of the mouth {plane.front_deg:g}°" if plane.front_deg else None,
        f"mouth open {plane.mouth_mm:g} mm" if plane.mouth_mm else None,
        f"{plane.weight_g:g} g" if plane.weight_g else None,
    ]
    return ", ".join(part for part in parts if part)


def _faces(log: Log, plane: PlaneEntry) -> Iterator[str]:
    for face in faces(log, plane):
        many = entries_about(log, face)
        counted = f"{many} entries" if many != 1 else "1 entry"
        name = f"{plane.fact.name}/{face.fact.name}"
        yield f"{name}  {face_words(face.fact)}, {counted}"


def face_words(face: PlaneFace) -> str:
    """Say in one line how large a face is, what is in it and what is wanted of it."""
    parts = [f"{face.length_mm:g} × {face.width_mm:g} mm"]
    parts += [
        f"{key} {value}"
        for key, value in face.settings
        if key not in ("face", "length", "width")
    ]
    parts += [f"target {face.target}"] if face.target else []
    parts += [f"because {face.target_reason}"] if face.target_reason else []
    parts += [f"what matters: {', '.join(face.zones)}"] if face.zones else []
    return ", ".join(parts)
