"""Slopes from a level or an autocollimator, as rises between two places."""

from __future__ import annotations

import numpy as np

from lapping.methods.stations import stations
from lapping.methods.taken import Taken
from lapping.observations import Observations
from lapping.readings import LevelReading, ReadingSet

STATED_DOUBT, STEP_DOUBT = 0.2, 0.4
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
    stated = readings.repeatability_um
    slope_u = stated or readings.resolution_um or readings.step_um
    if readings.datum == "gravity":
        zeros = rise_per_slope[:, None]
    else:
        names = list(dict.fromkeys(r.line_name for r in rows))
        zeros = (
            np.array([[float(r.line_name == name) for name in names] for r in rows])
            * rise_per_slope[:, None]
        )
    return Taken(
        observations=Observations(
            along_mm=found.along_mm,
            across_mm=found.across_mm,
            weights=picked[n:] - picked[:n],
            value_um=value,
            u_um=slope_u * rise_per_slope,
            low_um=value,
            high_um=value,
            unknowns=zeros,
            unknown_u=np.full(zeros.shape[1], np.inf),
            noise_doubt=STEP_DOUBT if stated is None else STATED_DOUBT,
        ),
        heights=None,
        repeatability_um=float(slope_u * np.median(rise_per_slope)),
    )
