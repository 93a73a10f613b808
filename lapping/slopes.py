"""Slopes as people type them: um/m, a division such as 0.02mm/m, or arcsec.

Inside the package a slope is micrometres per metre. The arithmetic is exact, as that
of lengths is.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from fractions import Fraction

from lapping.errors import BadInput
from lapping.typed import Typed, read_typed, shown
from lapping.units import unit_fraction_um

UM_PER_M = 10**6
ARCSEC_UM_PER_M = Fraction(math.pi) * UM_PER_M / 648_000
"""A half turn is 648 000 arcseconds; so small an angle is its own tangent."""
SLOPE_UNITS = "um/m, mm/m, a division such as 0.02mm/m or 0.0005in/ft, arcsec or arcmin"
_ANGLES = {"arcsec": ARCSEC_UM_PER_M, "arcmin": 60 * ARCSEC_UM_PER_M}
_FOOT_IN = 12
_MOST_ANGLES = 3600
# A unit begins at the first letter or inch sign, unless that is the e of 1e-3.
_UNIT = re.compile(r'(?!e[+−–-]?[0-9])[^\W\d_]|["″”]')


def slope_unit_um_per_m(text: str, *, decimal_comma: bool = False) -> Fraction:
    """Give the exact micrometres per metre of typed 1, or raise BadInput.

    >>> slope_unit_um_per_m("0.02mm/m")
    Fraction(20, 1)
    """
    name = text.strip().lower()
    rise, slash, run = name.partition("/")
    for angle, um_per_m in _ANGLES.items():
        if name.endswith(angle):
            count = name.removesuffix(angle).strip()
            return um_per_m * _count(count, text, decimal_comma=decimal_comma)
    if not slash:
        message = f"{shown(text)} is no unit of slopes; use {SLOPE_UNITS}"
        raise BadInput(message)
    try:
        slope = (
            unit_fraction_um(rise, decimal_comma=decimal_comma)
            / _run_um(run, decimal_comma=decimal_comma)
            * UM_PER_M
        )
    except BadInput:
        message = f"{shown(text)} is no unit of slopes; use {SLOPE_UNITS}"
        raise BadInput(message) from None
    if slope > UM_PER_M:
        message = f"the unit {shown(text)} is steeper than 1 in 1; is it right?"
        raise BadInput(message)
    return slope


def read_slope(
    text: str, *, decimal_comma: bool = False
) -> tuple[Typed, Fraction | None]:
    """Split a typed slope into its number and its own unit in µm/m, if it has one.

    >>> read_slope("-3 um/m")[0].number
    Fraction(-3, 1)
    """
    lowered = text.strip().lower()
    found = _UNIT.search(lowered)
    if found is None:
        return read_typed(lowered, decimal_comma=decimal_comma), None
    number, unit = lowered[: found.start()], lowered[found.start() :]
    if not number:
        message = f"{shown(text)} is not a number; write one such as 12 or 12 um/m"
        raise BadInput(message)
    typed = read_typed(number, decimal_comma=decimal_comma)
    per_m = slope_unit_um_per_m(unit, decimal_comma=decimal_comma)
    return replace(typed, unit=unit), per_m


def _count(text: str, unit: str, *, decimal_comma: bool) -> Fraction:
    """Give how many arcseconds one division is."""
    if not text:
        return Fraction(1)
    typed = read_typed(text, decimal_comma=decimal_comma)
    if typed.unit is not None or not 0 < typed.number <= _MOST_ANGLES:
        message = f"{shown(unit)} is no unit of slopes; use {SLOPE_UNITS}"
        raise BadInput(message)
    return typed.number


def _run_um(text: str, *, decimal_comma: bool) -> Fraction:
    """Give the base of a slope such as m, 1000mm, 10in or ft in micrometres."""
    run = text.strip()
    for foot in ("ft", "foot"):
        if run.endswith(foot):
            inches = run.removesuffix(foot) + "in"
            return _FOOT_IN * unit_fraction_um(inches, decimal_comma=decimal_comma)
    return unit_fraction_um(run, decimal_comma=decimal_comma)
