"""The ``# key: value`` lines of a readings file, checked one by one."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from lapping.errors import BadInput
from lapping.face import Face
from lapping.header_lines import HeaderLines
from lapping.readings import LEAF_TOLERANCE_UM, METHODS, Method, Sense
from lapping.readings_face import read_face
from lapping.readings_text import Mistakes, Sheet
from lapping.typed import shown
from lapping.units import UM_PER_MM, parse_target_um, unit_fraction_um

KEYS = (
    *("method", "face", "length", "width", "mouth", "holes", "left_edge", "unit"),
    *("sense", "resolution", "repeatability", "reference_flatness", "reference_at"),
    *("turned", "leaves", "leaf_tolerance", "stands_on", "datum", "target", "metal"),
    "positions",
)
ONLY_FOR: dict[str, tuple[Method, ...]] = {
    "sense": ("dial",),
    "leaves": ("feeler", "straightedge"),
    "leaf_tolerance": ("feeler", "straightedge"),
    "stands_on": ("straightedge",),
    "datum": ("level",),
}
"""A header that its method does not use is reported, so that nobody relies on it."""
_SENSES: tuple[Sense, ...] = ("high-positive", "low-positive")
_TURNS: tuple[Literal["half"], Literal["quarter"]] = ("half", "quarter")


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What the header lines say; None where nothing, or nothing usable, was said."""

    method: Method | None
    face: Face | None
    unit: str | None
    unit_um: Fraction | None
    positions_um: Fraction
    sense: Sense | None
    resolution_um: float | None
    repeatability_um: float | None
    reference_flatness_um: float | None
    reference_at: str | None
    turned: Literal["half", "quarter"] | None
    leaves_um: tuple[Fraction, ...]
    leaf_tolerance_um: float
    stands_on_um: float | None
    datum: str | None
    target_um: float | None
    metal: str | None
    warnings: tuple[str, ...]


def read_header(sheet: Sheet, units: str | None, mistakes: Mistakes) -> Header:
    """Check every header line; `units` is the unit where the file names none."""
    lines = HeaderLines(sheet, KEYS, mistakes)
    method = lines.choice("method", METHODS, needed=True)
    positions_um = Fraction(UM_PER_MM)
    if lines.choice("positions", ("mm", "in")) == "in":
        positions_um = unit_fraction_um("in")
    face = read_face(lines, positions_um)
    unit, unit_um = _read_unit(lines, units)
    tolerance = lines.height_um("leaf_tolerance", unit, unit_um, zero=True)
    return Header(
        method=method,
        face=face,
        unit=unit,
        unit_um=unit_um,
        positions_um=positions_um,
        sense=_read_sense(lines, method),
        resolution_um=lines.height_um("resolution", unit, unit_um),
        repeatability_um=lines.height_um("repeatability", unit, unit_um),
        reference_flatness_um=lines.height_um("reference_flatness", None, None),
        reference_at=lines.text("reference_at"),
        turned=lines.choice("turned", _TURNS),
        leaves_um=_read_leaves(lines, unit_um),
        leaf_tolerance_um=LEAF_TOLERANCE_UM if tolerance is None else tolerance,
        stands_on_um=lines.height_um("stands_on", unit, unit_um),
        datum=lines.choice("datum", ("gravity", "line")),
        target_um=_read_target(lines),
        metal=lines.text("metal"),
        warnings=_not_used(lines, method, mistakes.source),
    )


def _read_unit(
    lines: HeaderLines, units: str | None
) -> tuple[str | None, Fraction | None]:
    text = lines.text("unit")
    try:
        if text is not None:
            return text, unit_fraction_um(text, decimal_comma=lines.decimal_comma)
        if units is not None and "unit" not in lines.given:
            return units, unit_fraction_um(units)
    except BadInput as problem:
        if text is None:
            lines.mistakes.whole(f"--units: {problem}")
        else:
            lines.fail("unit", str(problem))
    # Named even if not understood, so that not every bare reading is blamed too.
    return text or units, None


def _read_sense(lines: HeaderLines, method: Method | None) -> Sense | None:
    if method == "dial" and "sense" not in lines.given:
        lines.mistakes.whole(
            "a dial file must say which way the dial counts: '# sense: high-positive' "
            "if it reads more where the metal stands proud, '# sense: low-positive' if "
            "it reads less there"
        )
    return lines.choice("sense", _SENSES)


def _read_target(lines: HeaderLines) -> float | None:
    text = lines.text("target")
    if text is None:
        return None
    try:
        return parse_target_um(text, decimal_comma=lines.decimal_comma)
    except BadInput as problem:
        lines.fail("target", str(problem))
        return None


def _read_leaves(lines: HeaderLines, unit_um: Fraction | None) -> tuple[Fraction, ...]:
    leaves = []
    for part in lines.listed("leaves"):
        try:
            leaf = lines.um(part, unit_um)
        except BadInput as problem:
            lines.fail("leaves", str(problem))
            continue
        if leaf <= 0:
            lines.fail(
                "leaves", f"a leaf of {shown(part)} cannot be; it has a thickness"
            )
            continue
        leaves.append(leaf)
    return tuple(sorted(leaves))


def _not_used(
    lines: HeaderLines, method: Method | None, source: str
) -> tuple[str, ...]:
    return tuple(
        f"{source}, line {entry.line}: '{entry.key}' is for {' and '.join(methods)} "
        f"readings and was not used for these {method} readings"
        for entry in lines.given.values()
        if (methods := ONLY_FOR.get(entry.key)) and method and method not in methods
    )
