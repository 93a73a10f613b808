"""What every method hands on: equations in heights, and what the bench should know."""

from __future__ import annotations

from dataclasses import dataclass

from lapping.heights import Heights
from lapping.observations import Observations
from lapping.readings import ReadingSet

STATED_DOUBT = 0.2
"""Log-standard deviation of a stated repeatability: people know it to about 20 %."""
STEP_DOUBT = 0.4
"""The same where only the smallest step typed is known."""


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


def stated_noise(readings: ReadingSet) -> tuple[float, float]:
    """Give the standard deviation of one reading as stated, and how well it is known.

    In the unit of the method's values; the step it shows, or the smallest typed, where
    no repeatability was stated.
    """
    if readings.repeatability_um is not None:
        return readings.repeatability_um, STATED_DOUBT
    return readings.resolution_um or readings.step_um, STEP_DOUBT
