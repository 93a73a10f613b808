"""The proposed pattern: where to put the gauge on a face, in the order of a walk.

Every pattern of heights shows twist, both bows and the mouth; sticks show twist, and a
square its angle. A person may stop before the end or skip what cannot be reached.
"""

from __future__ import annotations

from dataclasses import dataclass

from lapping.face import Face
from lapping.patterns.rows import columns_mm, on_metal, rows_mm
from lapping.places import place_words

LEAF_IN_MM = 2.0
"""A leaf pushed in this far is still read at the rim, which is what it can bound."""
SHORT_MM, LONG_MM = 180.0, 400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedPlace:
    """One place to read, or two for a level and sticks, in the frame of the face.

    ``across_mm`` is None for what lies right across: sticks and a square. ``again``
    marks the first place coming round once more, for drift.
    """

    words: str
    along_mm: float
    across_mm: float | None = None
    to_along_mm: float | None = None
    to_across_mm: float | None = None
    line: str = ""
    again: bool = False


Pattern = tuple[PlannedPlace, ...]


def amount_words(pattern: Pattern) -> str:
    """Say how many readings a pattern asks for, and at how many places if fewer."""
    spots = {
        (one.along_mm, one.across_mm, one.to_along_mm, one.to_across_mm)
        for one in pattern
    }
    if len(spots) == len(pattern):
        return f"{len(spots)} places"
    return f"{len(pattern)} readings at {len(spots)} places"


def planned(
    face: Face,
    along_mm: float,
    across_mm: float | None = None,
    to_along_mm: float | None = None,
    to_across_mm: float | None = None,
    *,
    line: str = "",
    again: bool = False,
) -> PlannedPlace:
    """Plan a place and put it in words."""
    words = _words(face, along_mm, across_mm)
    if to_along_mm is not None:
        words = f"{words} to {_words(face, to_along_mm, to_across_mm)}"
    return PlannedPlace(
        words=f"{words}, once more" if again else words,
        along_mm=along_mm,
        across_mm=across_mm,
        to_along_mm=to_along_mm,
        to_across_mm=to_across_mm,
        line=line,
        again=again,
    )


def _words(face: Face, along_mm: float, across_mm: float | None) -> str:
    if across_mm is not None:
        return place_words(face, along_mm, across_mm)
    # Beside the mouth there may be no metal, and its band is the same at the edge.
    return place_words(face, along_mm, face.width_mm / 2).partition(",")[0]


def dial_pattern(face: Face) -> Pattern:
    """Give rows from toe to heel, walked to and fro, and the first place once more."""
    columns = columns_mm(face)
    walk: list[tuple[float, float]] = []
    for i, row in enumerate(rows_mm(face, _rows(face))):
        across = columns if i % 2 == 0 else columns[::-1]
        walk += [(row, column) for column in across]
    found = _on_metal(face, walk)
    again = [
        planned(face, one.along_mm, one.across_mm, again=True) for one in found[:1]
    ]
    return (*found, *again)


def feeler_pattern(face: Face) -> Pattern:
    """Give the rim, walked once round, and then both edges of the mouth."""
    inset = min(LEAF_IN_MM, face.width_mm / 8, face.length_mm / 8)
    rows = rows_mm(face, _rows(face), inset)
    first, last = inset, face.length_mm - inset
    if face.in_mouth(first, inset) or rows[0] - first < 3 * inset:
        rows = rows[1:] if len(rows) > 3 else rows
    between = [row for row in rows if 3 * inset <= row <= face.length_mm - 3 * inset]
    columns = columns_mm(face, inset)
    left, *inner, right = columns
    down = [row for row in (first, *between, last)]
    walk = [(row, left) for row in down]
    walk += [(last, column) for column in inner]
    walk += [(row, right) for row in reversed(down)]
    walk += [(first, column) for column in reversed(inner)]
    walk += _round_the_mouth(face, inset)
    return _on_metal(face, walk)


def _round_the_mouth(face: Face, inset: float) -> list[tuple[float, float]]:
    mouth = face.mouth
    if mouth is None:
        return []
    left, right = face.mouth_sides_mm()
    span = right - left
    across = [left + span * share for share in (0.15, 0.5, 0.85)]
    front, back = mouth.from_mm - inset, mouth.to_mm + inset
    walk = [(front, c) for c in across] if front > 0 else []
    return walk + (
        [(back, c) for c in reversed(across)] if back < face.length_mm else []
    )


def _on_metal(face: Face, walk: list[tuple[float, float]]) -> Pattern:
    """Move each place onto metal; a place that comes twice stands once."""
    places: dict[tuple[float, float], PlannedPlace] = {}
    for along, across in walk:
        spot = on_metal(face, along, across)
        if spot is not None and spot not in places:
            places[spot] = planned(face, *spot)
    return tuple(places.values())


def _rows(face: Face) -> int:
    """Give how many rows the documents advise for a face of this length."""
    return 5 if face.length_mm < SHORT_MM else 7 if face.length_mm < LONG_MM else 9
