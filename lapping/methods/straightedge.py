"""Gaps under a straightedge: each seating of each line has its own height and tilt."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.methods.stations import on_line, slopes, stations
from lapping.methods.taken import Taken, stated_noise
from lapping.observations import Observations
from lapping.readings import EdgeReading, ReadingSet

Array = NDArray[np.float64]


def take_edges(readings: ReadingSet, *, turned_pair: bool = False) -> Taken:
    """Turn gaps under an edge into equations in heights, minus the gap.

    An edge on two equal leaves and one on two high points are read alike: its height
    and tilt over each line are free. The edge's own S-shape is the same on every line,
    in proportion to how much of it the line uses; lines read again with the edge
    turned end for end (``turned_pair``) tell it. Its bow nothing tells.
    """
    rows = [r for r in readings.readings if isinstance(r, EdgeReading)]
    found = stations((r.along_mm, r.across_mm) for r in rows)
    along = np.array([r.along_mm for r in rows])
    across = np.array([r.across_mm for r in rows])
    measured = np.array([r.gap_um is not None for r in rows])
    low, high, start = _gaps(rows, measured)
    leaf_u = readings.leaf_tolerance_um / 3**0.5
    stack = np.array([max(r.goes_leaves, r.stops_leaves, 1) for r in rows])
    gap_u, doubt = stated_noise(readings)

    face = readings.face
    unknowns, where, off = _seatings(rows, along, across)
    bounded = np.zeros(found.along_mm.size, dtype=np.bool_)
    bounded[found.index[np.isfinite(high)]] = True
    unknown_u = np.full(unknowns.shape[1], np.inf)
    limit = (readings.reference_flatness_um or 0.0) / 4
    shared = 0
    if limit > 0 or turned_pair:
        t = where / (face.length_mm / 2) * (-1 if readings.turned == "half" else 1)
        unknowns = np.column_stack([unknowns, t**3])
        unknown_u = np.append(unknown_u, np.inf if turned_pair else limit)
        shared = 1 if turned_pair else 0
    # On lines of every direction the edge's bow looks like a dome of the face.
    dome = np.array([1.0, (face.width_mm / face.length_mm) ** 2, 0.0])
    return Taken(
        observations=Observations(
            along_mm=found.along_mm,
            across_mm=found.across_mm,
            weights=found.weights() - off @ slopes(found, bounded),
            value_um=-start,
            u_um=np.where(measured, gap_u, leaf_u * np.sqrt(stack)),
            low_um=-high,
            high_um=-low,
            unknowns=unknowns,
            unknown_u=unknown_u,
            shared=shared,
            shared_by="straightedge" if shared else "",
            reference_u_um=limit * dome,
            noise_doubt=doubt,
        ),
        heights=None,
        repeatability_um=gap_u if measured.any() else leaf_u,
    )


def along_edge(readings: ReadingSet) -> Array:
    """Give each reading's place along its line (n,), in mm from the line's middle.

    Towards the heel, or towards the right on a line straight across.
    """
    rows = [r for r in readings.readings if isinstance(r, EdgeReading)]
    along = np.array([r.along_mm for r in rows])
    across = np.array([r.across_mm for r in rows])
    return _seatings(rows, along, across)[1]


def _gaps(
    rows: list[EdgeReading], measured: NDArray[np.bool_]
) -> tuple[Array, Array, Array]:
    """Give the least and the largest gap, and where to start between them."""
    gap = np.array([r.goes_um if r.gap_um is None else r.gap_um for r in rows])
    stops = np.array([np.inf if r.stops_um is None else r.stops_um for r in rows])
    high = np.where(measured, gap, stops)
    closed = ~measured & np.isfinite(stops)
    usual = float(np.median((stops - gap)[closed])) if closed.any() else 0.0
    width = np.where(
        np.isfinite(high), np.where(np.isfinite(high), high, 0) - gap, usual
    )
    return gap, high, gap + width / 2


def _seatings(
    rows: list[EdgeReading], along: Array, across: Array
) -> tuple[Array, Array, Array]:
    """Give height and tilt columns of each seating, and each place along its line.

    Places as `on_line` counts them; the third is how far (n, 2) each is off its line.
    """
    where = np.zeros(len(rows))
    off = np.zeros((len(rows), 2))
    columns = []
    for name in dict.fromkeys(r.line_name for r in rows):
        on = np.array([r.line_name == name for r in rows])
        t, off[on] = on_line(along[on], across[on])
        where[on] = t
        reach = float(np.abs(t).max())
        for seat in dict.fromkeys(r.seat for r in rows if r.line_name == name):
            here = np.array([r.line_name == name and r.seat == seat for r in rows])
            columns += [here.astype(np.float64), np.where(here, where / reach, 0.0)]
    return np.column_stack(columns), where, off
