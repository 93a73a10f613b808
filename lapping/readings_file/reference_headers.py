"""The header lines about the plate or edge: how flat it is, and where the face lay."""

from __future__ import annotations

from fractions import Fraction

from lapping.errors import BadInput
from lapping.grades import names_a_grade, read_grade
from lapping.readings import Method, ReferenceAt, Toe
from lapping.readings_file.face_headers import MOST_FACE_MM
from lapping.readings_file.header_lines import HeaderLines
from lapping.typed import shown
from lapping.units import UM_PER_MM

_TOES: tuple[Toe, ...] = ("left", "right", "near", "far")


def read_reference(
    lines: HeaderLines, method: Method | None
) -> tuple[float | None, str | None, tuple[str, ...]]:
    """Give the flatness stated in µm, the grade it was taken from, and warnings."""
    key = "reference_flatness"
    text = lines.text(key)
    if text is None or not names_a_grade(text):
        return lines.height_um(key, None, None) if text else None, None, ()
    try:
        grade = read_grade(text, decimal_comma=lines.decimal_comma)
    except BadInput as problem:
        lines.fail(key, str(problem))
        return None, None, ()
    if method is not None and (method == "square") != (grade.kind == "square"):
        lines.fail(
            key,
            f"{shown(text)} is the grade of a {grade.kind}, which these {method} "
            "readings were not taken with",
        )
        return None, None, ()
    if grade.seen:
        return grade.allowed_um, text, ()
    warning = (
        f"{lines.mistakes.source}, line {lines.given[key].line}: "
        f"{grade.allowed_um:.3g} µm for {shown(text)} is from memory, not from the "
        "standard itself; if there is a certificate, give its figure"
    )
    return grade.allowed_um, text, (warning,)


def read_reference_at(lines: HeaderLines, positions_um: Fraction) -> ReferenceAt | None:
    """Give where the face lay on its reference, in millimetres."""
    key = "reference_at"
    parts = lines.listed(key)
    if not parts:
        return None
    how = "write '100 mm, 50 mm', and ', toe right' if the toe did not point left"
    toe: Toe = "left"
    if len(parts) == 3:
        word, _, way = parts.pop().lower().partition(" ")
        found = [one for one in _TOES if one == way.strip()]
        if word != "toe" or not found:
            lines.fail(key, f"the toe points left, right, near or far; {how}")
            return None
        toe = found[0]
    if len(parts) != 2:
        lines.fail(key, f"{shown(lines.given[key].value)} is no place; {how}")
        return None
    bare = positions_um if "positions" in lines.given else None
    try:
        along, across = (float(lines.um(part, bare) / UM_PER_MM) for part in parts)
    except BadInput as problem:
        lines.fail(key, str(problem))
        return None
    if max(abs(along), abs(across)) > MOST_FACE_MM:
        lines.fail(
            key,
            f"{shown(lines.given[key].value)} is over {MOST_FACE_MM / UM_PER_MM:g} m "
            "away; is the unit right?",
        )
        return None
    return ReferenceAt(along_mm=along, across_mm=across, toe=toe)
