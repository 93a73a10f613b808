"""A face drawn true to scale with the places of a pattern numbered on it.

It lies as in every picture: toe at the left, across 0 at the bottom. The black corner
is the same corner of the plane on every sheet, where along and across are 0.
"""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon, Rectangle

from lapping.face import Face
from lapping.patterns.walk import Pattern, PlannedPlace
from lapping.places import corner_names, edge_names, end_names

SCALES = (1.0, 2.0, 2.5, 4.0, 5.0, 10.0, 20.0, 50.0)
"""How many millimetres one on paper may stand for."""
NUMBER_PT, SMALL_PT, SIDE_PT = 8.0, 6.5, 9.0
CORNER_MM = (6.0, 1.3)
"""How long and how thick the black corner is."""
CLOSE_MM = 5.0
"""Numbers under the face nearer than this are set on two lines."""
NOT_METAL = "#d9d9d9"
ABOVE_MM, BELOW_MM = 7.0, 14.0
"""What the words above and below the outline take."""
CROSS_MM, OFF_MM, DIGIT_MM = 1.5, 0.6, (2.0, 2.3)
"""Half of a cross, how far off a number stands, and about what a digit takes."""
Box = tuple[float, float, float, float]
"""Left, bottom, right and top on the page."""
Spot = tuple[float, float | None, float | None, float | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where a face lies on the page: its toe at the left, how much it is reduced."""

    left_mm: float
    bottom_mm: float
    scale: float

    def at(self, along_mm: float, across_mm: float) -> tuple[float, float]:
        """Give the place on the page."""
        return (
            self.left_mm + along_mm / self.scale,
            self.bottom_mm + across_mm / self.scale,
        )


def scale_for(face: Face, wide_mm: float, tall_mm: float) -> float:
    """Give the first scale at which a face fits: 1 is true size."""
    fits = max(face.length_mm / wide_mm, face.width_mm / tall_mm)
    return next((scale for scale in SCALES if scale >= fits), float(int(fits) + 1))


def numbers_of(pattern: Pattern) -> tuple[int, ...]:
    """Number the places in the order of the walk; one that comes again keeps its own.

    The numbers are in the order of the pattern, as the rows to fill in are.
    """
    known: dict[Spot, int] = {}
    return tuple(known.setdefault(_spot(one), len(known) + 1) for one in pattern)


def draw_numbered(page: Axes, face: Face, pattern: Pattern, at: Placed) -> None:
    """Draw the outline, the numbered places, and the words that tell the ends apart."""
    _outline(page, face, at)
    for line in dict.fromkeys(one.line for one in pattern if one.line):
        on = [one for one in pattern if one.line == line]
        known = [
            at.at(a, c)
            for one in on
            for a, c in (
                (one.along_mm, one.across_mm),
                (one.to_along_mm, one.to_across_mm),
            )
            if a is not None and c is not None
        ]
        page.plot(*zip(*known, strict=True), color="#999999", lw=0.5, zorder=1)
    marks: dict[tuple[float, float], list[int]] = {}
    for one, number in zip(pattern, numbers_of(pattern), strict=True):
        for spot in _marks(face, one):
            numbers = marks.setdefault(spot, [])
            if number not in numbers:
                numbers.append(number)
    taken = _not_for_numbers(face, at)
    for (along, across), numbers in marks.items():
        _number(page, at.at(along, across), numbers, taken)
    for one in pattern:
        if one.across_mm is None:
            for along in _alongs(one):
                ends = [at.at(along, c) for c in (0.0, face.width_mm)]
                page.plot(*zip(*ends, strict=True), color="black", lw=0.6, ls=":")
        elif one.to_along_mm is not None and one.to_across_mm is not None:
            feet = (
                at.at(one.along_mm, one.across_mm),
                at.at(one.to_along_mm, one.to_across_mm),
            )
            page.plot(*zip(*feet, strict=True), "o", color="black", ms=1.8)
    _lengths(page, face, pattern, at)
    _words(page, face, at)


def _spot(one: PlannedPlace) -> Spot:
    return one.along_mm, one.across_mm, one.to_along_mm, one.to_across_mm


def _alongs(one: PlannedPlace) -> tuple[float, ...]:
    """Give where a place is along the face: one place, or both feet or sticks."""
    second = one.to_along_mm
    return (one.along_mm,) if second is None else (one.along_mm, second)


def _marks(face: Face, one: PlannedPlace) -> list[tuple[float, float]]:
    """Give where the number of a place is written: between two feet, on both sticks."""
    if one.across_mm is None:
        # A little below the upper edge, where neither outline nor dots are.
        across = 0.8 * face.width_mm
        return [(along, across) for along in _alongs(one)]
    if one.to_along_mm is None or one.to_across_mm is None:
        return [(one.along_mm, one.across_mm)]
    return [
        (
            (one.along_mm + one.to_along_mm) / 2,
            (one.across_mm + one.to_across_mm) / 2,
        )
    ]


def _not_for_numbers(face: Face, at: Placed) -> list[Box]:
    """Give what numbers keep off: all round the outline, the mouth, holes, corner."""
    left, bottom = at.at(0, 0)
    right, top = at.at(face.length_mm, face.width_mm)
    far = 1000.0
    boxes = [
        (left - far, bottom - far, left, top + far),
        (right, bottom - far, right + far, top + far),
        (left - far, bottom - far, right + far, bottom),
        (left - far, top, right + far, top + far),
    ]
    if face.mouth is not None:
        low, high = face.mouth_sides_mm()
        boxes.append((*at.at(face.mouth.from_mm, low), *at.at(face.mouth.to_mm, high)))
    for hole in face.holes:
        r = hole.diameter_mm / 2
        boxes.append(
            (
                *at.at(hole.along_mm - r, hole.across_mm - r),
                *at.at(hole.along_mm + r, hole.across_mm + r),
            )
        )
    return boxes


def _number(
    page: Axes, spot: tuple[float, float], numbers: list[int], taken: list[Box]
) -> None:
    """Mark a place with a cross and write its number where there is room beside it."""
    x, y = spot
    page.plot([x - CROSS_MM, x + CROSS_MM], [y, y], color="black", lw=0.5)
    page.plot([x, x], [y - CROSS_MM, y + CROSS_MM], color="black", lw=0.5)
    said = ", ".join(map(str, numbers))
    wide, tall = DIGIT_MM[0] * len(said), DIGIT_MM[1]
    off = OFF_MM
    ways = [
        (x + off if right else x - off - wide, y + off if up else y - off - tall)
        for up, right in ((True, True), (True, False), (False, True), (False, False))
    ]
    boxes = [(left, low, left + wide, low + tall) for left, low in ways]
    best = min(boxes, key=lambda box: sum(_meet(box, other) for other in taken))
    taken.append(best)
    words = page.text(best[0], best[1], said, size=NUMBER_PT, weight="bold", zorder=4)
    words.set_gid(f"place {said}")


def _meet(one: Box, other: Box) -> bool:
    return (
        one[0] < other[2]
        and other[0] < one[2]
        and one[1] < other[3]
        and other[1] < one[3]
    )


def _outline(page: Axes, face: Face, at: Placed) -> None:
    wide, tall = face.length_mm / at.scale, face.width_mm / at.scale
    page.add_patch(
        Rectangle(at.at(0, 0), wide, tall, fill=False, lw=0.8, gid="outline", zorder=2)
    )
    if face.mouth is not None:
        low, high = face.mouth_sides_mm()
        start, stop = face.mouth.from_mm, face.mouth.to_mm
        page.add_patch(
            Rectangle(
                at.at(start, low),
                (stop - start) / at.scale,
                (high - low) / at.scale,
                fc=NOT_METAL,
                ec="black",
                lw=0.6,
                zorder=2,
            )
        )
    for hole in face.holes:
        middle = at.at(hole.along_mm, hole.across_mm)
        size = hole.diameter_mm / 2 / at.scale
        page.add_patch(Circle(middle, size, fc=NOT_METAL, ec="black", lw=0.6))
    # Outside, because places may lie right in the corner.
    x, y = at.at(0, 0)
    arm, thick = CORNER_MM
    bracket = [(-thick, -thick), (arm, -thick), (arm, 0), (0, 0), (0, arm)]
    bracket.append((-thick, arm))
    page.add_patch(Polygon([(x + a, y + b) for a, b in bracket], fc="black", lw=0))


def _lengths(page: Axes, face: Face, pattern: Pattern, at: Placed) -> None:
    """Write along below the outline and across at its right end, to mark places by."""
    before, low = -CLOSE_MM, False
    for along in sorted({along for one in pattern for along in _alongs(one)}):
        x, y = at.at(along, 0)
        low = x - before < CLOSE_MM and not low
        down = 5.6 if low else 2.8
        page.plot([x, x], [y - down + 2.3, y], color="black", lw=0.3)
        page.text(x, y - down, f"{along:g}", size=SMALL_PT, ha="center", va="center")
        before = x
    columns: set[float] = set()
    for one in pattern:
        columns |= {c for c in (one.across_mm, one.to_across_mm) if c is not None}
    if len(columns) > 5:  # a diagonal has one for each of its places
        columns = {min(columns), max(columns)}
    for across in columns:
        x, y = at.at(face.length_mm, across)
        page.text(x + 0.8, y, f"{across:g}", size=SMALL_PT, va="center")


def _words(page: Axes, face: Face, at: Placed) -> None:
    first, last = end_names(face)
    low, high = edge_names(face)
    left, bottom = at.at(0, 0)
    right, top = at.at(face.length_mm, face.width_mm)
    page.text(left, top + 1.6, f"◀ {first.upper()}", size=SIDE_PT, weight="bold")
    page.text(right, top + 1.6, f"{last.upper()}", size=SIDE_PT, ha="right")
    if right - left > 60:
        page.text((left + right) / 2, top + 1.6, high, size=SIDE_PT, ha="center")
    said = f"black corner: {corner_names(face)[0]}; along (mm) is counted from it"
    page.text(left, bottom - 10.8, said, size=SMALL_PT + 0.5)
    if right - left > 150:
        page.text((left + right) / 2, bottom - 10.8, low, size=SIDE_PT, ha="center")
