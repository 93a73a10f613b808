"""What every method hands on: equations in heights, and what the bench should know."""

from __future__ import annotations

from dataclasses import dataclass

from lapping.heights import Heights
from lapping.observations import Observations


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Taken:
    """One method's readings, understood.

    ``heights`` are the plain best values at the places read, None where only all lines
    together give them. ``repeatability_um`` is the standard deviation of one reading,
    ``drift_um`` the drift from the first to the last reading (None where the first
    spot was not read again).
    """

    observations: Observations
    heights: Heights | None
    repeatability_um: float
    drift_um: float | None = None
    warnings: tuple[str, ...] = ()
