"""The ``# key: value`` lines of a readings file, checked one by one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from lapping.errors import BadInput
from lapping.face import Face
from lapping.readings import (
    LEAF_TOLERANCE_UM,
    METHODS,
    Datum,
    Method,
    ReferenceAt,
    Sense,
    leaf_trouble,
)
from lapping.readings_file.face_headers import read_face
from lapping.readings_file.header_lines import MOST_SLOPE_UM_PER_M, NO_UNIT, HeaderLines
from lapping.readings_file.reference_headers import read_reference, read_reference_at
from lapping.readings_file.text import Mistakes, Sheet
from lapping.slopes import read_slope, slope_unit_um_per_m
from lapping.typed import read_typed, shown
from lapping.units import UM_PER_MM, parse_target_um, unit_fraction_um

KEYS = (
    *("method", "face", "length", "width", "mouth", "holes", "left_edge", "unit"),
    *("sense", "resolution", "repeatability", "reference_flatness", "reference_at"),
    *("turned", "leaves", "leaf_tolerance", "stands_on", "no_light", "datum", "target"),
    *("metal", "positions"),
)
_ON_A_REFERENCE: tuple[Method, ...] = ("dial", "feeler", "straightedge")
ONLY_FOR: dict[str, tuple[Method, ...]] = {
    "sense": ("dial",),
    "leaves": ("feeler", "straightedge"),
    "leaf_tolerance": ("feeler", "straightedge"),
    "stands_on": ("straightedge",),
    "no_light": ("straightedge",),
    "datum": ("level",),
    "reference_flatness": (*_ON_A_REFERENCE, "square"),
    "reference_at": _ON_A_REFERENCE,
    "turned": _ON_A_REFERENCE,
}
"""A header that its method does not use is reported, so that nobody relies on it."""
_MEANT: dict[str, Method] = {
    **dict.fromkeys(("leaf", "leaves", "feelers", "feeler-gauge"), "feeler"),
    **dict.fromkeys(("edge", "straight", "rule", "ruler"), "straightedge"),
    **dict.fromkeys(("indicator", "clock"), "dial"),
    **dict.fromkeys(("sticks", "winding-sticks"), "winding"),
}
"""What people call the methods, for the question back."""
_SENSES: tuple[Sense, ...] = ("high-positive", "low-positive")
_TURNS: tuple[Literal["half"], Literal["quarter"]] = ("half", "quarter")
_DATUMS: tuple[Datum, ...] = ("gravity", "line")


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What the header lines say; None where nothing, or nothing usable, was said.

    For level readings ``unit_um``, ``resolution_um`` and ``repeatability_um`` are
    slopes, in micrometres per metre.
    """

    method: Method | None
    face: Face | None
    unit: str | None
    unit_um: Fraction | None
    positions_um: Fraction
    sense: Sense | None
    resolution_um: float | None
    repeatability_um: float | None
    reference_flatness_um: float | None
    reference_grade: str | None
    reference_at: ReferenceAt | None
    turned: Literal["half", "quarter"] | None
    leaves_um: tuple[Fraction, ...]
    leaf_tolerance_um: float
    stands_on_um: float | None
    no_light_um: float | None
    datum: Datum | None
    target_um: float | None
    metal: str | None
    warnings: tuple[str, ...]


def read_header(sheet: Sheet, units: str | None, mistakes: Mistakes) -> Header:
    """Check every header line; `units` is the unit where the file names none."""
    lines = HeaderLines(sheet, KEYS, mistakes)
    method = lines.choice("method", METHODS, needed=True, meant=_MEANT)
    positions_um = Fraction(UM_PER_MM)
    if lines.choice("positions", ("mm", "in")) == "in":
        positions_um = unit_fraction_um("in")
    face = read_face(lines, positions_um)
    if method == "square" and face is not None and face.kind != "side":
        lines.fail(
            "face",
            f"a square is held against a side, not a {face.kind}; say '# face: side' "
            "and give its height as the width",
        )
    unit, unit_um = _read_unit(lines, units, method)
    bare_um = None if method == "level" else unit_um
    tolerance = lines.height_um("leaf_tolerance", unit, bare_um, zero=True)
    gauge_um = _slope if method == "level" else HeaderLines.height_um
    flatness_um, grade, grade_warnings = read_reference(lines, method)
    return Header(
        method=method,
        face=face,
        unit=unit,
        unit_um=unit_um,
        positions_um=positions_um,
        sense=_read_sense(lines, method),
        resolution_um=gauge_um(lines, "resolution", unit, unit_um),
        repeatability_um=gauge_um(lines, "repeatability", unit, unit_um),
        reference_flatness_um=flatness_um,
        reference_grade=grade,
        reference_at=read_reference_at(lines, positions_um),
        turned=lines.choice("turned", _TURNS),
        leaves_um=_read_leaves(lines, bare_um, method),
        leaf_tolerance_um=LEAF_TOLERANCE_UM if tolerance is None else tolerance,
        stands_on_um=lines.height_um("stands_on", unit, bare_um),
        no_light_um=lines.height_um("no_light", unit, bare_um),
        datum=_read_datum(lines, method),
        target_um=_read_target(lines),
        metal=lines.text("metal"),
        warnings=(*grade_warnings, *_not_used(lines, method, mistakes.source)),
    )


