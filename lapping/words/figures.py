"""Phrases for figures: twist, bows, spots and squareness, with their doubt."""

from __future__ import annotations

from collections.abc import Iterable, Set

from lapping.face import Face
from lapping.places import corner_names, place_words
from lapping.squareness import Squareness
from lapping.surface.form import Bow, Twist
from lapping.surface.spots import Spot
from lapping.units import MICROMETRES, HeightUnit

COVERS = 2.0
"""± in the text is this many standard uncertainties: about 95 % (GUM, k = 2)."""
NOT_MEASURED = {
    "twist": "not measured: any twist would have given the same readings",
    "along-bow": "not measured: any bow along would have given the same readings",
    "across-bow": "not measured: any bow across would have given the same readings",
}
SPOTS_TOLD = 3


def high_corners(face: Face, twist: Twist) -> tuple[str, ...]:
    """Name the two corners that twist lifts, or none while it may be either way."""
    if abs(twist.um) < 2 * twist.u_um or twist.um == 0:
        return ()
    one, two, three, four = corner_names(face)
    return (one, three) if twist.um > 0 else (two, four)


def twist_words(face: Face, twist: Twist | None, unit: HeightUnit = MICROMETRES) -> str:
    """Say how much twist, how sure, and which corners it lifts."""
    if twist is None:
        return f"(wind) {NOT_MEASURED['twist']}"
    said = f"(wind) {unit.said(abs(twist.um), COVERS * twist.u_um)}"
    corners = high_corners(face, twist)
    if not corners:
        return f"{said}: no clear twist"
    return f"{said}, {abs(twist.arcmin):.1f}′: {listed(corners)} high"


def bow_words(name: str, bow: Bow | None, unit: HeightUnit = MICROMETRES) -> str:
    """Say crown, hollow or straight, how much and how sure."""
    if bow is None:
        return NOT_MEASURED[name]
    size = unit.said(abs(bow.um), COVERS * bow.u_um)
    return f"{size}: none clear" if bow.shape == "straight" else f"{bow.shape} {size}"


def spot_words(
    face: Face, found: tuple[Spot, ...], unit: HeightUnit, read: Set[str]
) -> str:
    """Say where the most prominent spots are and how high; ``read`` places are told."""
    if not found:
        return "none that stands out from the doubt"
    return "; ".join(
        f"{told_or_guessed(place_words(face, s.along_mm, s.across_mm), read)} "
        f"{'+' if s.height_um > 0 else ''}{unit.said(s.height_um, COVERS * s.u_um)}"
        + ("" if s.sure else " (doubtful)")
        for s in found[:SPOTS_TOLD]
    )


def told_or_guessed(place: str, read: Set[str]) -> str:
    """Give a place in words, marked where no reading was taken there."""
    return place if place in read else f"{place} (not read)"


def square_words(found: Squareness, unit: HeightUnit = MICROMETRES) -> str:
    """Say how far out of square, which way and how it changes along the side."""
    size = unit.said(abs(found.um), COVERS * found.u_um)
    said = f"{size} over {found.over_mm:g} mm, {abs(found.arcmin):.1f}′"
    if abs(found.um) < COVERS * found.u_um:
        said += ": on average square as far as can be told"
    else:
        said += f": the angle is {'more' if found.um > 0 else 'less'} than 90°"
    change, u = found.along_um, found.along_u_um
    if change is not None and u is not None and abs(change) > COVERS * u:
        way = "opens" if change > 0 else "closes"
        said += f"; it {way} by {unit.said(abs(change), COVERS * u)} from toe to heel"
    return said


def listed(words: Iterable[str]) -> str:
    """Join words as a sentence does: a, b and c."""
    items = list(words)
    return " and ".join([", ".join(items[:-1]), items[-1]] if items[1:] else items)


def sentences(found: Iterable[str]) -> str:
    """Join sentences, each with its capital and its full stop.

    One that begins with the name of a file begins as the file is named.
    """
    return " ".join(_begun(s) + ("" if s[-1:] in {".", "?"} else ".") for s in found)


def _begun(sentence: str) -> str:
    first = sentence.partition(" ")[0].rstrip(".,:;")
    named = any(sign in first for sign in "./\\_")
    return sentence if named else sentence[:1].upper() + sentence[1:]
