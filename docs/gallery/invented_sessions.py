"""A sample face as it would come along: rubbed by the lap model, read again and again.

Only the first readings are a sample; strokes, rates and later readings are invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np

from lapping.answer import answer
from lapping.grits import parse_grit
from lapping.planes import least_squares
from lapping.readings import DialReading, ReadingSet
from lapping.removal.job import Job, Look, Run
from lapping.warmth import METALS
from lapping.wear.lap_contact import cells_of
from lapping.wear.lap_model import Sheet, rub
from lapping.wear.lap_strokes import Rubbing

EVENINGS = (
    *(("P120", 100), ("P120", 100), ("P120", 150), ("P120", 150)),
    *(("P180", 100), ("P180", 150), ("P240", 100)),
)
STARTED = datetime(2031, 3, 3, 19, 0, tzinfo=UTC)
SHEET = Sheet(
    stiffness_mpa_per_um=5e-4,
    preston_per_mpa=5e-5,
    fading_strokes=250.0,
    lasting_share=0.1,
)
STROKE = Rubbing(load_n=40.0, stroke_mm=200.0, sub_positions=4)
NOISE_UM = 2.0


def sessions(
    label: str, first: ReadingSet, evenings: Sequence[tuple[str, int]] = EVENINGS
) -> Job:
    """Give the job of a face that was first read so, one look after each evening."""
    face = first.face
    surface = answer([first]).surface
    cells = cells_of(face, 25, 7)
    off = np.hypot(
        cells.along_mm[:, None] - surface.along_mm,
        cells.across_mm[:, None] - surface.across_mm,
    )
    level = least_squares(surface.along_mm, surface.across_mm, surface.mean_um)
    height = level.residual_um[off.argmin(axis=1)]
    rng = np.random.default_rng(5)
    looks = [Look(number=1, sets=(first,), at=STARTED)]
    runs: list[Run] = []
    for evening, (grade, strokes) in enumerate(evenings, start=1):
        height = rub(cells, height, STROKE, SHEET, strokes).height_um
        at = STARTED + timedelta(days=evening)
        runs.append(
            Run(
                number=2 * evening,
                grit=parse_grit(grade),
                strokes=strokes,
                aged_surely=True,
                fresh=True,
                at=at,
            )
        )
        rows = []
        for one in first.readings:
            assert isinstance(one, DialReading)
            off = np.hypot(
                cells.along_mm - one.along_mm, cells.across_mm - one.across_mm
            )
            value = float(height[off.argmin()] + rng.normal(0, NOISE_UM))
            rows.append(replace(one, value_um=float(round(value))))
        looks.append(
            Look(
                number=2 * evening + 1,
                sets=(replace(first, sense="high-positive", readings=tuple(rows)),),
                at=at + timedelta(hours=3),
            )
        )
    return Job(
        label=label,
        face=face,
        metal=METALS["cast iron"],
        target_um=80.0,
        looks=tuple(looks),
        runs=tuple(runs),
    )
