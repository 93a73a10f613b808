"""Squareness of a side to the sole, from a square and leaves at stations along it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lapping.readings import ReadingSet, SquareReading

ARCMIN_PER_RADIAN = 3437.7468
MM_PER_UM = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class SquareStation:
    """Out of square at one station: positive past 90 degrees through the metal."""

    along_mm: float
    um: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Squareness:
    """How far a side is out of square to the sole, over its height.

    ``um`` is the mean over the stations and positive when the angle through the metal
    is more than 90 degrees; ``arcmin`` is the same as an angle. ``along_um`` is how
    much it changes from the toe to the heel (the side winds against the sole), None
    with one station.
    """

    um: float
    u_um: float
    arcmin: float
    over_mm: float
    along_um: float | None
    along_u_um: float | None
    stations: tuple[SquareStation, ...]


def squareness(sets: Sequence[ReadingSet]) -> Squareness | None:
    """Give the squareness from all square readings of one face, None without any.

    A gap at the top end of the blade means that the side leans over the sole, so the
    angle through the metal is less than 90 degrees. The square's own error counts with
    its stated limit (``reference_flatness``), rectangular.
    """
    squares = [s for s in sets if s.method == "square"]
    rows = [(r, s) for s in squares for r in s.readings if isinstance(r, SquareReading)]
    if not rows:
        return None
    face = squares[0].face
    sign = np.array([1.0 if r.side == "sole" else -1.0 for r, _ in rows])
    off = sign * np.array([r.gap_um for r, _ in rows])
    along = np.array([r.along_mm for r, _ in rows])
    u = np.array([s.repeatability_um or s.resolution_um or s.step_um for _, s in rows])
    own = max((s.reference_flatness_um or 0.0) for s in squares) / 3**0.5
    mean = float(np.average(off, weights=u**-2.0))
    change = change_u = None
    if np.ptp(along) > 0:
        place = along / face.length_mm - 0.5
        columns = np.stack([np.ones_like(place), place], axis=1) / u[:, None]
        fit = np.linalg.lstsq(columns, off / u, rcond=None)[0]
        change = float(fit[1])
        change_u = float(np.sqrt(np.linalg.inv(columns.T @ columns)[1, 1]))
    return Squareness(
        um=mean,
        u_um=float(np.hypot(np.sum(u**-2.0) ** -0.5, own)),
        arcmin=ARCMIN_PER_RADIAN * mean * MM_PER_UM / face.width_mm,
        over_mm=face.width_mm,
        along_um=change,
        along_u_um=change_u,
        stations=tuple(
            SquareStation(along_mm=float(a), um=float(v))
            for a, v in zip(along, off, strict=True)
        ),
    )
