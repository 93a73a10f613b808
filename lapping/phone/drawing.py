"""The face drawn for a phone: toe away from you, every place, and the next one lit.

A script of the page moves the light on; what it needs stands in the drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from lapping.face import Face
from lapping.patterns.walk import PlannedPlace
from lapping.places import edge_names, end_names
from lapping.prompt.line import State
from lapping.prompt.map_drawn import spots_of

MARGIN = 14.0
"""Round the face, in the units of the drawing, for the names of its sides."""
LONG = 300.0
"""How long the face is drawn; all else follows in proportion."""
LEAST_WIDE = 56.0
"""A narrow side is drawn wider than it is, so that a thumb finds its places."""
DOT, LIT = 5.0, 9.0


def drawn_face(
    face: Face,
    plan: Sequence[PlannedPlace],
    states: Sequence[State],
    at: int | None,
    *,
    down: bool,
) -> str:
    """Give an SVG; with ``down`` the face lies on a plate and left and right swap."""
    tall = LONG
    wide = max(LEAST_WIDE, LONG * face.width_mm / face.length_mm)
    if wide > LONG:
        tall, wide = tall * LONG / wide, LONG

    def place(along_mm: float, across_mm: float) -> tuple[float, float]:
        share = across_mm / face.width_mm
        return (
            MARGIN + wide * (1 - share if down else share),
            MARGIN + tall * along_mm / face.length_mm,
        )

    here = None if at is None else plan[at].line
    pieces = [_outline(wide, tall), *_openings(face, place)]
    for number, (planned, state) in enumerate(zip(plan, states, strict=True)):
        spots = [place(*spot) for spot in spots_of(face, planned)]
        classes = ["place", state]
        # The first place comes round once more, and its own mark lies below.
        classes += ["again"] if planned.again else []
        classes += ["here"] if number == at else []
        classes += [] if at is None or planned.line == here else ["elsewhere"]
        comes_again = ' data-again="yes"' if planned.again else ""
        pieces.append(
            f'<g class="{" ".join(classes)}" data-place="{number}" '
            f'data-line="{escape(planned.line)}"{comes_again}>'
            f"{_marks(planned, spots)}</g>"
        )
    pieces += _names(face, wide, tall, down=down)
    size = f"0 0 {wide + 2 * MARGIN:.1f} {tall + 2 * MARGIN:.1f}"
    first, last = end_names(face)
    said = f"The face with its {len(plan)} places, {first} at the top, {last} below"
    return (
        f'<svg class="face" viewBox="{size}" role="img" aria-label="{escape(said)}">'
        f"{''.join(pieces)}</svg>"
    )


def _outline(wide: float, tall: float) -> str:
    return (
        f'<rect class="metal" x="{MARGIN}" y="{MARGIN}" width="{wide:.1f}" '
        f'height="{tall:.1f}" rx="3"/>'
    )


def _openings(face: Face, place: object) -> list[str]:
    assert callable(place)
    found = []
    if face.mouth is not None:
        left, right = face.mouth_sides_mm()
        x1, y1 = place(face.mouth.from_mm, left)
        x2, y2 = place(face.mouth.to_mm, right)
        found.append(
            f'<rect class="mouth" x="{min(x1, x2):.1f}" y="{y1:.1f}" '
            f'width="{abs(x2 - x1):.1f}" height="{max(3.0, y2 - y1):.1f}"/>'
        )
    for hole in face.holes:
        x, y = place(hole.along_mm, hole.across_mm)
        r = LONG * hole.diameter_mm / 2 / face.length_mm
        found.append(f'<circle class="mouth" cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}"/>')
    return found


def _marks(planned: PlannedPlace, spots: Sequence[tuple[float, float]]) -> str:
    """Draw a place: a dot, two feet of a level, or what lies right across."""
    drawn = []
    if planned.across_mm is None:
        for row in dict.fromkeys(y for _, y in spots):
            ends = [x for x, y in spots if y == row]
            drawn.append(
                f'<line class="stick" x1="{min(ends):.1f}" x2="{max(ends):.1f}" '
                f'y1="{row:.1f}" y2="{row:.1f}"/>'
            )
        return "".join(drawn)
    if len(spots) > 1:
        (x1, y1), (x2, y2) = spots
        drawn.append(
            f'<line class="stick" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" '
            f'y2="{y2:.1f}"/>'
        )
    for number, (x, y) in enumerate(spots, start=1):
        drawn.append(f'<circle class="lit" cx="{x:.1f}" cy="{y:.1f}" r="{LIT}"/>')
        drawn.append(f'<circle class="dot" cx="{x:.1f}" cy="{y:.1f}" r="{DOT}"/>')
        if len(spots) > 1:
            # Which foot is which gives the slope its sign.
            drawn.append(
                f'<text class="foot" x="{x:.1f}" y="{y + 4:.1f}">{number}</text>'
            )
    return "".join(drawn)


def _names(face: Face, wide: float, tall: float, *, down: bool) -> list[str]:
    first, last = end_names(face)
    one, two = edge_names(face)
    left, right = (two, one) if down else (one, two)
    middle, half = MARGIN + wide / 2, MARGIN + tall / 2
    return [
        f'<text class="side" x="{middle:.1f}" y="{MARGIN - 4}">{first}</text>',
        f'<text class="side" x="{middle:.1f}" y="{tall + 2 * MARGIN - 3:.1f}">{last}'
        "</text>",
        _upright(left, MARGIN - 4, half),
        _upright(right, wide + 2 * MARGIN - 3, half),
    ]


def _upright(name: str, x: float, y: float) -> str:
    return (
        f'<text class="side" x="{x:.1f}" y="{y:.1f}" '
        f'transform="rotate(-90 {x:.1f} {y:.1f})">{escape(name)}</text>'
    )


def inset_corners(width: int, height: int) -> str:
    """Give four corners well inside the photo, the toe to the left if it is broad."""
    left, right = round(0.2 * width), round(0.8 * width)
    top, bottom = round(0.25 * height), round(0.75 * height)
    if width >= height:
        return f"{left},{bottom} {left},{top} {right},{top} {right},{bottom}"
    return f"{left},{top} {right},{top} {right},{bottom} {left},{bottom}"
