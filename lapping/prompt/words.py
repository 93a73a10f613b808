"""What the prompt says: the place, the unit, what was kept, how to set up."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.patterns.walk import PlannedPlace
from lapping.prompt.doubt import Scale
from lapping.prompt.line import HELP, NO_LIGHT
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

EXAMPLES: dict[str, str] = {
    "reading": "2, -1.5 or 2thou",
    "goes": "0.05, 0 if none goes, or 0.05 0.08 (goes, stops)",
    "slope": "-3, + if place 2 stands prouder",
    "high": "0.3 left, 0.3 right, or 0",
    "side": "0.05 sole, 0.05 top, or 0",
}
_ASKED = {
    "reading": "",
    "goes": "leaf that goes",
    "slope": "slope",
    "high": "gap and high end",
    "side": "gap and its end",
}
_SETUP: dict[Method, str] = {
    "dial": "Face up, toe away from you. Slide the stand, never the plane.",
    "feeler": "Face down on the plate, toe away from you: left and right swap, and "
    "the map shows it so.",
    "straightedge": "Face up, toe away from you. Stand the edge on two equal leaves "
    "at its ends, so that it cannot rock: all gaps include them, and where it stands "
    "the gap is that leaf.",
    "winding": "Face up, toe away from you. Sight from the heel and line up one end; "
    "left or right is the end at which the near stick stands high.",
    "level": "Face up, and not moved until the end. The level points from 1 to 2, and "
    "a slope is + where 2 stands prouder.",
    "square": "Stock on the sole, blade down the side.",
}
_STACK = "A gap over your thickest leaf takes two together: write 0.8+0.3."
_TURNED = "The edge is turned end for end now."


def asked_for(columns: Sequence[str], unit: str | None) -> str:
    """Give the prompt itself, with the unit: ``leaf that goes, mm> ``."""
    what = next((_ASKED[name] for name in _ASKED if name in columns), "")
    if "reading" in columns and "line" in columns:
        what = "gap"
    said = unit or "with unit"
    if unit is not None and unit[:1].isdigit():
        # A bare "0.01mm>" would be answered in millimetres.
        said = f"divisions of {unit}"
    return f"{what}, {said}> " if what else f"{said}> "


def help_lines(columns: Sequence[str]) -> list[str]:
    """Give the words that can be typed, a line each."""
    example = next(EXAMPLES[name] for name in EXAMPLES if name in columns)
    if "reading" in columns and "line" in columns:
        example = "0.05"
    edge = "line" in columns and "slope" not in columns
    lines = [HELP[0], NO_LIGHT, *HELP[1:]] if edge else HELP
    return [line.format(example=example) for line in lines]


def setup_words(method: Method, columns: Sequence[str], *, turned: bool) -> str:
    """Say once how to set up."""
    stack = method == "straightedge" and "goes" in columns
    said = (_SETUP[method], _STACK if stack else "", _TURNED if turned else "")
    return " ".join(one for one in said if one)


def line_words(method: Method, line: str) -> str:
    """Say which line comes now."""
    if method == "level":
        return f"Step the level along this line: {line}."
    return f"Lay the edge along this line: {line}."


def place_line(number: int, count: int, place: PlannedPlace) -> str:
    """Say which place comes now, in words and in millimetres."""
    return f"{number} of {count}: {place.words} ({_millimetres(place)})"


def _millimetres(place: PlannedPlace) -> str:
    one = _at(place.along_mm, place.across_mm)
    if place.to_along_mm is None:
        return f"{one} mm"
    return f"{one} to {_at(place.to_along_mm, place.to_across_mm)} mm"


def _at(along_mm: float, across_mm: float | None) -> str:
    along = f"along {along_mm:g}"
    return along if across_mm is None else f"{along}, across {across_mm:g}"


def kept_words(reading: Reading, scale: Scale) -> str:
    """Say how a reading was understood, so that a wrong unit shows at once."""

    def size(um: float) -> str:
        return f"{um / scale.um:.6g} {scale.unit}"

    match reading:
        case DialReading():
            return size(reading.value_um)
        case EdgeReading() if reading.gap_um is not None:
            return f"gap {size(reading.gap_um)}"
        case FeelerReading() | EdgeReading():
            goes, stops = reading.goes_um, reading.stops_um
            if stops is not None and not reading.stops_leaves:
                return f"no light, so under {size(stops)}"
            said = f"{size(goes)} goes" if goes else "none goes"
            more = "no leaf stops" if stops is None else f"{size(stops)} stops"
            return f"{said}, {more}"
        case LevelReading():
            return size(reading.slope_um_per_m)
        case WindingReading():
            end = f", {reading.high} high" if reading.gap_um else ""
            return f"gap {size(reading.gap_um)}{end}"
        case SquareReading():
            end = f" at the {reading.side}" if reading.gap_um else ""
            return f"gap {size(reading.gap_um)}{end}"
