"""Sets of readings given together: are they one face, and what to mind about them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lapping.errors import BadInput
from lapping.face import Face
from lapping.methods.network import DISAGREE, Closure
from lapping.places import place_words
from lapping.readings import DialReading, ReadingSet
from lapping.units import MICROMETRES, HeightUnit, height_unit


def one_face(sets: Sequence[ReadingSet]) -> Face:
    """Give the face all sets are readings of; BadInput when they differ.

    A mouth or holes given in one file only hold for all: sticks need no mouth.
    """
    first = sets[0]
    mouths = {s.face.mouth for s in sets} - {None}
    holes = {s.face.holes for s in sets} - {()}
    edges = {s.face.left_edge for s in sets} - {None}
    mistakes = [
        f"{other.source}: its face ({_outline(other.face)}) is not the face of "
        f"{first.source} ({_outline(first.face)}); files given together must be "
        "readings of one face."
        for other in sets[1:]
        if _size(other.face) != _size(first.face)
        or (other.face != first.face and max(len(mouths), len(holes), len(edges)) > 1)
    ]
    if mistakes:
        raise BadInput(mistakes)
    return replace(
        first.face,
        mouth=next(iter(mouths), None),
        holes=next(iter(holes), ()),
        left_edge=next(iter(edges), None),
    )


def to_mind(sets: Sequence[ReadingSet], *, stated: bool) -> tuple[str, ...]:
    """Give the sentences a person should have read before trusting the figures.

    ``stated`` says that the reference has a map of its own.
    """
    found = [w for s in sets for w in s.warnings]
    apart = [s for s in sets if s.reference_flatness_um is None and not stated]
    if any(s.method in ("dial", "feeler") for s in apart):
        found.append(
            "Relative to the plate or bed it was read on: how flat that is was not "
            "stated (reference_flatness)."
        )
    if any(s.method == "square" for s in apart):
        found.append(
            "Relative to the square used: how true that is was not stated "
            "(reference_flatness)."
        )
    if any(_only_step_known(s) for s in sets):
        found.append(
            "How far readings of one spot scatter was not stated (repeatability) and "
            "no spot was read again: the smallest step typed was taken for it."
        )
    if any(s.face.kind == "sole" for s in sets) and not any(s.face.mouth for s in sets):
        found.append("No mouth was given, so the land ahead of it was not judged.")
    if any(s.method == "straightedge" for s in apart):
        found.append(
            "Relative to the straightedge: how straight that is was not stated "
            "(reference_flatness), and a bow of the edge reads as a bow of the face."
        )
    # What was assumed for a gap that shows no light weighs least.
    found.sort(key=lambda said: said.startswith("'no light'"))
    return tuple(dict.fromkeys(found))


def disagreement(
    face: Face, found: Sequence[Closure], unit: HeightUnit
) -> tuple[str, ...]:
    """Say where readings that meet cannot all be right; the largest comes first."""
    if not found or found[0].spread_um <= DISAGREE * found[0].u_um:
        return ()
    worst = found[0]
    return (
        f"Readings that meet {place_words(face, worst.along_mm, worst.across_mm)} "
        f"disagree by {unit.said(worst.spread_um)}, and that is too much for their "
        "doubt: read there again before trusting this.",
    )


def shown_in(sets: Sequence[ReadingSet]) -> HeightUnit:
    """Give the unit of the answer: thou where all was read in inches."""
    units = {height_unit(s.unit) for s in sets}
    return units.pop() if len(units) == 1 else MICROMETRES


def _only_step_known(readings: ReadingSet) -> bool:
    if readings.method != "dial" or readings.repeatability_um is not None:
        return False
    spots = [
        (r.along_mm, r.across_mm)
        for r in readings.readings
        if isinstance(r, DialReading)
    ]
    return readings.resolution_um is None and len(set(spots)) == len(spots)


def _size(face: Face) -> tuple[str, float, float]:
    return face.kind, face.length_mm, face.width_mm


def _outline(face: Face) -> str:
    text = f"{face.kind}, {face.length_mm:g} × {face.width_mm:g} mm"
    if face.mouth is not None:
        text += f", mouth {face.mouth.from_mm:g} to {face.mouth.to_mm:g} mm"
    if face.left_edge is not None:
        text += f", left edge {face.left_edge}"
    if face.holes:
        text += f", {len(face.holes)} holes"
    return text
