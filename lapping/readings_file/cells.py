"""Places and heights as typed in cells, each text worked out once for each unit.

Session after session the same places are read, and heights of few digits.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from lapping.readings_file.header_lines import MOST_HEIGHT_UM
from lapping.typed import read_typed
from lapping.units import UM_PER_MM

KEPT = 1000
UNITS = 8
"""So many texts are kept, for so many units."""


class Height(NamedTuple):
    """A height, the micrometres that a typed 1 counts, and whether it can be one."""

    um: Fraction
    one_um: Fraction
    can_be: bool


@lru_cache(maxsize=UNITS)
def places_mm(comma: bool, bare_um: Fraction | None) -> Callable[[str], float]:
    """Give what reads a place; ``comma`` lets commas be decimals.

    ``bare_um`` is the unit of a number without one, as in `Typed.um`.
    """

    @lru_cache(maxsize=KEPT)
    def place_mm(cell: str) -> float:
        return float(read_typed(cell, decimal_comma=comma).um(bare_um) / UM_PER_MM)

    return place_mm


@lru_cache(maxsize=UNITS)
def heights(comma: bool, bare_um: Fraction | None) -> Callable[[str], Height]:
    """Give what reads a height, as `places_mm` does for a place."""

    @lru_cache(maxsize=KEPT)
    def height(cell: str) -> Height:
        typed = read_typed(cell, decimal_comma=comma)
        um = typed.um(bare_um)
        one_um = replace(typed, number=Fraction(1)).um(bare_um)
        return Height(um, one_um, abs(um) <= MOST_HEIGHT_UM)

    return height
