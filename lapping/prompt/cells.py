"""From an answer at the prompt to the cells of a row, and what the row means."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from lapping.errors import BadInput
from lapping.face import Face
from lapping.patterns.walk import Pattern, PlannedPlace, planned
from lapping.readings import (
    DialReading,
    EdgeReading,
    FeelerReading,
    LevelReading,
    Method,
    Reading,
    SquareReading,
    WindingReading,
)
from lapping.typed import shown

_WHERE: dict[Method, tuple[str, ...]] = {
    "dial": ("along", "across"),
    "feeler": ("along", "across"),
    "straightedge": ("line", "along", "across"),
    "level": ("line", "along_1", "across_1", "along_2", "across_2"),
    "winding": ("along_1", "along_2", "stick"),
    "square": ("along",),
}
_WHAT: dict[Method, tuple[str, ...]] = {
    "dial": ("reading",),
    "feeler": ("goes", "stops"),
    "straightedge": ("reading",),
    "level": ("slope",),
    "winding": ("gap", "high"),
    "square": ("gap", "side"),
}
_DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)")
_ZERO = re.compile(r"0*\.?0+\s*[^\W\d]*")
_NONE_GOES = frozenset({"none", "nothing", "no"})
_ENDS = {"high": ("left", "right"), "side": ("sole", "top")}
"""The column that says at which end the gap shows, and what its ends are called."""


def columns_of(method: Method, *, leaves: bool) -> tuple[str, ...]:
    """Give the columns of a table; an edge with leaves has what goes and stops."""
    what = _WHAT["feeler"] if method == "straightedge" and leaves else _WHAT[method]
    return (*_WHERE[method], *what)


def where_cells(method: Method, place: PlannedPlace, stick: str) -> tuple[str, ...]:
    """Give the cells that say where; `stick` is the length of winding sticks."""
    known = {
        "line": place.line,
        "along": _cell(place.along_mm),
        "across": _cell(place.across_mm),
        "along_1": _cell(place.along_mm),
        "across_1": _cell(place.across_mm),
        "along_2": _cell(place.to_along_mm),
        "across_2": _cell(place.to_across_mm),
        "stick": stick,
    }
    return tuple(known[name] for name in _WHERE[method])


def _cell(value_mm: float | None) -> str:
    return "" if value_mm is None else f"{value_mm:.10g}"


def plan_of(face: Face, method: Method, places: Sequence[Sequence[str]]) -> Pattern:
    """Plan again the places whose cells were kept; one that comes again says so."""
    plan = []
    seen: set[tuple[str, ...]] = set()
    for cells in map(tuple, places):
        said = dict(zip(_WHERE[method], cells, strict=True))
        first, second = ("along_1", "along_2") if "along_1" in said else ("along", "")
        plan.append(
            planned(
                face,
                float(said[first]),
                _number(said, first.replace("along", "across")),
                _number(said, second),
                _number(said, second.replace("along", "across")),
                line=said.get("line", ""),
                again=cells in seen,
            )
        )
        seen.add(cells)
    return tuple(plan)


def _number(said: Mapping[str, str], name: str) -> float | None:
    return float(said[name]) if name in said else None


def answer_cells(columns: Sequence[str], text: str) -> tuple[str, ...]:
    """Split an answer into the cells it fills; BadInput says what is missing."""
    text = _DECIMAL_COMMA.sub(".", text)
    if "goes" in columns:
        return _leaf_cells(text)
    for last, ends in _ENDS.items():
        if last in columns:
            return _gap_cells(text, ends, none=last == "high")
    return (text,)


def _leaf_cells(text: str) -> tuple[str, ...]:
    if text.lower() in _NONE_GOES:
        return "0", ""
    if re.fullmatch(r"no[\s_-]?light", text, re.IGNORECASE):
        return "no light", ""
    parts = re.split(r"(?:\s*[/;]\s*|\s+)(?![a-zµμ\"])", re.sub(r"\s*\+\s*", "+", text))
    if len(parts) > 2:
        message = f"{shown(text)} is more than two leaves; write what goes, what stops"
        raise BadInput(message)
    return parts[0], parts[1] if len(parts) == 2 else ""


def _gap_cells(text: str, ends: tuple[str, str], *, none: bool) -> tuple[str, ...]:
    number, _, end = text.rpartition(" ")
    found = [name for name in ends if end and name.startswith(end.lower())]
    if number and found:
        return number, found[0]
    if _ZERO.fullmatch(text):
        return text, "none" if none else ends[0]
    message = (
        f"{shown(text)} lacks its end: write the gap and where it shows, "
        f"as '0.3 {ends[0]}' or '0.3 {ends[1]}', and 0 where there is none"
    )
    raise BadInput(message)


def size_of(reading: Reading) -> float:
    """Give the one number to compare readings of a set by, with its sign."""
    match reading:
        case DialReading():
            return reading.value_um
        case FeelerReading():
            return reading.goes_um
        case EdgeReading():
            return reading.goes_um
        case LevelReading():
            return reading.slope_um_per_m
        case WindingReading():
            return -reading.gap_um if reading.high == "left" else reading.gap_um
        case SquareReading():
            return -reading.gap_um if reading.side == "top" else reading.gap_um
