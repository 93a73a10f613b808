"""What the lap's own shape does to a face, and whether it can give the target."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.lap_limit import lap_limit_um
from lapping.removal.job import Job, Lap
from lapping.signs.sign import Sign
from lapping.surface.form import Form

Array = NDArray[np.float64]


def lap_signs(job: Job, target_um: float, lap: Lap | None) -> list[Sign]:
    """Say that a lap cannot give the target, by its map or by what is stated of it."""
    if lap is None:
        return []
    limit, unit = _limit(job.face, lap), job.shown_in
    if limit is not None and limit > target_um:
        return [
            Sign(
                name="lap not flat",
                says=(
                    f"by its own map the lap {lap.name} leaves this face no flatter "
                    f"than {unit.said(limit)}, and {unit.limit(target_um)} is wanted"
                ),
                um=limit,
            )
        ]
    return []


def lap_warnings(job: Job, target_um: float, lap: Lap | None) -> list[str]:
    """Say what is stated of a lap that was not read, where that is too little."""
    if lap is None or lap.form is not None or lap.flatness_um is None:
        return []
    if lap.flatness_um <= target_um:
        return []
    unit = job.shown_in
    return [
        f"the lap {lap.name} is stated flat to {unit.limit(lap.flatness_um)} "
        f"{unit.name}, and {unit.limit(target_um)} is wanted of the face: read the "
        "lap, for a face takes its shape"
    ]


def lap_form_on(face: Face, form: Form, lap: Face) -> Array:
    """Give the form (3,) that a face takes from a lap: bows turned over, twist not."""
    bows = (form.along_bow, form.across_bow, form.twist)
    long = face.length_mm / lap.length_mm
    wide = face.width_mm / lap.width_mm
    scale = np.array([-(long**2), -(wide**2), long * wide])
    return scale * [0.0 if one is None else one.um for one in bows]


def _limit(face: Face, lap: Lap) -> float | None:
    if lap.form is not None and lap.face is not None:
        return lap_limit_um(lap.form, lap.face, face)
    return None
