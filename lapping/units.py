"""Lengths as people type them, and numbers as people should read them.

Inside the package positions are millimetres and heights micrometres; text with a unit
is turned into them here and nowhere else. Arithmetic is exact until the last step, so
``0.1mm`` is the float nearest to 100 µm and not a product of roundings.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from difflib import get_close_matches
from fractions import Fraction

from lapping.errors import BadInput
from lapping.typed import MINUS, UNIT_LIST, UNITS_UM, read_typed, shown

UM_PER_MM = 1000
_SPELT_OUT = {
    **dict.fromkeys(("millimetre", "millimetres", "millimeters"), "mm"),
    **dict.fromkeys(("micrometre", "micrometers", "micron", "microns"), "um"),
    **dict.fromkeys(("centimetre", "centimeters"), "cm"),
    **dict.fromkeys(("thousandths", "thousands", "thous"), "thou"),
    "inches": "in",
}
_PLUS_MINUS = re.compile(rf"(?:±|\+\s*(?:/\s*)?[{MINUS}])\s*")


def unit_fraction_um(text: str, *, decimal_comma: bool = False) -> Fraction:
    """Give the exact micrometres per typed 1 of a unit such as ``mm`` or ``0.01mm``."""
    name = text.strip().lower()
    if name in UNITS_UM:
        return UNITS_UM[name]
    hint = f"use one of {UNIT_LIST}, or a step such as 0.01mm or 0.0005in"
    if not name[:1].isdigit() and name[:1] not in {".", ",", "+", *MINUS}:
        near = get_close_matches(name, _SPELT_OUT, n=1, cutoff=0.75)
        if near:
            hint = f"did you mean '{_SPELT_OUT[near[0]]}'?"
        message = f"{shown(text)} is no unit known here; {hint}"
        raise BadInput(message)
    typed = read_typed(text, decimal_comma=decimal_comma)
    if typed.unit is None:
        message = f"{shown(text)} is a number without a unit; {hint}"
        raise BadInput(message)
    if typed.number <= 0:
        message = f"the unit {shown(text)} must be more than 0; {hint}"
        raise BadInput(message)
    return typed.um()


def unit_um(text: str) -> float:
    """Give the micrometres per typed 1 of a unit such as ``um``, ``mm``, ``0.01mm``.

    >>> unit_um("0.0005in")
    12.7
    """
    return float(unit_fraction_um(text))


def parse_length_um(
    text: str, unit: str | None = None, *, decimal_comma: bool = False
) -> float:
    """Turn typed text into micrometres; a bare number is refused unless `unit` is said.

    >>> parse_length_um("2thou")
    50.8
    """
    examples = "0.05mm, 50um, 2thou or 0.002in"
    return float(_length_um(text, unit, decimal_comma, examples))


def parse_length_mm(
    text: str, unit: str | None = None, *, decimal_comma: bool = False
) -> float:
    """Turn typed text into millimetres; a bare number is refused unless `unit` is said.

    >>> parse_length_mm('2"')
    50.8
    """
    examples = "250mm, 25cm or 10in"
    return float(_length_um(text, unit, decimal_comma, examples) / UM_PER_MM)


def _length_um(
    text: str, unit: str | None, decimal_comma: bool, examples: str
) -> Fraction:
    typed = read_typed(text, decimal_comma=decimal_comma)
    if typed.unit is None and unit is None:
        message = f"{shown(text)} has no unit; write {examples}"
        raise BadInput(message)
    return typed.um(None if unit is None else unit_fraction_um(unit))


def parse_target_um(
    text: str, unit: str | None = None, *, decimal_comma: bool = False
) -> float:
    """Turn a flatness target into the largest allowed total width in micrometres.

    A target with ± is counted from the mean plane both ways, so the total is twice it.

    >>> parse_target_um("±0.04mm") == parse_target_um("0.08mm") == 80
    True
    """
    stripped = text.strip()
    sign = _PLUS_MINUS.match(stripped)
    sides = 2 if sign else 1
    size = stripped[sign.end() :] if sign else stripped
    um = parse_length_um(size, unit, decimal_comma=decimal_comma)
    if um <= 0:
        message = f"the target {shown(text)} must be more than 0"
        raise BadInput(message)
    return sides * um


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightUnit:
    """The unit heights are shown in, and how each kind of figure is written in it."""

    name: str
    um: float

    def said(self, value_um: float, u_um: float | None = None) -> str:
        """Write a height rounded by its uncertainty: ``38 ± 9 µm``, ``1.5 ± 0.4 thou``.

        Without an uncertainty, whole units from 10 up and less rounding below.
        """
        if u_um is None:
            return f"{self.bare(value_um)} {self.name}"
        if not 0 <= u_um < math.inf:
            message = f"an uncertainty cannot be {u_um}"
            raise ValueError(message)
        if u_um == 0:
            return f"{self.bare(value_um)} ± 0 {self.name}"
        place, rounded = _rounded_doubt(u_um / self.um)
        return f"{_at_place(value_um / self.um, place)} ± {rounded} {self.name}"

    def bare(self, value_um: float) -> str:
        """Write a height without the unit, as a line gives that once."""
        value = value_um / self.um
        return _plain(value, self._decimals(value))

    def limit(self, value_um: float) -> str:
        """Write what is allowed, which has no doubt and is not rounded much: ``80``."""
        return _plain(value_um / self.um, 2 + self._finer)

    def range(self, value_um: float, low_um: float, high_um: float) -> str:
        """Write a height and its range to half the range's place: ``1.7 (1.3 to 2)``.

        The unit stands behind the height.
        """
        value, low, high = self.rounded(value_um, low_um, high_um)
        return f"{value} {self.name} ({low} to {high})"

    def rounded(self, *heights_um: float) -> tuple[str, ...]:
        """Write heights and, last, the two ends of their range, all to one place."""
        values = [one / self.um for one in heights_um]
        half = (values[-1] - values[-2]) / 2
        if not 0 < half < math.inf:
            place = -self._decimals(values[0])
        else:
            place, _ = _rounded_doubt(half)
        return tuple(_at_place(one, place) if one else "0" for one in values)

    @property
    def _finer(self) -> int:
        """Give how many more decimals millimetres need to say as much."""
        return 3 if self.um == UM_PER_MM else 0

    def _decimals(self, value: float) -> int:
        # 0.1 µm is as fine as any gauge here, whatever it is written in.
        finest = 4 if self._finer else 2
        return min(_decimals(value * 10**self._finer) + self._finer, finest)


MICROMETRES = HeightUnit(name="µm", um=1.0)
MILLIMETRES = HeightUnit(name="mm", um=1000.0)
THOU = HeightUnit(name="thou", um=25.4)
_INCHES = {name for name in UNITS_UM if unit_um(name) in (THOU.um, 1000 * THOU.um)}


def height_unit(unit: str) -> HeightUnit:
    """Give what heights are shown in to a person who types this unit, slope or length.

    >>> height_unit("0.0005in/ft").name, height_unit("±2thou").name
    ('thou', 'thou')
    """
    rise = unit.partition("/")[0].strip().lower().lstrip("±+-0123456789., ")
    return THOU if rise in _INCHES else MICROMETRES


def format_um(value_um: float, u_um: float | None = None) -> str:
    """Write micrometres rounded by their uncertainty: ``38 ± 9 µm``."""
    return MICROMETRES.said(value_um, u_um)


def _decimals(value_um: float) -> int:
    size = abs(value_um)
    return 0 if size >= 10 else 1 if size >= 1 else 2


def _plain(value: float, decimals: int) -> str:
    text = _at_place(value, -decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def _at_place(value: float, place: int) -> str:
    if not math.isfinite(value):
        message = f"a length cannot be {value}"
        raise ValueError(message)
    exact = Decimal(value)
    scaled = (exact.scaleb(-place)).to_integral_value(ROUND_HALF_EVEN)
    if not scaled:  # "-0" would look like a hollow
        scaled = Decimal(0)
    return f"{scaled.scaleb(place):.{max(0, -place)}f}"


def _rounded_doubt(u: float) -> tuple[int, str]:
    """Round an uncertainty to two figures from 1.0 to 3.5, otherwise to one.

    The rule common in physics tables; the step left never exceeds u/3.
    """
    exact = Decimal(u)
    top = exact.adjusted()
    figures = exact.scaleb(-top)
    place = top - 1 if figures < Decimal("3.55") else top
    return place, _at_place(u, place)
