"""How flat the standards say a plate or an edge of a grade and size has to be.

A grade is what the maker promised when new, not what the plate is now. Sources:

- GGG-P-463c: formula and listed sizes seen; AA, B from A's factors of a half and two.
- DIN 876: grades 0, 1, 2 and 3 seen, grade 00 from memory.
- ISO 8512: formula and table from memory; that they exist, and their sizes, seen.
- DIN 874: formulas from memory and unsure; its existence seen.
- DIN 875 (squares): formulas from memory, sure.

Where the standard lists the size, its figure counts, otherwise its formula. All in
micrometres from sizes in millimetres. ``seen`` is False for a figure from memory.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from lapping.errors import BadInput
from lapping.typed import read_typed, shown
from lapping.units import UM_PER_MM

Kind = Literal["plate", "straightedge", "square"]
INCH_MM = 25.4
MOST_MM = 10_000.0
SAME_SIZE_MM = 1.0
"""Inch sizes are often given rounded to millimetres; they count as listed too."""
EXAMPLES = (
    "GGG-P-463c grade A, 24 x 36 in; DIN 876 grade 1, 630 x 400 mm; ISO 8512 grade 2, "
    "400 x 250 mm; DIN 874 grade 0, 500 mm; DIN 875 grade 1, 100 mm"
)

_LISTED_GGG_IN: dict[tuple[int, int], tuple[int, int, int]] = {
    (12, 12): (50, 100, 200),
    (12, 18): (50, 100, 200),
    (18, 24): (75, 150, 300),
    (24, 36): (100, 200, 400),
    (36, 48): (200, 400, 800),
    (48, 72): (350, 700, 1400),
    (48, 96): (500, 1000, 2000),
}
"""Micro-inches for AA, A and B by size in inches. [seen]"""
_LISTED_ISO_MM: dict[tuple[int, int], tuple[float, float, float, float]] = {
    (100, 160): (3, 6, 12, 25),
    (160, 250): (3.5, 7, 14, 27),
    (250, 400): (4, 8, 16, 32),
    (400, 630): (5, 10, 20, 39),
    (630, 1000): (6, 12, 24, 49),
    (1000, 1600): (8, 16, 33, 66),
    (250, 250): (3.5, 7, 15, 30),
    (400, 400): (4.5, 9, 17, 34),
    (630, 630): (5, 10, 21, 42),
    (1000, 1000): (7, 14, 28, 56),
}
"""Micrometres for grades 0 to 3 by size in millimetres. [memory]"""
_GGG_FACTORS = {"AA": 1, "A": 2, "B": 4}
_ISO_TERMS = {"0": (0.003, 2.5), "1": (0.006, 5), "2": (0.012, 10), "3": (0.024, 20)}
_ISO_STEP_MM = 100
# Each is a + L/b in micrometres, L the length in millimetres.
_DIN_876 = {"00": (2, 500), "0": (4, 250), "1": (10, 100), "2": (20, 50), "3": (40, 25)}
_DIN_874 = {"00": (1, 150), "0": (2, 100), "1": (4, 60), "2": (8, 40)}
_DIN_875 = {"00": (2, 100), "0": (5, 50), "1": (10, 20), "2": (20, 10)}
_ROMAN = {"I": "1", "II": "2", "III": "3"}
_GRADES: dict[str, Sequence[str]] = {
    "GGG-P-463c": tuple(_GGG_FACTORS),
    "DIN 876": tuple(_DIN_876),
    "ISO 8512": tuple(_ISO_TERMS),
    "DIN 874": tuple(_DIN_874),
    "DIN 875": tuple(_DIN_875),
}
_KINDS: dict[str, Kind] = {"DIN 874": "straightedge", "DIN 875": "square"}
_NEEDS_TWO_SIZES = ("GGG-P-463c", "ISO 8512")
_SPELLED = (
    (re.compile(r"(?:fed(?:eral)?\.?\s*spec\.?\s*)?ggg-?p-?463-?c?"), "GGG-P-463c"),
    (re.compile(r"din\s*876(?:-[12])?"), "DIN 876"),
    (re.compile(r"(?:din\s*)?(?:en\s*)?iso\s*8512(?:-[12])?"), "ISO 8512"),
    (re.compile(r"din\s*874(?:-[12])?"), "DIN 874"),
    (re.compile(r"din\s*875(?:-1)?"), "DIN 875"),
)
_YEAR = re.compile(r"(?:[: ]+(?:19|20)[0-9]{2}(?:-[01][0-9])?)?[: ]*")
_FIRST_WORD = re.compile(r"(?:ggg|din|iso|en|bs|asme|jis|fed|federal)\b", re.IGNORECASE)
_GRADE = re.compile(r"\b(?:grade|class)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grade:
    """What a standard allows one plate, straightedge or square."""

    standard: str
    grade: str
    kind: Kind
    allowed_um: float
    seen: bool


def names_a_grade(text: str) -> bool:
    """Say whether the text names a standard or a grade, not a length."""
    return bool(_FIRST_WORD.match(text.strip()) or _GRADE.search(text))


def read_grade(text: str, *, decimal_comma: bool = False) -> Grade:
    """Give what the grade allows, or raise BadInput with the grades known.

    >>> read_grade("DIN 876 grade 1, 500 mm").allowed_um
    15.0
    """
    before, *after = _GRADE.split(text, maxsplit=1)
    standard = _standard(before, text)
    if not after:
        message = f"{shown(text)} names no grade; write it as one of {EXAMPLES}"
        raise BadInput(message)
    said = re.match(r"\s*([^\s,;]*)[\s,;]*", after[0])
    assert said is not None, "it matches nothing too"
    grade = said[1].upper()
    grade = _ROMAN.get(grade, grade)
    if grade not in _GRADES[standard]:
        message = (
            f"{shown(said[1])} is no grade of {standard} known here; they are "
            f"{', '.join(_GRADES[standard])}"
        )
        raise BadInput(message)
    sizes = _sizes_mm(after[0][said.end() :], text, decimal_comma=decimal_comma)
    if standard in _NEEDS_TWO_SIZES and len(sizes) < 2:
        message = (
            f"{shown(text)} gives one size; {standard} goes by the diagonal, write "
            "both, as 24 x 36 in"
        )
        raise BadInput(message)
    return Grade(
        standard=standard,
        grade=grade,
        kind=_KINDS.get(standard, "plate"),
        allowed_um=float(_allowed_um(standard, grade, sizes)),
        seen=standard == "GGG-P-463c" or (standard == "DIN 876" and grade != "00"),
    )


def _standard(before: str, text: str) -> str:
    name = " ".join(before.lower().replace(",", " ").split())
    for spelled, standard in _SPELLED:
        found = spelled.match(name)
        if found and _YEAR.fullmatch(name, found.end()):
            return standard
    known = "; ".join(f"{name} {', '.join(g)}" for name, g in _GRADES.items())
    message = (
        f"{shown(text)} is of no standard known here; the grades are {known}; or write "
        "the flatness itself, as 5 um"
    )
    raise BadInput(message)


def _sizes_mm(said: str, text: str, *, decimal_comma: bool) -> list[float]:
    """Read one size or two; a size without a unit has the unit of the last."""
    parts = [p.strip() for p in re.split(r"[x×*]|\bby\b", said.lower())]
    if not said.strip():
        message = f"{shown(text)} gives no size; the grade allows more on a larger one"
        raise BadInput(message)
    if len(parts) > 2:
        message = f"{shown(text)} gives {len(parts)} sizes; write two, as 24 x 36 in"
        raise BadInput(message)
    typed = [read_typed(part, decimal_comma=decimal_comma) for part in parts]
    if typed[-1].unit is None:
        message = f"{shown(text)} gives a size without a unit; write mm or in behind it"
        raise BadInput(message)
    bare = read_typed(f"1{typed[-1].unit}").um()
    exact = [one.um(bare) / UM_PER_MM for one in typed]
    if any(not 0 < size <= MOST_MM for size in exact):
        message = f"{shown(text)} gives a size that nothing has; is the unit right?"
        raise BadInput(message)
    return sorted(float(size) for size in exact)


def _allowed_um(standard: str, grade: str, sizes: list[float]) -> float | Fraction:
    longest = sizes[-1]
    if standard == "GGG-P-463c":
        return _ggg_um(grade, sizes)
    if standard == "ISO 8512":
        return _iso_um(grade, sizes)
    terms = {"DIN 876": _DIN_876, "DIN 874": _DIN_874, "DIN 875": _DIN_875}[standard]
    least, per = terms[grade]
    return least + longest / per


def _ggg_um(grade: str, sizes: list[float]) -> float | Fraction:
    um_per_microinch = Fraction(254, 10_000)
    place = tuple(_GGG_FACTORS).index(grade)
    for listed, allowed in _LISTED_GGG_IN.items():
        if _same_size(sizes, [side * INCH_MM for side in listed]):
            return allowed[place] * um_per_microinch
    diagonal_in = math.hypot(*sizes) / INCH_MM
    return _GGG_FACTORS[grade] * (40 + diagonal_in**2 / 25) * float(um_per_microinch)


def _iso_um(grade: str, sizes: list[float]) -> float:
    place = tuple(_ISO_TERMS).index(grade)
    for listed, allowed in _LISTED_ISO_MM.items():
        if _same_size(sizes, listed):
            return allowed[place]
    per_mm, least = _ISO_TERMS[grade]
    # Rounded first, or a diagonal of exactly 500 mm might count as 600.
    steps = math.ceil(round(math.hypot(*sizes), 6) / _ISO_STEP_MM)
    return per_mm * steps * _ISO_STEP_MM + least


def _same_size(sizes: list[float], listed: Sequence[float]) -> bool:
    pairs = zip(sizes, sorted(listed), strict=True)
    return all(abs(one - other) <= SAME_SIZE_MM for one, other in pairs)
