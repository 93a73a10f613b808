"""An invented face that is read and rubbed in turn, over many evenings, in a log."""

from __future__ import annotations

import numpy as np

from lapping.kept import Plane, Strokes
from lapping.log.entering import start_set
from lapping.log.entries import keep
from lapping.log.opening import Log
from lapping.log.planes import (
    FaceEntry,
    add_face,
    add_plane,
    make_face,
    read_settings,
    the_face,
)
from lapping.patterns.rows import columns_mm, rows_mm
from tests.made_logs import COLUMNS, Clock

SOLE = (
    ("face", "sole"),
    ("length", "250mm"),
    ("width", "60mm"),
    ("mouth", "80 mm to 86 mm, across 5 mm to 55 mm"),
)
DIAL = (
    ("unit", "um"),
    ("sense", "high-positive"),
    ("repeatability", "2 um"),
    ("reference_flatness", "5 um"),
)
GRITS = ("P120", "P180", "P240", "P320")


def evenings(
    log: Log,
    clock: Clock,
    many: int,
    *,
    name: str = "Bramble",
    settings: tuple[tuple[str, str], ...] = SOLE,
    out_um: float = 240.0,
) -> FaceEntry:
    """Keep so many readings of a face that comes flat, with strokes between them."""
    add_face(log, make_face("sole", settings), add_plane(log, Plane(name=name)))
    face = the_face(log, f"{name}/sole")
    drawn = read_settings(face.fact.settings)
    rng = np.random.default_rng(7)
    rows, columns = rows_mm(drawn, 7), columns_mm(drawn)
    for number in range(many):
        share = 0.9**number
        begun = start_set(log, face, "dial", COLUMNS, headers=DIAL)
        for along in rows:
            for across in columns:
                u = 2 * along / drawn.length_mm - 1
                v = 2 * across / drawn.width_mm - 1
                shape = 0.5 * (u * u - 0.5) + 0.3 * u * v + 0.05 * np.sin(9 * u + v)
                height = share * out_um * shape + rng.normal(0, 2)
                begun.add((f"{along:g}", f"{across:g}", f"{height:.0f}"))
                clock.forward(0.003)
        begun.finish()
        if number + 1 < many:
            clock.forward(0.2)
            grade = GRITS[len(GRITS) * number // many]
            fresh = number % 4 == 0
            keep(
                log, Strokes(face=face.root, grade=grade, count=150, fresh_sheet=fresh)
            )
            clock.forward(20)
    return face
