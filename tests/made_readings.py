"""Readings of made-up faces, for the tests: known shapes, known gauges, no files."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.readings import DialReading, FeelerReading, ReadingSet

Array = NDArray[np.float64]
Shape = Callable[[Array, Array], Array]

FACE = Face(length_mm=250.0, width_mm=60.0)


def grid_places(
    n_along: int, n_across: int, face: Face = FACE, edge_mm: float = 5.0
) -> list[tuple[float, float]]:
    """Lay a regular grid of places, row by row from the left edge."""
    return [
        (float(along), float(across))
        for across in np.linspace(edge_mm, face.width_mm - edge_mm, n_across)
        for along in np.linspace(edge_mm, face.length_mm - edge_mm, n_along)
    ]


def form_shape(
    face: Face = FACE, *, along_bow: float = 0, across_bow: float = 0, twist: float = 0
) -> Shape:
    """Give a second-degree face: crowns positive, toe-left and heel-right high."""

    def shape(along: Array, across: Array) -> Array:
        a = 2 * np.asarray(along) / face.length_mm - 1
        c = 2 * np.asarray(across) / face.width_mm - 1
        return -along_bow * a**2 - across_bow * c**2 + twist / 4 * a * c

    return shape


def dial_set(
    rows: Iterable[tuple[float, float, float]], *, face: Face = FACE, **header: Any
) -> ReadingSet:
    """Make a set of indicator readings (along_mm, across_mm, value_um)."""
    given: dict[str, Any] = {"step_um": 1.0, "sense": "high-positive", **header}
    return ReadingSet(
        source="dial",
        method="dial",
        face=face,
        unit="um",
        readings=tuple(
            DialReading(along_mm=a, across_mm=c, value_um=v, entered_as="", line=i)
            for i, (a, c, v) in enumerate(rows, start=1)
        ),
        **given,
    )


def read_shape(
    places: Iterable[tuple[float, float]], shape: Shape
) -> list[tuple[float, float, float]]:
    """Give the true height at each place, as a row."""
    return [(a, c, float(shape(np.array(a), np.array(c)))) for a, c in places]


def feeler_set(
    rows: Iterable[tuple[Any, ...]], *, face: Face = FACE, **header: Any
) -> ReadingSet:
    """Make leaf readings (along, across, goes, stops[, seat[, leaves of each]])."""
    readings = []
    for i, (a, c, goes, stops, *more) in enumerate(rows, start=1):
        goes_leaves, stops_leaves = more[1] if more[1:] else (1, 1)
        readings.append(
            FeelerReading(
                along_mm=a,
                across_mm=c,
                goes_um=goes,
                stops_um=stops,
                goes_leaves=goes_leaves if goes else 0,
                stops_leaves=0 if stops is None else stops_leaves,
                seat=more[0] if more else "1",
                entered_as="",
                line=i,
            )
        )
    return ReadingSet(
        source="feeler",
        method="feeler",
        face=face,
        unit="um",
        readings=tuple(readings),
        step_um=10.0,
        **header,
    )


def leaves_under(
    places: Iterable[tuple[float, float]],
    gap: Shape,
    leaves_um: tuple[float, ...],
    seat: str = "1",
) -> list[tuple[float, float, float, float | None, str]]:
    """Give the thickest leaf that goes and the next, at each place."""
    rows = []
    for a, c in places:
        here = float(gap(np.array(a), np.array(c)))
        goes = max((leaf for leaf in leaves_um if leaf <= here), default=0.0)
        stops = min((leaf for leaf in leaves_um if leaf > here), default=None)
        rows.append((a, c, goes, stops, seat))
    return rows
