"""A small map of the face in plain characters: read, here, to come."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.face import Face
from lapping.patterns.walk import PlannedPlace
from lapping.places import edge_names, end_names
from lapping.prompt.line import State, Walk

INNER = 23
"""Characters across the face; with its frame it fits a telephone's terminal."""
NARROW = 15
NEAR_SHARE = 0.025
"""Places nearer along than this share of the length stand in one row of the map."""
MARKS: dict[State, str] = {"open": ".", "read": "o", "skipped": "-"}
HERE, FEET = "X", ("1", "2")
"""A level has two feet, and which of them is which gives the slope its sign."""
LEGEND = "X here  o read  . to come  - skipped"


def draw_map(
    face: Face, plan: Sequence[PlannedPlace], walk: Walk, *, sole_down: bool = False
) -> list[str]:
    """Draw the places that belong together now; the toe is away from you, at the top.

    Of instruments on lines only the line under the instrument is drawn. With
    `sole_down` left and right swap, as they do on the plate.
    """
    inner = INNER if face.width_mm > 25 else NARROW
    marks = _marks(face, plan, walk)
    along = _rows(face, [place[0] for place in marks])
    drawn: dict[int, list[str]] = {i: [" "] * inner for i in range(len(along))}
    for (place_along, place_across), mark in marks.items():
        i = min(range(len(along)), key=lambda k: abs(along[k] - place_along))
        share = place_across / face.width_mm
        at = round((1 - share if sole_down else share) * (inner - 1))
        # Two marks may meet in one cell; the one that is asked for must be seen.
        if drawn[i][at] not in {HERE, *FEET}:
            drawn[i][at] = mark
    lines = [_ends(face, 0, inner, sole_down=sole_down), f"+{'-' * (inner + 2)}+"]
    mouth_at = _mouth_at(face, along)
    for i in range(len(along)):
        if i == mouth_at:
            lines.append(f"| {_mouth(face, inner, sole_down=sole_down)} |")
        lines.append(f"| {''.join(drawn[i])} |")
    if mouth_at == len(along):
        lines.append(f"| {_mouth(face, inner, sole_down=sole_down)} |")
    lines.append(f"+{'-' * (inner + 2)}+")
    lines.append(end_names(face)[1].center(inner + 4).rstrip())
    return lines


def _marks(
    face: Face, plan: Sequence[PlannedPlace], walk: Walk
) -> dict[tuple[float, float], str]:
    here = None if walk.at is None else plan[walk.at]
    marks: dict[tuple[float, float], str] = {}
    for place, state in zip(plan, walk.states, strict=True):
        if here is not None and place.line != here.line:
            continue
        for spot in spots_of(face, place):
            # The first place stands twice in the plan; its own mark comes first.
            if not (place.again and spot in marks):
                marks[spot] = MARKS[state]
    if here is not None:
        feet = FEET if here.to_across_mm is not None else None
        spots = spots_of(face, here)
        marks |= dict(zip(spots, feet or HERE * len(spots), strict=True))
    return marks


def spots_of(face: Face, place: PlannedPlace) -> list[tuple[float, float]]:
    """Give where marks stand; what lies right across has three of them."""
    right_across = (0.0, face.width_mm / 2, face.width_mm)
    along = [place.along_mm]
    if place.to_across_mm is None and place.to_along_mm is not None:
        along.append(place.to_along_mm)
    if place.across_mm is None:
        return [(one, across) for one in along for across in right_across]
    spots = [(place.along_mm, place.across_mm)]
    if place.to_along_mm is not None and place.to_across_mm is not None:
        spots.append((place.to_along_mm, place.to_across_mm))
    return spots


def _rows(face: Face, along: Sequence[float]) -> list[float]:
    near = NEAR_SHARE * face.length_mm
    rows: list[float] = []
    for one in sorted(set(along)):
        if not rows or one - rows[-1] > near or _parted(face, rows[-1], one):
            rows.append(one)
    return rows


def _parted(face: Face, low: float, high: float) -> bool:
    mouth = face.mouth
    return mouth is not None and low <= mouth.from_mm and high >= mouth.to_mm


def _mouth_at(face: Face, along: Sequence[float]) -> int | None:
    mouth = face.mouth
    if mouth is None:
        return None
    return sum(row <= mouth.from_mm for row in along)


def _mouth(face: Face, inner: int, *, sole_down: bool) -> str:
    left, right = (side / face.width_mm for side in face.mouth_sides_mm())
    if sole_down:
        left, right = 1 - right, 1 - left
    first, last = round(left * (inner - 1)), round(right * (inner - 1))
    return "".join("=" if first <= i <= last else " " for i in range(inner))


def _ends(face: Face, end: int, inner: int, *, sole_down: bool) -> str:
    """Give the line above the map: the end's name between those of the edges."""
    one, two = (name.removesuffix(" edge") for name in edge_names(face))
    left, right = (two, one) if sole_down else (one, two)
    middle = end_names(face)[end].center(inner + 4 - len(left) - len(right))
    return f"{left}{middle}{right}"
