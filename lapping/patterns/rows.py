"""Where a pattern may put its rows, columns and places: on metal, clear of holes.

Lengths are in millimetres in the frame of the face. Places are whole millimetres
wherever the face is long enough for it, because they are marked with a pencil.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from lapping.face import Face

END_MM, END_SHARE = 8.0, 0.04
"""The first row stands this far in, or this share of the length if that is less."""
EDGE_MM, EDGE_SHARE = 5.0, 0.08
AHEAD_MM, BEHIND_MM = 4.0, 6.0
"""How far the rows at the mouth stand from its edges: on metal that bears."""
APART_MM, APART_SHARE = 8.0, 0.03
"""Rows nearer to each other than this tell the same."""
CLEAR_MM = 2.0
"""A tip or a leaf is wide itself, so it keeps this far from the rim of a hole."""
WIDE_MM = 90.0
"""From this width on three columns leave too much unread between them."""


def rows_mm(face: Face, count: int, inset_mm: float | None = None) -> list[float]:
    """Give at least `count` rows along the face, those at the ends and mouth first.

    Rows are never in the mouth. Without room for it at an end, the row at the mouth
    stands for the end.
    """
    length = face.length_mm
    inset = min(END_MM, END_SHARE * length) if inset_mm is None else inset_mm
    apart = min(APART_MM, APART_SHARE * length)
    rows = _mouth_rows(face)
    for end in (inset, length - inset):
        if all(abs(end - row) >= apart for row in rows) and not _beside(face, end):
            rows.append(end)
    rows.sort()
    gaps = [
        (low, high)
        for low, high in pairwise(rows)
        if not _mouth_between(face, low, high)
    ]
    parts = {gap: 1 for gap in gaps}
    for _ in range(count - len(rows)):
        widest = max(gaps, key=lambda gap: (gap[1] - gap[0]) / parts[gap], default=None)
        if widest is None or (widest[1] - widest[0]) / (parts[widest] + 1) < apart:
            break
        parts[widest] += 1
    for (low, high), n in parts.items():
        rows += [low + (high - low) * i / n for i in range(1, n)]
    return sorted({rounded(face, row) for row in rows})


def columns_mm(face: Face, inset_mm: float | None = None) -> list[float]:
    """Give the columns across the face: near both edges, the centre, more if wide."""
    width = face.width_mm
    inset = min(EDGE_MM, EDGE_SHARE * width) if inset_mm is None else inset_mm
    steps = 4 if width >= WIDE_MM else 2
    span = width - 2 * inset
    return [rounded(face, inset + span * i / steps) for i in range(steps + 1)]


def _mouth_rows(face: Face) -> list[float]:
    mouth = face.mouth
    if mouth is None:
        return []
    room = face.length_mm - mouth.to_mm
    ahead = mouth.from_mm - min(AHEAD_MM, mouth.from_mm / 2)
    behind = mouth.to_mm + min(BEHIND_MM, room / 2)
    return [row for row in (ahead, behind) if 0 < row < face.length_mm]


def _beside(face: Face, along_mm: float) -> bool:
    mouth = face.mouth
    return mouth is not None and mouth.from_mm <= along_mm <= mouth.to_mm


def _mouth_between(face: Face, low: float, high: float) -> bool:
    mouth = face.mouth
    return mouth is not None and low < mouth.to_mm and high > mouth.from_mm


def rounded(face: Face, value_mm: float) -> float:
    """Round to what can be marked on a face of this size."""
    size = min(face.length_mm, face.width_mm)
    return round(value_mm) if size >= 30 else round(value_mm, 1 if size >= 3 else 3)


def on_metal(
    face: Face, along_mm: float, across_mm: float
) -> tuple[float, float] | None:
    """Give the nearest place with metal under a tip, moved along before across.

    None if there is none within a quarter of the face.
    """
    for d_along, d_across in _around(face):
        place = along_mm + d_along, across_mm + d_across
        if is_clear(face, *place):
            return place
    return None


def is_clear(face: Face, along_mm: float, across_mm: float) -> bool:
    """Say whether a tip a few millimetres wide has metal under all of it."""
    clear = min(CLEAR_MM, EDGE_SHARE * face.width_mm / 2)
    return face.is_metal(along_mm, across_mm) and all(
        math.dist((along_mm, across_mm), (hole.along_mm, hole.across_mm))
        >= hole.diameter_mm / 2 + clear
        for hole in face.holes
    )


def _around(face: Face) -> Iterator[tuple[float, float]]:
    step = max(1.0, face.length_mm / 400) if face.width_mm >= 30 else 0.5
    most = int(face.length_mm / 4 / step)
    sideways = int(face.width_mm / 4 / step)
    offsets = [
        (i * step, j * step)
        for i in range(-most, most + 1)
        for j in range(-sideways, sideways + 1)
    ]
    # Sideways counts double: a place moved along still stands in its column.
    yield from sorted(offsets, key=lambda o: (math.hypot(o[0], 2 * o[1]), o))
