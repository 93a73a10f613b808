"""Grades of abrasive paper as grain sizes: FEPA P, CAMI, JIS and plain-micron film.

A number means little without its system: P400 has grains of 35 µm, CAMI 400 of 23 µm.
The sizes and their sources are in `grit_tables`; nothing is interpolated between them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from lapping.errors import BadInput
from lapping.grit_tables import FILM_UM, SIZES_UM, TOLERANCE_UM, grade_name
from lapping.sayings import System, grade_parts, no_such_grade

__all__ = ["SYSTEMS", "Grit", "System", "grits_of", "nearest", "parse_grit"]
SYSTEMS: tuple[System, ...] = ("P", "CAMI", "JIS", "film")


@dataclass(frozen=True, slots=True, kw_only=True)
class Grit:
    """A grade of paper: its system, its number there, and its mean grain in µm.

    ``number`` is None for film, which is named by its grain. ``tolerance_um`` is how
    far the mean of a sheet may be off; None where no figure was found.
    """

    system: System
    number: int | None
    grain_um: float
    tolerance_um: float | None

    @property
    def name(self) -> str:
        """Give the grade as this program writes it: P240, CAMI 240, JIS 1000, 15um."""
        if self.number is None:
            return f"{self.grain_um:g}um"
        return grade_name(self.system, self.number)

    def coarser_than(self, other: Grit) -> bool:
        """Say whether its grain is the larger one, whatever the two systems."""
        return self.grain_um > other.grain_um


@lru_cache(maxsize=100)
def parse_grit(text: str) -> Grit:
    """Read a grade as typed, or raise BadInput with the nearest grades there are.

    Sizes in µm, from the tables of FEPA 43-1 and ISO 6344, ANSI B74.18 (also written
    ANSI 240) and JIS R 6001.

    >>> parse_grit("P400").grain_um, parse_grit("cami 400").grain_um
    (35.0, 23.0)
    """
    system, number = grade_parts(text)
    if system == "film":
        return _film(number, text)
    if number not in SIZES_UM[system]:
        raise BadInput(no_such_grade(text))
    return _listed(system, int(number))


def grits_of(system: System) -> tuple[Grit, ...]:
    """Give all grades of a system in its table, the coarsest first; none for film."""
    return tuple(_listed(system, number) for number in SIZES_UM.get(system, ()))


def nearest(grit: Grit, system: System) -> Grit:
    """Give the grade of another system whose grain is nearest in proportion.

    BadInput beyond either end of that system's table. Film has every size.

    >>> nearest(parse_grit("CAMI 400"), "P").name
    'P800'
    """
    if system == grit.system:
        return grit
    if system == "film":
        return _film(grit.grain_um, grit.name)
    there = grits_of(system)
    coarsest, finest = there[0], there[-1]
    if not finest.grain_um <= grit.grain_um <= coarsest.grain_um:
        end = finest if grit.grain_um < finest.grain_um else coarsest
        way = "finer" if end is finest else "coarser"
        message = (
            f"{grit.name}, {grit.grain_um:g} µm, is {way} than any {system} grade "
            f"known here; the {way[:-1]}st is {end.name}, {end.grain_um:g} µm"
        )
        raise BadInput(message)
    # Steps are even in proportion; of two equally near the coarser, the safer guess.
    return min(there, key=lambda one: abs(math.log(one.grain_um / grit.grain_um)))


def _listed(system: System, number: int) -> Grit:
    return Grit(
        system=system,
        number=number,
        grain_um=float(SIZES_UM[system][number]),
        tolerance_um=TOLERANCE_UM[system].get(number),
    )


def _film(grain_um: float, text: str) -> Grit:
    least, most = FILM_UM
    if not least <= grain_um <= most:
        message = (
            f"'{text}' is no grain of any film; from {least:g}um to {most:g}um is "
            "expected"
        )
        raise BadInput(message)
    return Grit(system="film", number=None, grain_um=grain_um, tolerance_um=None)
