"""The sheet of four corner cards, true to size, with bars to check the printer by.

The page is one set of axes in millimetres from its lower left corner. The cards lie on
it as they lie round a face: toe up, left at the left.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path as FilePath

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Polygon
from matplotlib.path import Path
from numpy.typing import NDArray

from lapping.errors import BadInput
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
from lapping.whole_file import check_target, write_whole

Array = NDArray[np.float64]

PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
MM_PER_IN = 25.4
MARGIN_MM = 15.0
BETWEEN_MM = 9.0
GAP_MM = 6.0
"""Between two cards, for the knife."""
BARS_MM = (("100 mm", 100.0, 10.0), ("4 in", 4 * MM_PER_IN, MM_PER_IN))
"""What each bar is called, its length, and how far apart its ticks are."""
CUT, LIP, BRACKET = "#888888", "#dddddd", "#444444"
TEXT_PT, TITLE_PT, NAME_PT, SMALL_PT = 9.5, 15.0, 11.0, 7.0
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
    if path.suffix.lower() != ".pdf":
        message = f"{path}: the name must end in .pdf."
        raise BadInput(message)
    check_target(path, (".pdf",))
    write_whole(path, corner_pdf(paper))


def corner_pdf(paper: str = "A4") -> bytes:
    """Give the sheet as a PDF; BadInput for papers not known here."""
    drawn = io.BytesIO()
    with _plain_style():
        # Without a date the same sheet gives the same bytes.
        corner_sheet(paper).savefig(
            drawn, format="pdf", metadata={"CreationDate": None}
        )
    return drawn.getvalue()


def corner_sheet(paper: str = "A4") -> Figure:
    """Draw the sheet on A4 or Letter; BadInput for other papers."""
    sizes = {name.lower(): size for name, size in PAPERS_MM.items()}
    if paper.lower() not in sizes:
        message = f"'{paper}' is no paper of ours; write A4 or Letter"
        raise BadInput(message)
    width_mm, height_mm = sizes[paper.lower()]
    with _plain_style():
        figure = Figure(figsize=(width_mm / MM_PER_IN, height_mm / MM_PER_IN))
        page = figure.add_axes((0, 0, 1, 1), label="page")
        page.set_xlim(0, width_mm)
        page.set_ylim(0, height_mm)
        page.set_axis_off()
        y = _words(page, height_mm - MARGIN_MM)
        y = _bars(page, y)
        middle = (width_mm / 2, y - ARM_MM - OUTER_MM)
        for corner in range(len(CORNERS)):
            _card(page, corner, _card_at(corner, middle))
        low = middle[1] - ARM_MM - OUTER_MM - BETWEEN_MM
        sketch_from_above(page, MARGIN_MM + 15.0, low)
        sketch_cut_through(page, width_mm / 2, low - 25.0)
    return figure


@contextmanager
def _plain_style() -> Iterator[None]:
    """Keep a person's own matplotlib settings out of the sheet."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update({"font.size": TEXT_PT, "pdf.fonttype": 42})
        yield


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


def _bars(page: Axes, y: float) -> float:
    """Draw a bar in millimetres and one in inches; give where they end."""
    for name, long_mm, step_mm in BARS_MM:
        y -= 6.0
        at = MARGIN_MM + np.arange(0.0, long_mm + step_mm / 2, step_mm)
        page.plot(
            [at[0], at[-1]],
            [y, y],
            color="black",
            lw=0.8,
            gid=f"bar {name}",
            solid_capstyle="butt",
        )
        for tick in at:
            end = tick in (at[0], at[-1])
            page.plot(
                [tick, tick], [y, y + (4.0 if end else 2.0)], color="black", lw=0.5
            )
        page.text(at[-1] + 3.0, y, name, va="bottom")
    return y - BETWEEN_MM


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
