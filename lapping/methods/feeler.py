"""Feeler leaves under a face that rests on a plate: intervals for the gap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.errors import TooFewReadings
from lapping.face import Face
from lapping.heights import Heights
from lapping.methods.stations import stations
from lapping.methods.taken import Taken
from lapping.observations import Observations, plane_terms, plate_u_um
from lapping.readings import FeelerReading, ReadingSet
from lapping.zone.bracket import Bracket, feeler_bracket

Array = NDArray[np.float64]

LEAST_SHARE = 0.01
"""The least uncertainty of a leaf, as a share of the usual step between leaves."""


def take_feeler(readings: ReadingSet) -> Taken:
    """Turn leaves that go and stop into intervals of height, minus the gap.

    A leaf that goes is clear of the face all the way in, so it bounds the spot from
    above; one that stops may have stopped anywhere on its way, so it bounds the spot
    from below only at the rim.
    """
    rows = [r for r in readings.readings if isinstance(r, FeelerReading)]
    face = readings.face
    found = stations((r.along_mm, r.across_mm) for r in rows)
    spot, along, across = found.index, found.along_mm, found.across_mm
    weights = found.weights()

    low, high = _bounds(face, rows)
    bounded = np.isfinite(low)
    usual = float(np.median((high - low)[bounded])) if bounded.any() else 0.0
    # A spot without a lower bound starts half a usual interval under its upper one.
    half = np.where(bounded, high - np.where(bounded, low, high), usual) / 2
    middle = high - half
    # No leaf is without error, and a bound without any leaves nothing to weigh.
    least = LEAST_SHARE * (usual or float(np.ptp(high)) or readings.step_um)
    leaf_u = max(readings.leaf_tolerance_um / 3**0.5, least)
    ends_u = leaf_u * np.sqrt(
        [max(r.goes_leaves, r.stops_leaves, 1) for r in rows], dtype=np.float64
    )
    seats = _seatings(face, rows)
    u = np.maximum(half / 3**0.5, ends_u)
    count = np.bincount(spot)
    return Taken(
        observations=Observations(
            along_mm=along,
            across_mm=across,
            weights=weights,
            value_um=middle,
            u_um=ends_u,
            low_um=low,
            high_um=high,
            unknowns=seats,
            unknown_u=np.full(seats.shape[1], np.inf),
            noise_doubt=0.0,
            reference_u_um=plate_u_um(readings.reference_flatness_um),
        ),
        heights=Heights(
            along_mm=along,
            across_mm=across,
            height_um=_adjust(weights, seats, middle),
            u_um=np.sqrt(np.bincount(spot, u**2)) / count,
        ),
        repeatability_um=max(usual / 12**0.5, leaf_u),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SureBounds:
    """What the leaves guarantee at each distinct place; infinite where nothing."""

    along_mm: Array
    across_mm: Array
    low_um: Array
    high_um: Array


def sure_bounds(readings: ReadingSet) -> SureBounds | None:
    """Give bounds that hold for certain, widened by leaf tolerance and plate flatness.

    None with more than one seating: heights from different seatings cannot be compared
    without a calculation, and that guarantees nothing.
    """
    rows = [r for r in readings.readings if isinstance(r, FeelerReading)]
    if len({r.seat for r in rows}) > 1:
        return None
    plate = readings.reference_flatness_um or 0.0
    low, high = _bounds(readings.face, rows)
    one = readings.leaf_tolerance_um
    low = low - one * np.array([r.stops_leaves for r in rows]) - plate
    high = high + one * np.array([r.goes_leaves for r in rows]) + plate
    merged: dict[tuple[float, float], tuple[float, float]] = {}
    for row, below, above in zip(rows, low, high, strict=True):
        place = (row.along_mm, row.across_mm)
        was_low, was_high = merged.get(place, (-np.inf, np.inf))
        merged[place] = (max(was_low, float(below)), min(was_high, float(above)))
    along, across = np.array(list(merged)).T
    lows, highs = np.array(list(merged.values())).T
    if (lows > highs).any():
        i = int(np.argmax(lows - highs))
        message = (
            f"The repeats at {along[i]:g} mm along, {across[i]:g} mm across contradict "
            "each other by more than the leaves' tolerance: read that spot again."
        )
        raise TooFewReadings(message)
    return SureBounds(along_mm=along, across_mm=across, low_um=lows, high_um=highs)


def _bounds(face: Face, rows: list[FeelerReading]) -> tuple[Array, Array]:
    rim = np.array([face.at_rim(r.along_mm, r.across_mm) for r in rows])
    stops = np.array([np.inf if r.stops_um is None else r.stops_um for r in rows])
    return np.where(rim, -stops, -np.inf), -np.array([r.goes_um for r in rows])


def _seatings(face: Face, rows: list[FeelerReading]) -> Array:
    """Give each seating after the first its own free offset and two tilts."""
    along = np.array([r.along_mm for r in rows])
    across = np.array([r.across_mm for r in rows])
    plane = plane_terms(face, along, across)
    names = list(dict.fromkeys(r.seat for r in rows))
    columns = [
        np.where(np.array([r.seat == name for r in rows])[:, None], plane, 0.0)
        for name in names[1:]
    ]
    return np.column_stack(columns) if columns else np.zeros((len(rows), 0))


def _adjust(weights: Array, seats: Array, middle: Array) -> Array:
    """Give the height of each place with every seating brought to the first one's."""
    design = np.column_stack([weights, seats])
    solution, _, rank, _ = np.linalg.lstsq(design, middle, rcond=None)
    if rank < design.shape[1]:
        message = (
            "Two seatings share fewer than three spots off one line, so their readings "
            "cannot be brought together: read three spots again in the second seating."
        )
        raise TooFewReadings(message)
    return np.asarray(solution[: weights.shape[1]])


def proved_bracket(sets: Sequence[ReadingSet]) -> Bracket | None:
    """Give the bracket that the leaves of one set prove; nothing else proves bounds."""
    if len(sets) != 1 or sets[0].method != "feeler":
        return None
    bounds = sure_bounds(sets[0])
    if bounds is None:
        return None
    return feeler_bracket(
        bounds.along_mm, bounds.across_mm, bounds.low_um, bounds.high_um
    )
