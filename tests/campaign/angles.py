"""A level that maps the lap, and a square that shows which way a face leans."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.campaign.dial import Readings, Row, mm
from tests.campaign.leaves import Leaves
from tests.campaign.surroundings import Surface

SLOPE_NOISE = 6.0
"""Repeatability of a level of 0.02 mm per metre and division, µm per metre; a guess."""
SLOPE_STEP = 2.0
BASE_MM = 100.0


def map_lap(lap: Surface, rng: np.random.Generator) -> Readings:
    """Step a level over a lap that is not moved, along three lines and across three."""
    steps = int((lap.length_mm - 30) // BASE_MM)
    start = (lap.length_mm - steps * BASE_MM) / 2
    alongs = [start + BASE_MM * n for n in range(steps + 1)]
    acrosses = [20.0, lap.width_mm / 2, lap.width_mm - 20.0]
    legs = [
        (f"along {n}", (a0, c), (a1, c))
        for n, c in enumerate(acrosses)
        for a0, a1 in pairwise(alongs)
    ]
    legs += [
        (f"across {n}", (a, c0), (a, c1))
        for n, a in enumerate((alongs[0], alongs[len(alongs) // 2], alongs[-1]))
        for c0, c1 in pairwise(acrosses)
    ]
    lean = rng.normal(0, 200, 2)
    zero = rng.normal(0, 20)
    rows: list[Row] = []
    for name, one, two in legs:
        places = np.array([one, two])
        rise = np.diff(lap.at_um(places[:, 0], places[:, 1]))[0]
        away = places[1] - places[0]
        slope = 1000 * rise / np.linalg.norm(away)
        slope += float(lean @ away / np.linalg.norm(away)) + zero
        slope += rng.normal(0, SLOPE_NOISE)
        typed = round(slope / SLOPE_STEP) * SLOPE_STEP
        rows.append((name, *map(mm, (*one, *two)), f"{typed:g}"))
    return Readings(
        method="level",
        headers=(
            ("unit", "um/m"),
            ("datum", "gravity"),
            ("repeatability", f"{SLOPE_NOISE:g} um/m"),
        ),
        columns=("line", "along_1", "across_1", "along_2", "across_2", "slope"),
        rows=tuple(rows),
        row_minutes=(0.5,) * len(rows),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Square:
    """A square and leaves at three stations of a side.

    ``starts_um`` is how far out of square the side was at first over ``height_mm``,
    positive past 90 degrees through the metal; ``error_um`` is the square's own.
    ``u_um`` is that of a gap tried with leaves of 10 µm: 10/√12 for the step, 5/√3 for
    the leaf, 1.5 for the feel.
    """

    leaves: Leaves
    length_mm: float
    height_mm: float
    starts_um: float
    error_um: float
    u_um: float = 4.4

    def off_um(self, lean_um: float, width_mm: float) -> float:
        """Give how far out of square it is when so much more has gone at the right.

        The lapped face has lost ``lean_um`` more at its right edge than at its left.
        """
        return self.starts_um - lean_um / width_mm * self.height_mm

    def read(self, off_um: float, rng: np.random.Generator) -> Readings:
        """Hold the square at three stations and try leaves at the end that is open."""
        rows: list[Row] = []
        for along in (0.1, 0.5, 0.9):
            seen = off_um + self.error_um + rng.normal(0, 1.5)
            goes = self.leaves.try_gap(abs(seen), rng)[0]
            total = sum(float(part) for part in goes.split("+"))
            end = "sole" if seen > 0 else "top"
            rows.append((mm(along * self.length_mm), f"{total:g}", end))
        return Readings(
            method="square",
            headers=(("unit", "um"), ("resolution", "10 um")),
            columns=("along", "gap", "side"),
            rows=tuple(rows),
            row_minutes=(0.7,) * len(rows),
        )
