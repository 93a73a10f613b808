"""Where readings were taken: on metal, and at enough places to show anything."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lapping.face import Face
from lapping.readings import (
    DialReading,
    EdgeReading,
    FeelerReading,
    LevelReading,
    Readings,
    WindingReading,
    too_few_places,
)
from lapping.readings_file.text import Mistakes

SEVERAL = 3
SMALL_PART = 0.25
"""Readings at several stations that end within this part make a size doubtful."""
FEWEST_LEVEL_PLACES = 3
"""One slope is only how the face leans; a bow or twist shows in how slopes differ."""


@dataclass(frozen=True, slots=True)
class _Spot:
    """A place that was read; ``across_mm`` None for an instrument right across."""

    along_mm: float
    across_mm: float | None
    line: int


def check_places(
    face: Face, readings: Readings, mistakes: Mistakes, *, unfinished: bool = False
) -> None:
    """Note readings where there is no metal, and too few places to see anything.

    Of an ``unfinished`` table more places may follow, so that few are not too few.
    """
    # Rows that could not be read would make these two say what is not so.
    all_read = not (mistakes.found or unfinished)
    spots = list(_spots(readings))
    leaves = bool(readings) and isinstance(readings[0], FeelerReading)
    in_mouth = sum(_in_mouth(face, s.along_mm, s.across_mm) for s in spots)
    if _look_swapped(face, spots):
        mistakes.whole(
            "the places look swapped: read the other way round, every one lies on the "
            "face; the column along counts from the toe, across from the left edge"
        )
    for spot in spots:
        trouble = _not_on_metal(face, spot, leaves=leaves)
        if trouble:
            mistakes.at(spot.line, trouble)
    # One leaf in the mouth is where it went in, for the edge of the metal it met.
    if in_mouth > leaves and all(_on_metal_if_turned(face, spot) for spot in spots):
        mistakes.whole(
            "these readings look entered heel for toe: turned end for end, every one "
            "lies on metal; count along from the toe"
        )
    if all_read and not mistakes.found:
        trouble = _too_few(readings, spots)
        if trouble:
            mistakes.whole(trouble)


def size_doubts(face: Face, readings: Readings) -> tuple[str, ...]:
    """Ask whether a size is right where all readings lie in a small part of it."""
    spots = list(_spots(readings))
    asked = []
    for name, size, at in (
        ("length", face.length_mm, {s.along_mm for s in spots}),
        ("width", face.width_mm, {s.across_mm for s in spots} - {None}),
    ):
        far = max((one for one in at if one is not None), default=size)
        if len(at) >= SEVERAL and far < SMALL_PART * size:
            asked.append(
                f"all readings lie within {far:g} mm of {size:g} mm: is the {name} "
                "right?"
            )
    return tuple(asked)


def _spots(readings: Readings) -> Iterator[_Spot]:
    for one in readings:
        if isinstance(one, LevelReading):
            yield _Spot(one.along_1_mm, one.across_1_mm, one.line)
            yield _Spot(one.along_2_mm, one.across_2_mm, one.line)
        elif isinstance(one, WindingReading):
            yield _Spot(one.along_1_mm, None, one.line)
            yield _Spot(one.along_2_mm, None, one.line)
        elif isinstance(one, DialReading | FeelerReading | EdgeReading):
            yield _Spot(one.along_mm, one.across_mm, one.line)
        else:
            yield _Spot(one.along_mm, None, one.line)


def _too_few(readings: Readings, spots: list[_Spot]) -> str | None:
    """Say why the places show nothing; sticks and a square do so from one reading.

    A single line under a straightedge or level shows how straight it is, so it is
    read; what it leaves unseen is for the answer to say.
    """
    if not readings:
        return "there are no readings below the heading; write one a line"
    places = {(s.along_mm, s.across_mm) for s in spots if s.across_mm is not None}
    if isinstance(readings[0], DialReading | FeelerReading):
        return too_few_places(places)
    if isinstance(readings[0], LevelReading) and len(places) < FEWEST_LEVEL_PLACES:
        return (
            f"slopes between {len(places)} places show only how the face leans; step "
            f"the level on, so that they join at least {FEWEST_LEVEL_PLACES}"
        )
    return None


def _in_mouth(face: Face, along_mm: float, across_mm: float | None) -> bool:
    """Say whether the place is in the open mouth.

    A stick or a blade right across lies on the metal beside the mouth, if there is any.
    """
    if across_mm is not None:
        return face.in_mouth(along_mm, across_mm)
    return face.in_mouth(along_mm, 0.0) or face.in_mouth(along_mm, face.width_mm)


def _look_swapped(face: Face, spots: list[_Spot]) -> bool:
    pairs = [(s.along_mm, s.across_mm) for s in spots if s.across_mm is not None]
    return any(not face.on_outline(a, c) for a, c in pairs) and all(
        face.on_outline(c, a) for a, c in pairs
    )


def _on_metal_if_turned(face: Face, spot: _Spot) -> bool:
    along = face.length_mm - spot.along_mm
    if spot.across_mm is not None:
        return face.is_metal(along, spot.across_mm)
    return 0 <= along <= face.length_mm and not _in_mouth(face, along, None)


def _not_on_metal(face: Face, spot: _Spot, *, leaves: bool) -> str | None:
    along, across = spot.along_mm, spot.across_mm
    said = f"the place along {along:g} mm"
    if across is not None:
        said += f", across {across:g} mm"
    if not face.on_outline(along, across or 0.0):
        size = f"is off the face, which is {face.length_mm:g} mm"
        if across is None:
            return f"{said} {size} long; along counts from the toe"
        return f"{said} {size} by {face.width_mm:g} mm; along comes first, from the toe"
    mouth = face.mouth
    if mouth is not None and _in_mouth(face, along, across):
        size = f"{mouth.from_mm:g} mm to {mouth.to_mm:g} mm"
        hint = ""
        if mouth.left_mm is None:
            hint = (
                "; if there is metal beside the mouth, say how far it reaches: "
                f"'# mouth: {size}, across {0.1 * face.width_mm:g} mm to "
                f"{0.9 * face.width_mm:g} mm'"
            )
        if leaves:
            hint = "; give the edge that the leaf went under, one end of that range"
        return f"{said} is inside the mouth ({size}){hint}"
    hole = None if across is None else face.in_hole(along, across)
    if hole is not None:
        return (
            f"{said} is in the hole of {hole.diameter_mm:g} mm at "
            f"{hole.along_mm:g},{hole.across_mm:g}; read beside it"
        )
    return None
