"""Slopes from a level or an autocollimator, as rises between two places."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.methods.stations import Stations, on_line, slopes, stations
from lapping.methods.taken import Taken, stated_noise
from lapping.observations import Observations
from lapping.readings import LevelReading, ReadingSet

Array = NDArray[np.float64]

MM_PER_M = 1e3


def take_level(readings: ReadingSet) -> Taken:
    """Turn slopes into rises, slope times distance, between their two places.

    A level on a face that is not moved (``datum: gravity``) has one unknown zero for
    all lines, so that lines along and across show twist; with ``datum: line`` every
    line has a tilt of its own.
    """
    rows = [r for r in readings.readings if isinstance(r, LevelReading)]
    ends = [(r.along_1_mm, r.across_1_mm) for r in rows]
    ends += [(r.along_2_mm, r.across_2_mm) for r in rows]
    found = stations(ends)
    n = len(rows)
    picked = found.weights()
    apart = np.array(
        [
            np.hypot(r.along_2_mm - r.along_1_mm, r.across_2_mm - r.across_1_mm)
            for r in rows
        ]
    )
    rise_per_slope = apart / MM_PER_M
    value = np.array([r.slope_um_per_m for r in rows]) * rise_per_slope
    slope_u, doubt = stated_noise(readings)
    weights = picked[n:] - picked[:n]
    if readings.datum == "gravity":
        zeros = rise_per_slope[:, None]
    else:
        weights = weights - _off_line(rows, found) @ slopes(found)
        names = list(dict.fromkeys(r.line_name for r in rows))
        zeros = (
            np.array([[float(r.line_name == name) for name in names] for r in rows])
            * rise_per_slope[:, None]
        )
    return Taken(
        observations=Observations(
            along_mm=found.along_mm,
            across_mm=found.across_mm,
            weights=weights,
            value_um=value,
            u_um=slope_u * rise_per_slope,
            low_um=value,
            high_um=value,
            unknowns=zeros,
            unknown_u=np.full(zeros.shape[1], np.inf),
            noise_doubt=doubt,
        ),
        heights=None,
        repeatability_um=float(slope_u * np.median(rise_per_slope)),
    )


def _off_line(rows: list[LevelReading], found: Stations) -> Array:
    """Give how much further off its line (n, 2) each slope's second place lies, mm."""
    n = len(rows)
    off = np.zeros((2 * n, 2))
    along, across = found.along_mm[found.index], found.across_mm[found.index]
    for name in dict.fromkeys(r.line_name for r in rows):
        on = np.array([r.line_name == name for r in rows] * 2)
        off[on] = on_line(along[on], across[on])[1]
    return off[n:] - off[:n]
