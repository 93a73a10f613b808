"""Winding sticks: the twist between two lines straight across the face."""

from __future__ import annotations

import numpy as np

from lapping.methods.stations import stations
from lapping.methods.taken import Taken, stated_noise
from lapping.observations import Observations
from lapping.readings import ReadingSet, WindingReading

RESTS_UM = 3.0
"""Doubt of how a stick rests on the high points of its line, over the width of the
face; an assumption of this program."""


def take_winding(readings: ReadingSet) -> Taken:
    """Turn gaps over sticks into the twist of the four places under their ends.

    By similar triangles a gap over the stick is gap·width/stick over the face; high to
    the right at the line nearer the heel is positive.
    """
    rows = [r for r in readings.readings if isinstance(r, WindingReading)]
    width = readings.face.width_mm
    corners = [
        (along, across)
        for r in rows
        for along in (r.along_1_mm, r.along_2_mm)
        for across in (0.0, width)
    ]
    found = stations(corners)
    picked = found.weights().reshape(len(rows), 4, -1)
    weights = np.einsum("k,nkp->np", np.array([1.0, -1.0, -1.0, 1.0]), picked)
    over = np.array([width / r.stick_mm for r in rows])
    sign = np.array([{"right": 1.0, "left": -1.0, "none": 0.0}[r.high] for r in rows])
    value = sign * np.array([r.gap_um for r in rows]) * over
    gap_u, doubt = stated_noise(readings)
    u = np.hypot(gap_u * over, RESTS_UM)
    return Taken(
        observations=Observations(
            along_mm=found.along_mm,
            across_mm=found.across_mm,
            weights=weights,
            value_um=value,
            u_um=u,
            low_um=value,
            high_um=value,
            unknowns=np.zeros((len(rows), 0)),
            unknown_u=np.zeros(0),
            noise_doubt=doubt,
        ),
        heights=None,
        repeatability_um=float(np.median(u)),
    )