def _read_unit(
    lines: HeaderLines, units: str | None, method: Method | None
) -> tuple[str | None, Fraction | None]:
    text = lines.text("unit")
    read = slope_unit_um_per_m if method == "level" else unit_fraction_um
    try:
        if text is not None:
            return text, read(text, decimal_comma=lines.decimal_comma)
        if units is not None and "unit" not in lines.given:
            return units, read(units)
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


def _slope(
    lines: HeaderLines, key: str, unit: str | None, unit_um: Fraction | None
) -> float | None:
    """Give what a level resolves or repeats to, in micrometres per metre."""
    text = lines.text(key)
    if text is None:
        return None
    try:
        typed, own = read_slope(text, decimal_comma=lines.decimal_comma)
    except BadInput as problem:
        lines.fail(key, str(problem))
        return None
    if own is None and unit is not None and any(c.isdigit() for c in unit):
        unit_um = None  # one division, or one unit of it? As for heights, not guessed.
    um_per_m = own or unit_um
    if um_per_m is None:
        lines.fail(key, f"{shown(text)} has no unit; write it too, as 2 um/m")
        return None
    slope = typed.number * um_per_m
    if not 0 < slope <= MOST_SLOPE_UM_PER_M:
        lines.fail(key, f"{shown(text)} must be more than 0, and at most 20 mm/m")
        return None
    return float(slope)


def _read_datum(lines: HeaderLines, method: Method | None) -> Datum | None:
    if method == "level" and "datum" not in lines.given:
        lines.mistakes.whole(
            "slopes without a datum cannot be joined; say '# datum: gravity' for a "
            "level on a face that was not moved between readings, '# datum: line' for "
            "an autocollimator, set up anew for each line"
        )
    return lines.choice("datum", _DATUMS)


def _read_target(lines: HeaderLines) -> float | None:
    text = lines.text("target")
    if text is None:
        return None
    try:
        return parse_target_um(text, decimal_comma=lines.decimal_comma)
    except BadInput as problem:
        lines.fail("target", str(problem))
        return None


def _read_leaves(
    lines: HeaderLines, unit_um: Fraction | None, method: Method | None
) -> tuple[Fraction, ...]:
    leaves = []
    for part in lines.listed("leaves"):
        try:
            typed = read_typed(part, decimal_comma=lines.decimal_comma)
        except BadInput as problem:
            lines.fail("leaves", str(problem))
            continue
        if typed.unit is None and unit_um is None:
            if "unit" not in lines.given:
                lines.fail(
                    "leaves",
                    f"{shown(part)} has no unit; say '# unit: um' (or mm, 0.01mm, "
                    "thou, 0.0005in) above the table",
                    once=NO_UNIT,
                )
            continue
        leaf = typed.um(unit_um)
        trouble = leaf_trouble(part, leaf)
        if trouble and (leaf <= 0 or method in ONLY_FOR["leaves"]):
            lines.fail("leaves", trouble, once="leaves")
        # Kept all the same: else the table would be said to use no leaf of the set.
        leaves.append(leaf)
    return tuple(sorted(leaves))


def _not_used(
    lines: HeaderLines, method: Method | None, source: str
) -> tuple[str, ...]:
    return tuple(
        f"{source}, line {entry.line}: '{entry.key}' is for {_listed(methods)} "
        f"readings and was not used for these {method} readings"
        for entry in lines.given.values()
        if (methods := ONLY_FOR.get(entry.key)) and method and method not in methods
    )


def _listed(words: Sequence[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last
