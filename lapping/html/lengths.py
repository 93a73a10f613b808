"""Lengths in both units, the one that is asked for first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lapping.units import MICROMETRES, THOU, HeightUnit

Units = Literal["um", "thou"]
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

    def range_cells(self, low_um: float, high_um: float | None) -> tuple[str, str]:
        """Give an interval for two such columns."""
        one, other = self.range_pair(low_um, high_um)
        return _bare(one), _bare(other)

    def range_pair(self, low_um: float, high_um: float | None) -> tuple[str, str]:
        """Give an interval in both units; None is an end that is not known."""
        return self._order(
            _range(
                MICROMETRES.said(low_um),
                None if high_um is None else MICROMETRES.said(high_um),
            ),
            _range(THOU.said(low_um), None if high_um is None else THOU.said(high_um)),
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

    def _order(self, metric: str, imperial: str) -> tuple[str, str]:
        return (metric, imperial) if self.first == "um" else (imperial, metric)


def _bare(text: str) -> str:
    return text.removesuffix(" µm").removesuffix(" thou")


def _range(low: str, high: str | None) -> str:
    """Write an interval with its unit once; what has no upper end is at least."""
    return f"at least {low}" if high is None else f"{low.split()[0]} to {high}"
