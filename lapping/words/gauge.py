"""How fine the finest gauge is, where that figure is from, and where leaves end."""

from __future__ import annotations

from lapping.answer import Answer
from lapping.methods.take import take_each
from lapping.readings import ReadingSet
from lapping.units import HeightUnit

COARSE = 4.0
"""A gauge whose repeatability is over a quarter of the target cannot show it: a flat
face reads three to four times the repeatability (noise floor of 9 to 45 places)."""

LEAVES_REACH_MM = 10.0
"""So far in from the rim leaves are felt with certainty: common practice, no source."""


def is_coarse(found: Answer) -> bool:
    """Say whether the finest gauge read with is too coarse to show the target."""
    return COARSE * found.repeatability_um > found.target_um


def gauge_words(found: Answer) -> str:
    """Say what the finest gauge is worth and where that is from, and what is needed."""
    unit = found.shown_in
    finest = _finest(found)
    needed = unit.said(found.target_um / COARSE)
    return (
        f"{_worth(finest, unit.said(found.repeatability_um), unit)}; to show "
        f"{unit.limit(found.target_um)} {unit.name} it must be {needed} or less"
    )


def finer_words(found: Answer) -> str:
    """Say what makes readings finer, the gauge at hand first."""
    finest, unit = _finest(found), found.shown_in
    if finest.method in ("feeler", "straightedge") and finest.leaves_um:
        said = "leaves stacked to nearer sizes, or a dial"
    elif finest.method == "dial" and finest.repeatability_um is None:
        said = "say what the dial repeats to, if that is less, or take a finer one"
    else:
        said = "take a finer one"
    least = unit.said(COARSE * found.repeatability_um)
    return f"{said}; this one can show {least} at best"


def beyond_leaves(found: Answer, along_mm: float, across_mm: float) -> bool:
    """Say whether a place lies deeper in than leaves go, where nothing else was had."""
    if any(one.method not in ("feeler", "square") for one in found.sets):
        return False
    face = found.face
    rim = min(along_mm, face.length_mm - along_mm, across_mm, face.width_mm - across_mm)
    return rim > LEAVES_REACH_MM and not face.at_rim(along_mm, across_mm)


def _finest(found: Answer) -> ReadingSet:
    sets = [one for one in found.sets if one.method != "square"]
    taken = take_each(sets)
    at = min(range(len(sets)), key=lambda i: taken[i].repeatability_um)
    return sets[at]


def _worth(one: ReadingSet, size: str, unit: HeightUnit) -> str:
    """Say what a reading is good to and by what: as typed, or from what was typed."""
    if one.leaves_um and one.method in ("feeler", "straightedge"):
        return (
            f"a gap is known to {size} by these leaves, from the steps between them "
            f"and their tolerance of {unit.limit(one.leaf_tolerance_um)} {unit.name}"
        )
    gauge = f"the {one.method}"
    if one.method == "winding":
        return f"winding sticks tell twist to {size}"
    if one.repeatability_um is not None:
        return f"{gauge} repeats to {size}, as stated"
    return f"{gauge} is taken to repeat to {size}, from its step or readings made twice"
