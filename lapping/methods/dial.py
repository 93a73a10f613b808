"""Dial indicator readings: one datum, one sign, and the drift that rereading shows."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.heights import Heights
from lapping.methods.stations import stations
from lapping.methods.taken import STEP_DOUBT, Taken, stated_noise
from lapping.observations import Observations, plate_u_um
from lapping.readings import DialReading, ReadingSet
from lapping.units import height_unit

EQUATIONS = 300
"""More readings than this are averaged for the surface, over a mesh if need be;
the least squares and minimum zone planes still use every place."""
STEP_COUNTS_AS = 2
"""How many repeats the smallest step is worth beside real repeats."""

Array = NDArray[np.float64]


def take_dial(readings: ReadingSet) -> Taken:
    """Turn dial readings into equations in heights, positive when proud."""
    rows = [r for r in readings.readings if isinstance(r, DialReading)]
    sign = 1.0 if readings.sense == "high-positive" else -1.0
    value = np.array([sign * r.value_um for r in rows])
    found = stations((r.along_mm, r.across_mm) for r in rows)
    spot, along, across = found.index, found.along_mm, found.across_mm

    order = np.linspace(0.0, 1.0, value.size)
    drift_um = _drift(spot, order, value) if _first_spot_reread(spot) else None
    level = value - (drift_um or 0.0) * order
    count = np.bincount(spot)
    mean = np.bincount(spot, level) / count
    freedom = value.size - count.size - (drift_um is not None)
    spread = float(np.sum((level - mean[spot]) ** 2))
    u, doubt = _repeatability(readings, spread, freedom)

    heights = Heights(
        along_mm=along, across_mm=across, height_um=mean, u_um=u / np.sqrt(count)
    )
    rows_u = np.full(value.size, u)
    if value.size > EQUATIONS:
        many = count.size > EQUATIONS
        cell = _cells(readings.face, along, across)[spot] if many else spot
        share = np.bincount(cell)
        along = np.bincount(cell, along[spot]) / share
        across = np.bincount(cell, across[spot]) / share
        value = np.bincount(cell, value) / share
        order = np.bincount(cell, order) / share
        rows_u, spot = u / np.sqrt(share), np.arange(share.size)
    weights = np.zeros((value.size, along.size))
    weights[np.arange(value.size), spot] = 1.0
    unknowns, unknown_u = np.zeros((value.size, 0)), np.zeros(0)
    warnings = []
    if drift_um is not None:
        # Left free, so that what the rereading cannot settle stays in the doubt.
        unknowns, unknown_u = order[:, None], np.full(1, np.inf)
        unit = height_unit(readings.unit)
        if abs(drift_um) > 2 * 2**0.5 * u:
            warnings.append(
                f"The indicator drifted {'+' if drift_um > 0 else ''}"
                f"{unit.said(drift_um)} from the first reading to the last; that was "
                "taken out in reading order."
            )
    return Taken(
        observations=Observations(
            along_mm=along,
            across_mm=across,
            weights=weights,
            value_um=value,
            u_um=rows_u,
            low_um=value,
            high_um=value,
            unknowns=unknowns,
            unknown_u=unknown_u,
            noise_doubt=doubt,
            reference_u_um=plate_u_um(readings.reference_flatness_um),
        ),
        heights=heights,
        repeatability_um=u,
        drift_um=drift_um,
        warnings=tuple(warnings),
    )


def _cells(face: Face, along: Array, across: Array) -> NDArray[np.int64]:
    """Number the cells of a mesh over the face that have readings, one per place."""
    step = (face.length_mm * face.width_mm / EQUATIONS) ** 0.5
    columns = int(face.width_mm / step) + 1
    number = (along / step).astype(np.int64) * columns + (across / step).astype(
        np.int64
    )
    return np.unique(number, return_inverse=True)[1]


def _first_spot_reread(spot: NDArray[np.int64]) -> bool:
    """Say whether the first spot was read again after another one."""
    elsewhere = np.nonzero(spot != spot[0])[0]
    again = np.nonzero(spot == spot[0])[0]
    return bool(elsewhere.size and again[-1] > elsewhere[0])


def _drift(spot: NDArray[np.int64], order: Array, value: Array) -> float:
    """Fit the drift, first to last reading, over all spots read more than once."""
    count = np.bincount(spot)
    when = order - (np.bincount(spot, order) / count)[spot]
    what = value - (np.bincount(spot, value) / count)[spot]
    return float(when @ what / (when @ when))


def _repeatability(
    readings: ReadingSet, spread: float, freedom: int
) -> tuple[float, float]:
    """Give the standard deviation of one reading and how well it is known."""
    stated, doubt = stated_noise(readings)
    step = readings.resolution_um or readings.step_um
    rounding = step / 12**0.5
    if readings.repeatability_um is not None or freedom <= 0:
        # Stated figures are taken from readings, so the rounding is already in them.
        return max(stated, rounding), doubt
    known = freedom + STEP_COUNTS_AS
    variance = (spread + STEP_COUNTS_AS * step**2) / known
    return max(variance**0.5, rounding), min(STEP_DOUBT, (2 * known) ** -0.5)
