"""A page of paper as axes in millimetres from its lower left corner, and bars on it.

Every sheet has a bar in millimetres and one in inches, because printers shrink pages
without saying so.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from lapping.errors import BadInput
from lapping.whole_file import check_target, keep_other_files, write_whole

PAPERS_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
MM_PER_IN = 25.4
BARS_MM = (("100 mm", 100.0, 10.0), ("4 in", 4 * MM_PER_IN, MM_PER_IN))
"""What each bar is called, its length, and how far apart its ticks are."""
TEXT_PT = 9.5
MADE_BY = "lapping"


def paper_mm(paper: str) -> tuple[float, float]:
    """Give width and height of a paper stood upright; BadInput for other papers."""
    sizes = {name.lower(): size for name, size in PAPERS_MM.items()}
    if paper.lower() not in sizes:
        message = f"'{paper}' is no paper of ours; write A4 or Letter"
        raise BadInput(message)
    return sizes[paper.lower()]


def new_page(width_mm: float, height_mm: float) -> tuple[Figure, Axes]:
    """Give an empty page to draw on in millimetres."""
    figure = Figure(figsize=(width_mm / MM_PER_IN, height_mm / MM_PER_IN))
    page = figure.add_axes((0, 0, 1, 1), label="page")
    page.set_xlim(0, width_mm)
    page.set_ylim(0, height_mm)
    page.set_axis_off()
    return figure, page


@contextmanager
def plain_style() -> Iterator[None]:
    """Keep a person's own matplotlib settings out of the sheet.

    A name with dollars in it is a name and no formula.
    """
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(
            {"font.size": TEXT_PT, "pdf.fonttype": 42, "text.parse_math": False}
        )
        yield


def draw_bar(page: Axes, which: int, left_mm: float, y_mm: float) -> None:
    """Draw one of the two bars from a place to the right, its name behind it."""
    name, long_mm, step_mm = BARS_MM[which]
    at = left_mm + np.arange(0.0, long_mm + step_mm / 2, step_mm)
    page.plot(
        [at[0], at[-1]],
        [y_mm, y_mm],
        color="black",
        lw=0.8,
        gid=f"bar {name}",
        solid_capstyle="butt",
    )
    for tick in at:
        end = tick in (at[0], at[-1])
        high = y_mm + (4.0 if end else 2.0)
        page.plot([tick, tick], [y_mm, high], color="black", lw=0.5)
    page.text(at[-1] + 3.0, y_mm, name, va="bottom")


def save_pages(path: Path, pages: Sequence[Figure]) -> None:
    """Write pages as one PDF, whole or not at all; BadInput where it cannot be."""
    check_sheet(path)
    write_whole(path, as_pdf(pages))


def as_pdf(pages: Sequence[Figure]) -> bytes:
    """Give pages as one PDF; the same pages give the same bytes."""
    drawn = io.BytesIO()
    made = {"Creator": MADE_BY, "CreationDate": None}
    with plain_style(), PdfPages(drawn, metadata=made) as pdf:
        for one in pages:
            pdf.savefig(one)
    return drawn.getvalue()


def check_sheet(path: Path) -> None:
    """Refuse a name that no sheet can be written under, before one is drawn."""
    check_target(path, (".pdf",))
    keep_other_files(path, f"/Creator ({MADE_BY})".encode())
