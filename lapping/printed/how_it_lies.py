"""A small drawing of how the face lies in front of you: its toe away, its corner."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.patches import Circle, Polygon, Rectangle

from lapping.face import Face
from lapping.places import end_names
from lapping.readings import Method

WIDE_MM = 44.0
LONG_MM, ACROSS_MM, CORNER_MM, APART_MM = 24.0, 8.0, 3.4, 21.0
TEXT_PT = 6.5
METAL = "#e8e8e8"


def draw_how_it_lies(
    page: Axes, method: Method, face: Face, at_mm: tuple[float, float]
) -> None:
    """Draw the face from above, you below it; face down too where leaves are tried.

    A lap is seen from its long side and has no toe to take for its heel.
    """
    left, top = at_mm
    if face.kind == "lap":
        return
    if method != "feeler":
        _seen(page, face, left + WIDE_MM / 2 - ACROSS_MM / 2, top, down=False)
        return
    _seen(page, face, left + 5.0, top, down=False)
    _seen(page, face, left + 5.0 + APART_MM, top, down=True)


def _seen(page: Axes, face: Face, left: float, top: float, *, down: bool) -> None:
    y = top - 3.5
    right, low = left + ACROSS_MM, y - LONG_MM
    line = "--" if down else "-"
    page.add_patch(
        Rectangle(
            (left, low), ACROSS_MM, LONG_MM, fc=METAL, ec="black", lw=0.7, ls=line
        )
    )
    corner = (
        [(right, y), (right - CORNER_MM, y), (right, y - CORNER_MM)]
        if down
        else [(left, y), (left + CORNER_MM, y), (left, y - CORNER_MM)]
    )
    page.add_patch(Polygon(corner, fc="none" if down else "black", ec="black", lw=0.7))
    middle = (left + right) / 2
    first, last = end_names(face)

    def say(x: float, y_mm: float, words: str) -> None:
        page.text(x, y_mm, words, size=TEXT_PT, ha="center", va="center")

    say(middle, top - 1.6, f"{first}, away")
    say(middle, low + 3.0, last)
    say(middle, low + LONG_MM / 2, "face\ndown" if down else "face\nup")
    page.add_patch(Circle((middle, low - 3.6), 1.6, fc="white", ec="black", lw=0.7))
    say(middle + 5.0, low - 3.6, "you")
