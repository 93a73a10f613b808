"""The sheet of four corner cards, true to size, with bars to check the printer by.

The page is one set of axes in millimetres from its lower left corner. The cards lie on
it as they lie round a face: toe up, left at the left.
"""

from __future__ import annotations

from pathlib import Path as FilePath

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Polygon
from matplotlib.path import Path
from numpy.typing import NDArray

from lapping.photo.cards import (
    ARM_MM,
    CORNERS,
    LIP_MM,
    MARK_MM,
    OUTER_MM,
    SIGNS,
    SQUARES,
    card_outline_mm,
    mark_corners_mm,
    mark_squares,
)
from lapping.printed.corner_sketch import sketch_cut_through, sketch_from_above
from lapping.printed.page import (
    BARS_MM,
    as_pdf,
    check_sheet,
    draw_bar,
    new_page,
    paper_mm,
    plain_style,
    save_pages,
)

Array = NDArray[np.float64]

MARGIN_MM = 15.0
BETWEEN_MM = 9.0
GAP_MM = 6.0
"""Between two cards, for the knife."""
CUT, LIP, BRACKET = "#888888", "#dddddd", "#444444"
TITLE_PT, NAME_PT, SMALL_PT = 15.0, 11.0, 7.0
LINE_MM = 4.6
STEPS = (
    ("Print at 100 %, not fitted to the page. Measure both bars with a rule.",),
    (
        "Glue the paper to stiff card, but leave the grey lips free: they have no card",
        "under them. Cut along the dashed lines.",
    ),
    (
        "Lay the face up with the toe pointing away from you. Each card belongs at the",
        "corner that it names, its words upright.",
    ),
    (
        "Push the stiff card against both edges of the face, so that the lines meet at",
        "its corner and the lip lies on the metal. Tape it from below. The card must",
        "lie level with the face and must not hang down.",
    ),
    (
        "Take the photo with all four marks and the white round them in it: sharp, no",
        "glare, nothing over them. Three are enough if one is lost.",
    ),
)


def save_corner_sheet(path: FilePath, paper: str = "A4") -> None:
    """Write the sheet as a PDF, whole or not at all; BadInput where it cannot be."""
    check_sheet(path)
    save_pages(path, [corner_sheet(paper)])


def corner_pdf(paper: str = "A4") -> bytes:
    """Give the sheet as a PDF; BadInput for papers not known here."""
    return as_pdf([corner_sheet(paper)])


def corner_sheet(paper: str = "A4") -> Figure:
    """Draw the sheet on A4 or Letter; BadInput for other papers."""
    width_mm, height_mm = paper_mm(paper)
    with plain_style():
        figure, page = new_page(width_mm, height_mm)
        y = _words(page, height_mm - MARGIN_MM)
        for which in range(len(BARS_MM)):
            y -= 6.0
            draw_bar(page, which, MARGIN_MM, y)
        y -= BETWEEN_MM
        middle = (width_mm / 2, y - ARM_MM - OUTER_MM)
        for corner in range(len(CORNERS)):
            _card(page, corner, _card_at(corner, middle))
        low = middle[1] - ARM_MM - OUTER_MM - BETWEEN_MM
        sketch_from_above(page, MARGIN_MM + 15.0, low)
        sketch_cut_through(page, width_mm / 2, low - 25.0)
    return figure


def _words(page: Axes, y: float) -> float:
    """Write the title and the steps from the top; give where they end."""
    page.text(
        MARGIN_MM, y, "Corner cards for photos", size=TITLE_PT, weight="bold", va="top"
    )
    y -= 10.0
    for number, lines in enumerate(STEPS, start=1):
        page.text(MARGIN_MM, y, f"{number}.", va="top")
        for line in lines:
            page.text(MARGIN_MM + 6.0, y, line, va="top")
            y -= LINE_MM
        y -= 1.0
    return y


def _card_at(corner: int, middle: tuple[float, float]) -> tuple[float, float]:
    """Say where a card's bracket corner goes, so that the arms are a gap apart."""
    along, across = SIGNS[corner]
    apart = ARM_MM + GAP_MM / 2
    return middle[0] + across * apart, middle[1] - along * apart


def _on_page(places_mm: Array, at: tuple[float, float]) -> Array:
    """Take along and across to the page, where the toe is up."""
    result: Array = np.stack([at[0] + places_mm[:, 1], at[1] - places_mm[:, 0]], axis=1)
    return result


def _card(page: Axes, corner: int, at: tuple[float, float]) -> None:
    along, across = SIGNS[corner]
    outline = card_outline_mm(corner)
    lip = np.array(
        [[0, 0], [0, ARM_MM], [LIP_MM, ARM_MM], [LIP_MM, LIP_MM], [ARM_MM, LIP_MM],
         [ARM_MM, 0]]
    ) * np.array([-along, -across])  # fmt: skip
    page.add_patch(Polygon(_on_page(lip, at), fc=LIP, lw=0))
    page.add_patch(
        Polygon(_on_page(outline, at), fill=False, ec=CUT, lw=0.6, ls=(0, (4, 3)))
    )
    bracket = np.array([[0, -across * ARM_MM], [0, 0], [-along * ARM_MM, 0]])
    page.plot(
        *_on_page(bracket, at).T,
        color=BRACKET,
        lw=0.6,
        gid=f"bracket {CORNERS[corner]}",
    )
    page.add_patch(_mark(corner, at))
    half = OUTER_MM / 2
    x, y = _on_page(np.array([[-along * ARM_MM / 2, across * half]]), at)[0]
    named = page.text(x, y, CORNERS[corner], ha="center", va="center")
    named.set(size=NAME_PT, weight="bold")
    x, y = _on_page(np.array([[along * half, -across * ARM_MM / 2]]), at)[0]
    arrow = {"arrowstyle": "-|>", "color": "black"}
    page.annotate("", (x, y + 14), (x, y + 5), arrowprops=arrow)
    page.text(x, y, "away\nfrom\nyou", size=SMALL_PT, ha="center", va="center")


def _mark(corner: int, at: tuple[float, float]) -> PathPatch:
    """Draw the black squares as one shape, so that no seams show between them."""
    square = MARK_MM / SQUARES
    start = mark_corners_mm(corner)[0]
    shapes = []
    for row, column in np.argwhere(~mark_squares(corner)):
        low = start + square * np.array([row, column])
        shape = low + square * np.array([[0, 0], [0, 1], [1, 1], [1, 0], [0, 0]])
        shapes.append(Path(_on_page(shape, at), closed=True))
    drawn = PathPatch(Path.make_compound_path(*shapes), fc="black", lw=0)
    drawn.set_gid(f"mark {CORNERS[corner]}")
    return drawn
