"""Lengths in both units, the one that is asked for first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeVar

from lapping.units import MICROMETRES, THOU, HeightUnit

Units = Literal["um", "thou"]
Kind = TypeVar("Kind", str, HeightUnit)
UNITS: tuple[Units, ...] = ("um", "thou")
MM_PER_IN = 25.4


@dataclass(frozen=True, slots=True, kw_only=True)
class Lengths:
    """How lengths are written: ``first`` stands first, the other one beside it."""

    first: Units

    @property
    def unit(self) -> HeightUnit:
        """Give the unit that stands first."""
        return MICROMETRES if self.first == "um" else THOU

    def pair(self, value_um: float, u_um: float | None = None) -> tuple[str, str]:
        """Give a height in both units, each rounded by its own doubt."""
        return self._order(MICROMETRES.said(value_um, u_um), THOU.said(value_um, u_um))

    def said(self, value_um: float, u_um: float | None = None) -> str:
        """Give a height for a sentence: ``40 µm (1.6 thou)``."""
        one, other = self.pair(value_um, u_um)
        return f"{one} ({other})"

    def cells(self, value_um: float, u_um: float | None = None) -> tuple[str, str]:
        """Give the same for two columns whose heads name the units."""
        one, other = self.pair(value_um, u_um)
        return _bare(one), _bare(other)

    def range_cells(
        self, value_um: float, low_um: float, high_um: float | None
    ) -> tuple[tuple[str, str], tuple[str, str]]:
        """Give a height and its range for two such columns, rounded alike."""
        one, other = (
            _ranged(unit, value_um, low_um, high_um)
            for unit in self._order(MICROMETRES, THOU)
        )
        return (one[0], other[0]), (one[1], other[1])

    def ends(self, low_um: float, high_um: float | None) -> tuple[str, str]:
        """Give two ends for such columns, each as it is; None is one not known."""
        return self._order(
            _ends(MICROMETRES, low_um, high_um), _ends(THOU, low_um, high_um)
        )

    def range_said(self, value_um: float, low_um: float, high_um: float) -> str:
        """Give them for a sentence: ``160 µm (6.4 thou), 95 % range 140 to 230 µm``."""
        (one, other), (first, second) = self.range_cells(value_um, low_um, high_um)
        name, beside = self.heads()
        return (
            f"{one} {name} ({other} {beside}), 95 % range {first} {name} "
            f"({second} {beside})"
        )

    def size(self, *sizes_mm: float) -> str:
        """Give the sizes of a face: ``250 × 60 mm (9.84 × 2.36 in)``."""
        mm = " × ".join(f"{size:g}" for size in sizes_mm)
        inches = " × ".join(f"{size / MM_PER_IN:.2f}" for size in sizes_mm)
        one, other = self._order(f"{mm} mm", f"{inches} in")
        return f"{one} ({other})"

    def heads(self) -> tuple[str, str]:
        """Give the heads of two columns."""
        return self._order("µm", "thou")

    def _order(self, metric: Kind, imperial: Kind) -> tuple[Kind, Kind]:
        return (metric, imperial) if self.first == "um" else (imperial, metric)


def _bare(text: str) -> str:
    return text.removesuffix(" µm").removesuffix(" thou")


def _ranged(
    unit: HeightUnit, value_um: float, low_um: float, high_um: float | None
) -> tuple[str, str]:
    """Write a height and its range; what has no upper end is at least."""
    if high_um is None:
        return unit.bare(value_um), _ends(unit, low_um, None)
    value, low, high = unit.rounded(value_um, low_um, high_um)
    return value, f"{low} to {high}"


def _ends(unit: HeightUnit, low_um: float, high_um: float | None) -> str:
    low = unit.bare(low_um)
    return f"at least {low}" if high_um is None else f"{low} to {unit.bare(high_um)}"
