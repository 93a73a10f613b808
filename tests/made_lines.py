"""Readings along lines for the tests: edges, levels, sticks and squares, no files."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.readings import (
    EdgeReading,
    LevelReading,
    ReadingSet,
    SquareReading,
    WindingReading,
)
from tests.made_readings import FACE, Shape

Array = NDArray[np.float64]
Place = tuple[float, float]
Line = tuple[str, Place, Place, int]
"""A name, the first and the last place (along, across), and how many stations."""

SIDES: dict[str, tuple[float, float, float, float]] = {
    "left": (0, 0, 1, 0),
    "right": (0, 1, 1, 1),
    "centre": (0, 0.5, 1, 0.5),
    "toe": (0, 0, 0, 1),
    "middle": (0.5, 0, 0.5, 1),
    "heel": (1, 0, 1, 1),
    "toe-left to heel-right": (0, 0, 1, 1),
    "toe-right to heel-left": (0, 1, 1, 0),
}
"""Ends of the usual lines, as shares of the length and the width."""
SQUARE = ("left", "right", "centre", "toe", "middle", "heel")
DIAGONALS = ("toe-left to heel-right", "toe-right to heel-left")


def usual_lines(
    names: Iterable[str] = (*SQUARE, *DIAGONALS), face: Face = FACE, stations: int = 5
) -> list[Line]:
    """Lay the named lines; they meet at corners, middles of sides and the centre."""
    return [
        (
            name,
            (SIDES[name][0] * face.length_mm, SIDES[name][1] * face.width_mm),
            (SIDES[name][2] * face.length_mm, SIDES[name][3] * face.width_mm),
            stations,
        )
        for name in names
    ]


def along_line(line: Line) -> list[Place]:
    """Give the stations of a line, rounded so that equal ones are the same."""
    _, (along_1, across_1), (along_2, across_2), n = line
    f = np.linspace(0, 1, n)
    return [
        (round(a, 6), round(c, 6))
        for a, c in zip(
            (along_1 + f * (along_2 - along_1)).tolist(),
            (across_1 + f * (across_2 - across_1)).tolist(),
            strict=True,
        )
    ]


def gaps_under(
    shape: Shape,
    lines: Sequence[Line],
    *,
    bow_um: float = 0.0,
    snake_um: float = 0.0,
    over_mm: float = 125.0,
    turned: bool = False,
    seed: int | None = None,
) -> list[tuple[str, float, float, float]]:
    """Give the gaps under an edge that has a bow and an S-shape of its own.

    They stand ``bow_um`` and ``snake_um`` proud (down towards the face) at ``over_mm``
    from its middle. The edge rests on two high points of each line, or with a ``seed``
    stands on two leaves at its ends, of a height and unevenness of its own each time.
    """
    rng = None if seed is None else np.random.default_rng(seed)
    rows = []
    for line in lines:
        places = along_line(line)
        along, across = np.array(places).T
        # The edge has a first end; laid down, it points to the heel or to the right.
        ends = sorted((places[0], places[-1]))
        way = np.subtract(ends[1], ends[0])
        middle = np.add(ends[0], ends[1]) / 2
        t = ((along - middle[0]) * way[0] + (across - middle[1]) * way[1]) / (
            np.hypot(*way) * over_mm
        )
        t = -t if turned else t
        gap = -shape(along, across) - bow_um * t**2 - snake_um * t**3
        if rng is None:
            gap = gap - _rest(t, gap)
        else:
            gap = gap + 500 + rng.normal(0, 30) + rng.normal(0, 30) * t
        rows += [
            (line[0], a, c, float(g))
            for (a, c), g in zip(places, gap.tolist(), strict=True)
        ]
    return rows


def _rest(t: Array, gap: Array) -> Array:
    """Give the straight line that touches the gaps from below on both sides of 0."""
    best = None
    for i in range(t.size):
        for j in range(t.size):
            if t[i] < t[j]:
                slope = (gap[j] - gap[i]) / (t[j] - t[i])
                line = gap[i] + slope * (t - t[i])
                # It holds the middle of the edge between the two touching places.
                if (line <= gap + 1e-9).all() and (best is None or t[i] <= 0 <= t[j]):
                    best = line
    assert best is not None
    return np.asarray(best)


def edge_set(
    rows: Iterable[Sequence[Any]], *, face: Face = FACE, **header: Any
) -> ReadingSet:
    """Make edge readings (line, along, across, gap[, seat]).

    The gap is measured, or what goes and what stops as a pair.
    """
    readings = []
    for i, (name, a, c, gap, *seat) in enumerate(rows, start=1):
        goes, stops = gap if isinstance(gap, tuple) else (gap, None)
        readings.append(
            EdgeReading(
                line_name=name,
                along_mm=a,
                across_mm=c,
                gap_um=None if isinstance(gap, tuple) else gap,
                goes_um=goes,
                stops_um=stops,
                goes_leaves=1 if isinstance(gap, tuple) and goes else 0,
                stops_leaves=0 if stops is None else 1,
                seat=seat[0] if seat else "1",
                entered_as="",
                line=i,
            )
        )
    return ReadingSet(
        **{
            "source": "edge",
            "method": "straightedge",
            "face": face,
            "unit": "um",
            "readings": tuple(readings),
            "step_um": 1.0,
            **header,
        }
    )


def slopes_of(
    shape: Shape, lines: Sequence[Line], tilts: Sequence[float]
) -> list[tuple[str, float, float, float, float, float]]:
    """Give slopes in µm/m between neighbouring stations, plus each line's tilt."""
    rows = []
    for line, tilt in zip(lines, tilts, strict=True):
        places = along_line(line)
        height = shape(*np.array(places).T)
        for (a1, c1), (a2, c2), rise in zip(
            places[:-1], places[1:], np.diff(height).tolist(), strict=True
        ):
            apart_m = float(np.hypot(a2 - a1, c2 - c1)) / 1000
            rows.append((line[0], a1, c1, a2, c2, rise / apart_m + tilt))
    return rows


