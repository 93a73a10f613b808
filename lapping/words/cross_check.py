"""Sentences about ink and gauge: which way the readings lie, and where they differ."""

from __future__ import annotations

from lapping.cross_check.conflicts import Conflict
from lapping.cross_check.flips import CrossCheck, NotChecked, Orientation
from lapping.face import Face
from lapping.places import edge_names, end_names
from lapping.units import MICROMETRES, HeightUnit
from lapping.words.figures import COVERS

LEAVES = "Leaves are read with the sole down, where left and right swap."
"""docs/conventions.md, where left and right swap."""
AGAIN = "one of the two is wrong there: read it again, or scribble again"


def cross_warnings(
    face: Face, found: CrossCheck | NotChecked, unit: HeightUnit = MICROMETRES
) -> tuple[str, ...]:
    """Give the sentences a person should read before trusting readings and ink.

    Nothing where they agree, cannot be told apart or were not compared.
    """
    if isinstance(found, NotChecked):
        return ()
    if found.flipped:
        return (_flipped(face, found),)
    return tuple(_conflict(c, unit) for c in found.conflicts)


def cross_words(
    face: Face, found: CrossCheck | NotChecked, unit: HeightUnit = MICROMETRES
) -> tuple[str, ...]:
    """Give the whole of it, what agrees and what cannot be told included."""
    if isinstance(found, NotChecked):
        return (f"Ink and readings were not compared: {found.why}.",)
    told = cross_warnings(face, found, unit)
    if found.flipped:
        return told
    if found.verdict == "as entered":
        return ("The readings lie the way the ink does.", *told)
    ways = [_way(face, o) for o in found.may_be if o != "as entered"]
    if "as entered" not in found.may_be:
        said = (
            f"The readings may have been entered {_either(ways)}: the ink fits better "
        )
        return (f"{said}so, but not clearly.", *told)
    said = f"The ink cannot tell whether the readings were entered {_either(ways)}"
    return (f"{said}: it fits the face so about as well.", *told)


def _way(face: Face, orientation: Orientation) -> str:
    """Say how readings were entered: ``heel for toe``."""
    first, last = end_names(face)
    left, right = edge_names(face)
    if face.kind != "lap" and left == "left edge":
        left, right = "left", "right"
    ends, sides = f"{last} for {first}", f"{left} for {right}"
    return {
        "as entered": "as they are",
        "heel for toe": ends,
        "left for right": sides,
        "turned round": f"turned round ({ends} and {sides})",
    }[orientation]


def _flipped(face: Face, found: CrossCheck) -> str:
    said = {
        "heel for toe": "turned end for end they fit the ink clearly better",
        "left for right": "swapped side for side they fit the ink clearly better",
        "turned round": "turned back they fit the ink clearly better",
    }
    ways = {o: _way(face, o) for o in found.may_be if o != "as entered"}
    if len(ways) == 1:
        (only,) = ways
        text = f"These readings look entered {ways[only]}: {said[only]}."
    else:
        text = (
            f"These readings look entered {_either(list(ways.values()))}: so turned "
            "they fit the ink clearly better, and it cannot tell which."
        )
    if found.sole_down and "left for right" in ways:
        text = f"{text} {LEAVES}"
    return f"{text} Or else the corners of the photo were named the wrong way."


def _either(ways: list[str]) -> str:
    return " or ".join([", ".join(ways[:-1]), ways[-1]] if ways[1:] else ways)


def _conflict(one: Conflict, unit: HeightUnit) -> str:
    height = unit.said(abs(one.height_um), COVERS * one.u_um)
    gone = f"{100 * one.rubbed:.0f} % rubbed"
    if one.kind == "rubbed but low":
        return (
            f"The ink says the {one.where} bears ({gone}), the gauge puts it {height} "
            f"below the plane it rests on: {AGAIN}."
        )
    return (
        f"The gauge puts the {one.where} {height} above the places that were rubbed, "
        f"the ink says it never touched ({gone}): {AGAIN}."
    )
