"""What the log says of squareness, mouths and thicknesses, in the order entered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lapping.errors import LappingError
from lapping.history import Plane
from lapping.log.entries import past
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, PlaneEntry
from lapping.log.sets import as_readings, sets_of, state_of
from lapping.readings import LEAF_TOLERANCE_UM, ReadingSet
from lapping.remarks import Remark
from lapping.removal.job import Gauged, Squared
from lapping.squareness import squareness

Told = Sequence[tuple[int, Remark]]
"""Remarks with the numbers of their entries."""


def squares(log: Log, sides: Sequence[FaceEntry]) -> list[Squared]:
    """Give every reading of squareness of a plane's sides; what cannot be is left out.

    Sets that cannot be read back are told where the face itself is gathered.
    """
    found = []
    for side in sides:
        for entry in sets_of(log, side):
            if entry.fact.method != "square":
                continue
            if state_of(log, entry.root) != "finished":
                continue
            try:
                told = squareness([_as_gauged(as_readings(log, entry))])
            except LappingError:
                continue
            if told is not None:
                found.append(
                    Squared(number=entry.root, side=side.fact.name, found=told)
                )
    return sorted(found, key=lambda one: one.number)


def mouths(log: Log, plane: PlaneEntry | None, told: Told) -> list[Gauged]:
    """Give the mouth's openings, from the plane's own lines and from remarks."""
    found, before = [], None
    for entry in () if plane is None else past(log, plane.root):
        mouth = entry.fact.mouth_mm if isinstance(entry.fact, Plane) else None
        if mouth is not None and mouth != before:
            found.append(Gauged(number=entry.id, mm=mouth))
            before = mouth
    found += [
        Gauged(number=number, mm=remark.mouth_mm)
        for number, remark in told
        if remark.mouth_mm is not None
    ]
    return sorted(found, key=lambda one: one.number)


def thicknesses(told: Told) -> list[Gauged]:
    """Give the body's thickness, from remarks."""
    return [
        Gauged(number=number, mm=remark.thickness_mm)
        for number, remark in told
        if remark.thickness_mm is not None
    ]


def _as_gauged(read: ReadingSet) -> ReadingSet:
    """Leave out the square's own error, which a later reading has too.

    What is read in steps is off by a step over √12 (rectangular: GUM 4.3.7), and the
    leaf beside it by its tolerance over √3.
    """
    u = read.repeatability_um
    if u is None:
        step = read.resolution_um or read.step_um
        u = float(np.hypot(step / 12**0.5, LEAF_TOLERANCE_UM / 3**0.5))
    return replace(read, repeatability_um=u, reference_flatness_um=None)
