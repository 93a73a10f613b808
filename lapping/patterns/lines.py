"""Patterns of instruments that lie along lines: straightedge, level, sticks, square."""

from __future__ import annotations

from itertools import pairwise

from lapping.face import Face
from lapping.patterns.rows import columns_mm, is_clear, on_metal, rounded, rows_mm
from lapping.patterns.walk import (
    Pattern,
    PlannedPlace,
    dial_pattern,
    feeler_pattern,
    planned,
)
from lapping.places import corner_names, edge_names, end_names, place_words
from lapping.readings import Method

Spot = tuple[float, float]
LEVEL_STEPS = 4
"""How often a level is stepped on along the face if the span of its feet is unknown."""
LEAST_LEVEL_STEPS = 2
MOST_GAP_SHARE = 0.4
"""A gap between stations wider than this share of the length gets one more."""
FEWEST_ON_LINE = 2
"""An edge over one place shows nothing."""
ON_LINE_SHARE = 0.06
"""A station moved off a hole stays on its line, within this share of its length."""


def pattern_for(face: Face, method: Method, *, base_mm: float | None = None) -> Pattern:
    """Give the proposed pattern of any method; `base_mm` is the span of a level's feet.

    With a straightedge it is walked twice, the edge turned end for end between.
    """
    match method:
        case "dial":
            return dial_pattern(face)
        case "feeler":
            return feeler_pattern(face)
        case "straightedge":
            return edge_pattern(face)
        case "level":
            return level_pattern(face, base_mm)
        case "winding":
            return winding_pattern(face)
        case "square":
            return square_pattern(face)


def edge_pattern(face: Face) -> Pattern:
    """Give both edges, the centre, three lines across and both diagonals.

    The corners, the ends of the centre line and the places on the lines across are
    stations of several lines each, which is what ties the lines together.
    """
    rows = _edge_rows(face)
    left, centre, right = columns_mm(face)[:: len(columns_mm(face)) // 2]
    toe, heel = end_names(face)
    middle = _middle_row(face, rows)
    one, two, three, four = corner_names(face)
    first, last = rows[0], rows[-1]
    lines: list[tuple[str, list[Spot]]] = [
        (edge_names(face)[0], [(row, left) for row in rows]),
        ("centre", [(row, centre) for row in rows]),
        (edge_names(face)[1], [(row, right) for row in rows]),
        (f"across the {toe}", [(first, c) for c in (left, centre, right)]),
        (_across_words(face, middle), [(middle, c) for c in (left, centre, right)]),
        (f"across the {heel}", [(last, c) for c in (left, centre, right)]),
        (f"{one} to {three}", _diagonal(face, (first, left), (last, right))),
        (f"{two} to {four}", _diagonal(face, (first, right), (last, left))),
    ]
    found: list[PlannedPlace] = []
    for name, spots in lines:
        found += _stations(face, name, spots)
    return tuple(found)


def _edge_rows(face: Face) -> list[float]:
    """Give the ends, both sides of the mouth, the middle, and what fills wide gaps.

    The middle is where the diagonals cross, so that they share more than the corners.
    """
    rows = rows_mm(face, 4)
    middle = rounded(face, (rows[0] + rows[-1]) / 2)
    free = all(is_clear(face, middle, c) for c in columns_mm(face))
    if free and all(abs(row - middle) >= 0.08 * face.length_mm for row in rows):
        rows = sorted([*rows, middle])
    wide = MOST_GAP_SHARE * face.length_mm
    gaps = [(low, high) for low, high in pairwise(rows) if high - low > wide]
    return sorted(rows + [rounded(face, (low + high) / 2) for low, high in gaps])


def _middle_row(face: Face, rows: list[float]) -> float:
    """Give the row nearest to the middle where both edges and the centre are metal."""
    middle = (rows[0] + rows[-1]) / 2
    inner = rows[1:-1] or rows
    clear = [r for r in inner if all(is_clear(face, r, c) for c in columns_mm(face))]
    return min(clear or inner, key=lambda row: abs(row - middle))


def _across_words(face: Face, along_mm: float) -> str:
    band = place_words(face, along_mm, face.width_mm / 2).partition(",")[0]
    return f"across {band}"


def _diagonal(face: Face, start: Spot, stop: Spot) -> list[Spot]:
    return [
        (
            rounded(face, start[0] + (stop[0] - start[0]) * share),
            start[1] + (stop[1] - start[1]) * share,
        )
        for share in (0, 0.25, 0.5, 0.75, 1)
    ]


def _stations(face: Face, name: str, spots: list[Spot]) -> list[PlannedPlace]:
    start, stop = spots[0], spots[-1]
    moved = [_along_line(face, spot, start, stop) for spot in spots]
    clear = dict.fromkeys(spot for spot in moved if spot is not None)
    if len(clear) < FEWEST_ON_LINE:
        return []
    return [planned(face, *spot, line=name) for spot in clear]


def _along_line(face: Face, spot: Spot, start: Spot, stop: Spot) -> Spot | None:
    """Move a station along its line onto metal; None if that takes it too far."""
    steps = 24
    for i in range(steps + 1):
        for way in (1, -1):
            share = way * i * ON_LINE_SHARE * 2 / steps
            moved = (
                spot[0] + (stop[0] - start[0]) * share,
                spot[1] + (stop[1] - start[1]) * share,
            )
            placed = (round(moved[0], 1), round(moved[1], 1)) if i else spot
            if is_clear(face, *placed):
                return placed
    return None


def level_pattern(face: Face, base_mm: float | None = None) -> Pattern:
    """Step a level along both edges and the centre, and across toe, middle and heel."""
    rows = _even(face.length_mm, base_mm, rows_mm(face, 2))
    columns = columns_mm(face)
    left, right = columns[0], columns[-1]
    across = [left, rounded(face, (left + right) / 2), right]
    toe, heel = end_names(face)
    lines = [
        (edge_names(face)[0], [(row, left) for row in rows]),
        ("centre", [(row, across[1]) for row in rows]),
        (edge_names(face)[1], [(row, right) for row in rows]),
        (f"across the {toe}", [(rows[0], c) for c in across]),
        (f"across the {heel}", [(rows[-1], c) for c in across]),
    ]
    found: list[PlannedPlace] = []
    for name, spots in lines:
        moved = [on_metal(face, *spot) for spot in spots]
        feet = [spot for spot in moved if spot is not None]
        found += [planned(face, *one, *two, line=name) for one, two in pairwise(feet)]
    return tuple(found)


def _even(length: float, base_mm: float | None, ends: list[float]) -> list[float]:
    start, stop = ends[0], ends[-1]
    if base_mm is None:
        steps, base = LEVEL_STEPS, (stop - start) / LEVEL_STEPS
    else:
        steps = max(LEAST_LEVEL_STEPS, int((stop - start) / base_mm))
        base = min(base_mm, (stop - start) / steps)
        start = (length - steps * base) / 2
    return [round(start + base * i, 1) for i in range(steps + 1)]


def winding_pattern(face: Face) -> Pattern:
    """Give the pairs of lines that sticks stand on: the ends, then each half."""
    rows = rows_mm(face, 5)
    toe, middle, heel = rows[0], _middle_row(face, rows), rows[-1]
    pairs = ((toe, heel), (toe, middle), (middle, heel))
    return tuple(planned(face, one, None, two) for one, two in pairs)


def square_pattern(face: Face) -> Pattern:
    """Give the places along a side where the blade of a square is held."""
    return tuple(planned(face, row) for row in rows_mm(face, 5))