def level_set(
    rows: Iterable[tuple[str, float, float, float, float, float]],
    *,
    face: Face = FACE,
    **header: Any,
) -> ReadingSet:
    """Make slopes (line, along 1, across 1, along 2, across 2, µm/m)."""
    return ReadingSet(
        **{
            "source": "level",
            "method": "level",
            "face": face,
            "unit": "um/m",
            "readings": tuple(
                LevelReading(
                    line_name=name,
                    along_1_mm=a1,
                    across_1_mm=c1,
                    along_2_mm=a2,
                    across_2_mm=c2,
                    slope_um_per_m=slope,
                    entered_as="",
                    line=i,
                )
                for i, (name, a1, c1, a2, c2, slope) in enumerate(rows, start=1)
            ),
            "step_um": 1.0,
            "datum": "gravity",
            **header,
        }
    )


def winding_set(
    rows: Iterable[tuple[float, float, float, float, Any]],
    *,
    face: Face = FACE,
    **header: Any,
) -> ReadingSet:
    """Make readings of winding sticks (along 1, along 2, stick, gap, high)."""
    return ReadingSet(
        **{
            "source": "sticks",
            "method": "winding",
            "face": face,
            "unit": "um",
            "readings": tuple(
                WindingReading(
                    along_1_mm=a1,
                    along_2_mm=a2,
                    stick_mm=stick,
                    gap_um=gap,
                    high=high,
                    entered_as="",
                    line=i,
                )
                for i, (a1, a2, stick, gap, high) in enumerate(rows, start=1)
            ),
            "step_um": 10.0,
            **header,
        }
    )


def square_set(
    rows: Iterable[tuple[float, float, Any]], *, face: Face, **header: Any
) -> ReadingSet:
    """Make readings of a square (along, gap, side)."""
    return ReadingSet(
        **{
            "source": "square",
            "method": "square",
            "face": face,
            "unit": "um",
            "readings": tuple(
                SquareReading(
                    along_mm=a,
                    gap_um=gap,
                    side=side,
                    entered_as="",
                    line=i,
                )
                for i, (a, gap, side) in enumerate(rows, start=1)
            ),
            "step_um": 5.0,
            **header,
        }
    )
