"""The few questions about a gauge met for the first time, and what answers mean."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from lapping.errors import BadInput
from lapping.readings import Method
from lapping.slopes import slope_unit_um_per_m
from lapping.typed import read_typed, shown
from lapping.units import parse_length_mm, parse_length_um, unit_fraction_um

Settings = tuple[tuple[str, str], ...]
WHICH = "What do you read with? dial, leaves, edge, sticks, level or square"
STICK = "Over what length of the sticks do you see the gap? Such as 400mm"
# The trade's words first, then those of the readings file.
METHOD_WORDS: dict[str, Method] = {
    "dial": "dial",
    "leaves": "feeler",
    "edge": "straightedge",
    "sticks": "winding",
    "level": "level",
    "square": "square",
    "indicator": "dial",
    "feeler": "feeler",
    "feelers": "feeler",
    "straightedge": "straightedge",
    "winding": "winding",
}
WORD_OF: dict[Method, str] = {
    method: word for word, method in reversed(METHOD_WORDS.items())
} | {"dial": "dial", "feeler": "leaves", "straightedge": "edge", "winding": "sticks"}
WORDS = tuple(dict.fromkeys(WORD_OF[method] for method in METHOD_WORDS.values()))
"""The trade's words for all methods, in the order they are asked for."""
_AGAINST: dict[Method, str] = {
    "dial": "How flat is the plate or bed",
    "feeler": "How flat is the plate",
    "straightedge": "How straight is the edge",
    "square": "How true is the square",
}
_HIGH = {"y": "high-positive", "n": "low-positive"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One question, and what turns its answer into header lines of the gauge."""

    text: str
    answer: Callable[[str], Settings]


def parse_method(text: str) -> Method:
    """Give the method of a gauge by one of its names, or by how they begin."""
    said = text.strip().lower()
    found = {m for word, m in METHOD_WORDS.items() if said and word.startswith(said)}
    if said in METHOD_WORDS:
        found = {METHOD_WORDS[said]}
    if len(found) != 1:
        message = (
            f"{shown(text)} is no gauge known here; write dial, leaves, edge, sticks, "
            "level or square"
        )
        raise BadInput(message)
    return found.pop()


def questions(method: Method) -> tuple[Question, ...]:
    """Give what must be known of a gauge before its first reading."""
    match method:
        case "dial":
            return (
                Question(
                    text="What do you type its readings in? um, mm, thou, or a "
                    "division such as 0.01mm",
                    answer=dial_unit,
                ),
                Question(
                    text="Push its tip in with a finger: does it read more? y or n",
                    answer=sense,
                ),
            )
        case "feeler":
            return (
                Question(
                    text="Which leaves are in the set? Such as: 0.03 0.04 0.05 0.1 mm",
                    answer=leaf_set,
                ),
            )
        case "straightedge":
            return (
                Question(
                    text="Which leaves do you try under it? Such as: 0.03 0.04 0.05 "
                    "0.1 mm; or only the unit, if you measure gaps otherwise",
                    answer=leaves_or_unit,
                ),
            )
        case "level":
            return (
                Question(
                    text="What is one unit of its readings? um/m, 0.02mm/m, arcsec",
                    answer=slope_unit,
                ),
            )
        case "winding" | "square":
            return (
                Question(
                    text="What do you type the gap in? um, mm, thou", answer=gap_unit
                ),
            )


def offered(question: Question, last: Settings, name: str) -> Question:
    """Offer the leaves of a gauge in the log, for Enter alone."""

    def answer(text: str) -> Settings:
        return question.answer(text) if text.strip() else last

    return Question(text=f"{question.text}. Enter: those of '{name}'", answer=answer)


def flatness_question(method: Method) -> Question | None:
    """Give the question after what a gauge is read against; Enter leaves it open."""
    against = _AGAINST.get(method)
    if against is None:
        return None
    return Question(
        text=f"{against}, such as 10um? Enter: not known",
        answer=flatness,
    )


def flatness(text: str) -> Settings:
    """Give how flat the plate, bed or edge is; nothing where that is not known."""
    if not text.strip():
        return ()
    parse_length_um(text)
    return (("reference_flatness", text.strip()),)


def dial_unit(text: str) -> Settings:
    """Give the unit of a dial; a division is also the step that it shows."""
    unit = _unit(text)
    if not any(c.isdigit() for c in unit):
        return (("unit", unit),)
    return ("unit", unit), ("resolution", unit)


def gap_unit(text: str) -> Settings:
    """Give the unit of a gap."""
    return (("unit", _unit(text)),)


def slope_unit(text: str) -> Settings:
    """Give the unit of a level, which has the same zero wherever it stands."""
    slope_unit_um_per_m(text)
    return ("unit", text.strip()), ("datum", "gravity")


def sense(text: str) -> Settings:
    """Give which way a dial counts."""
    said = _HIGH.get(text.strip().lower()[:1])
    if said is None:
        message = "y if it reads more with the tip pushed in, n if it reads less"
        raise BadInput(message)
    return (("sense", said),)


def leaves_or_unit(text: str) -> Settings:
    """Give a set of leaves, or the unit of gaps measured otherwise."""
    return leaf_set(text) if any(c.isdigit() for c in text) else gap_unit(text)


def leaf_set(text: str) -> Settings:
    """Give a set of leaves; one unit at the end counts for all of them."""
    spaced = re.sub(r"(?<=[0-9])\s*(?=[A-Za-zµμ\"])", " ", text.strip())
    parts = [part for word in re.split(r"[;\s]+", spaced) for part in _sizes(word)]
    units = [part for part in parts if not any(c.isdigit() for c in part)]
    sizes = [part for part in parts if part not in units]
    if len(set(units)) > 1:
        message = f"{shown(text)} mixes units; write all leaves in one"
        raise BadInput(message)
    if not units:
        message = f"{shown(text)} has no unit; write it after the last leaf, as 0.1 mm"
        raise BadInput(message)
    unit = _unit(units[0])
    if not sizes or any(read_typed(size).number <= 0 for size in sizes):
        message = f"{shown(text)}: a leaf has a thickness; list those of your set"
        raise BadInput(message)
    in_order = sorted(sizes, key=lambda size: read_typed(size).number)
    return ("unit", unit), ("leaves", ", ".join(in_order))


def _sizes(word: str) -> list[str]:
    """Part sizes at their commas, unless one comma is the decimal sign."""
    word = word.strip(",")
    if "." not in word and re.fullmatch(r"\d+,\d+", word):
        return [word.replace(",", ".")]
    return [part for part in word.split(",") if part]


def stick_cell(text: str) -> str:
    """Give the length of the sticks as the cell of a row."""
    parse_length_mm(text)
    return text.strip()


def _unit(text: str) -> str:
    unit_fraction_um(text)
    return text.strip()


def describe(method: Method, settings: Settings) -> str:
    """Say in a few words what a gauge is."""
    known = dict(settings)
    said = [WORD_OF[method]]
    if "leaves" in known:
        leaves = [one.strip() for one in known["leaves"].split(",")]
        said.append(f"{len(leaves)} leaves, {leaves[0]} to {leaves[-1]}")
    if "unit" in known:
        said.append(f"in {known['unit']}")
    return ", ".join(said)
