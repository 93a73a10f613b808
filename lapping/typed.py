"""One typed number: its exact value, its own unit, and the step of many of them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from lapping.errors import BadInput

_INCH_UM = Fraction(25400)
# "mil" is left out on purpose: half the world means a thousandth of an inch by it, the
# other half a millimetre.
UNITS_UM: dict[str, Fraction] = {
    "um": Fraction(1),
    "µm": Fraction(1),  # U+00B5, the micro sign of keyboards
    "μm": Fraction(1),  # U+03BC, the Greek letter; it looks the same
    "mm": Fraction(1000),
    "cm": Fraction(10_000),
    "m": Fraction(1_000_000),
    "thou": _INCH_UM / 1000,
    "in": _INCH_UM,
    "inch": _INCH_UM,
    '"': _INCH_UM,
    "″": _INCH_UM,
    "”": _INCH_UM,  # what a word processor makes of the inch sign
}
UNIT_LIST = 'um (µm), mm, cm, m, thou, in (")'
# Longer than anybody types; a bound keeps the exact arithmetic from being a trap.
_MOST_DIGITS = 40
_SHOWN = 40
# The hyphen last, or it would make a range of the character class. Word processors
# turn a typed hyphen into either dash.
MINUS = "−–-"
_NUMBER = re.compile(
    rf"(?P<sign>[+{MINUS}]?)\s*(?P<digits>[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)"
    rf"(?:[eE](?P<power>[+{MINUS}]?[0-9]{{1,2}})(?![0-9]))?\s*(?P<unit>.*)",
    re.DOTALL,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """A number as typed: its exact value, its last digit's place, its own unit."""

    number: Fraction
    last_place: int
    unit: str | None

    def um(self, bare_unit_um: Fraction | None = None) -> Fraction:
        """Give micrometres; `bare_unit_um` is the unit of a number without one."""
        if self.unit is not None:
            return self.number * UNITS_UM[self.unit]
        if bare_unit_um is None:
            message = "a bare number needs a unit"
            raise ValueError(message)
        return self.number * bare_unit_um


def shown(text: str) -> str:
    """Quote what was typed, cut to a length that fits in a sentence."""
    cut = text if len(text) <= _SHOWN else text[: _SHOWN - 1] + "…"
    # Only what would spoil a terminal is escaped; µ and − stay as they were typed.
    return "'" + "".join(c if c.isprintable() else ascii(c)[1:-1] for c in cut) + "'"


@lru_cache(maxsize=1000)
def read_typed(text: str, *, decimal_comma: bool = False) -> Typed:
    """Split typed text into number and unit, or raise BadInput with a sentence.

    With `decimal_comma` a comma is a decimal sign as good as the point. The places of
    a pattern come again and again, so what was read is remembered for a while.
    """
    found = _NUMBER.fullmatch(text.strip())
    if found is None:
        hint = _letter_for_digit(text) or "write one such as 0.05mm"
        message = f"{shown(text)} is not a number; {hint}"
        raise BadInput(message)
    digits, unit = found["digits"], found["unit"].strip()
    if len(digits) > _MOST_DIGITS:
        message = f"{shown(text)} has more than {_MOST_DIGITS} digits; shorten it"
        raise BadInput(message)
    if "," in digits and not decimal_comma:
        message = f"{shown(text)} has a decimal comma; write a decimal point, as 0.05mm"
        raise BadInput(message)
    if unit[:1] in {",", "."}:
        message = f"{shown(text)} has more than one decimal sign; write one, as 0.05mm"
        raise BadInput(message)
    name = unit.lower()
    if name and name not in UNITS_UM:
        asked = _letter_for_digit(text)
        if asked:
            message = f"{shown(text)} is not a number; {asked}"
            raise BadInput(message)
        message = f"{shown(text)}: {shown(unit)} is no unit known here; use {UNIT_LIST}"
        raise BadInput(message)
    digits = digits.replace(",", ".")
    value, power = Fraction("0" + digits), 0
    if found["power"]:
        power = int(re.sub(rf"[{MINUS}]", "-", found["power"]))
        value *= Fraction(10) ** power
    if found["sign"] and found["sign"] in MINUS:
        value = -value
    decimals = len(digits.partition(".")[2])
    return Typed(number=value, last_place=power - decimals, unit=name or None)


_LETTERS = (("o", "the letter o for a zero"), ("l", "the letter l for a one"))
_BEFORE_UNIT = re.compile(r"[0-9ol.,+\s]*[0-9ol]", re.IGNORECASE)


def _letter_for_digit(text: str) -> str | None:
    """Ask whether a letter that looks like a digit was typed for it."""
    found = _BEFORE_UNIT.match(text.strip())
    if found is None or len(text) > _MOST_DIGITS:
        return None
    meant = found[0].lower()
    asked = [what for letter, what in _LETTERS if letter in meant]
    meant = meant.replace("o", "0").replace("l", "1")
    unit = text.strip()[found.end() :].strip().lower()
    whole = _NUMBER.fullmatch(meant)
    if not asked or whole is None or whole["unit"] or (unit and unit not in UNITS_UM):
        return None
    return f"is that {asked[0]}?"


FEW_NUMBERS = 5
"""Below this many numbers a common multiple may well be an accident."""


def step_of(typed: Iterable[Typed]) -> Fraction:
    """Give the largest 1-2-5 step that every number is a whole multiple of.

    It is in the unit they share. Under FEW_NUMBERS numbers other than zero it is no
    coarser than the last digit typed, and with zeros only it is that digit.

    >>> step_of(map(read_typed, ["0", "2", "-4", "6", "8", "2"]))
    Fraction(2, 1)
    """
    numbers = list(typed)
    if not numbers:
        message = "no numbers to find a step in"
        raise ValueError(message)
    last_place = min(one.last_place for one in numbers)
    last_digit = Fraction(10) ** last_place
    others = [one.number for one in numbers if one.number]
    if not others:
        return last_digit
    # In units of a power of ten all of them are whole.
    unit = 10 ** max(0, -last_place)
    whole = (one.numerator * (unit // one.denominator) for one in others)
    step = _step_within(Fraction(math.gcd(*whole), unit))
    return step if len(others) >= FEW_NUMBERS else min(step, last_digit)


def _step_within(measure: Fraction) -> Fraction:
    """Give the largest of …1, 2, 5, 10… that divides a positive decimal fraction."""
    power = len(str(int(measure))) if measure >= 1 else 0
    while True:
        for lead in (5, 2, 1):
            step = lead * Fraction(10) ** power
            if measure % step == 0:
                return step
        power -= 1
