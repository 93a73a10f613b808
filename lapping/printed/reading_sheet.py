"""The sheet for readings on paper: what to write where, in the order of the file.

It lies on its side, as every picture of a face does. The header lines and the boxes
are those of a readings file, so that what was written is typed in as it stands.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from pathlib import Path

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lapping.face import Face
from lapping.patterns.walk import Pattern
from lapping.places import end_names
from lapping.printed.boxes import Boxes, block_of, draw_block, draw_list
from lapping.printed.how_it_lies import WIDE_MM as LIES_MM
from lapping.printed.how_it_lies import draw_how_it_lies
from lapping.printed.numbered_face import (
    ABOVE_MM,
    BELOW_MM,
    Placed,
    draw_numbered,
    numbers_of,
    scale_for,
)
from lapping.printed.page import (
    check_sheet,
    draw_bar,
    new_page,
    paper_mm,
    plain_style,
    save_pages,
)
from lapping.readings import Method

MARGIN_MM, SIDE_MM = 10.0, 12.5
"""Beside the drawing there is room for a few figures, and no printer needs more."""
FACE_TALL_MM, AGAIN_TALL_MM = 100.0, 36.0
"""How tall the face is drawn at most: on the first page, and small on others."""
TITLE_PT, TEXT_PT, FILE_PT = 14.0, 9.0, 7.5
LINE_MM, FILE_LINE_MM = 4.4, 3.3
FILE_MM = 84.0
"""What the header lines take at the right."""
BARS_MM = 6.0
BLANK = "__________"
WAYS: dict[Method, str] = {
    "dial": "Lower the tip from above onto each place, in the order of the numbers.",
    "feeler": "Lay it face down on the plate, toe away from you: the black corner, "
    "drawn face up, is then at your other hand; a piece of tape on it helps.",
    "straightedge": "Stand the edge on two equal leaves, one near each end of a line, "
    "and read every place on it before you move it; no light under it: write no light.",
    "level": "Put the feet of the level on both dots of a number; keep its ends as "
    "they are.",
    "winding": "Stand one stick on each dotted line of a number and look over them "
    "from the heel.",
    "square": "Hold the square at each dotted line, its stock on the sole.",
}
GOES = (
    "goes: the thickest leaf that slides in without force, a stack as 0.05+0.10; 0 if "
    "none does.",
    "stops: the next thicker leaf or stack, which does not go in.",
)
AGAIN = (
    "At the end read number {number} once more: ____________  If it differs by more "
    "than the gauge repeats, something moved: read all of it again."
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadingSheet:
    """What a sheet is for: a face, a pattern on it, and the file it will become.

    ``rows`` are the cells that say where, one for each place of the pattern;
    ``header`` has the lines of the file, their values empty where to be filled in.
    """

    label: str
    face: Face
    method: Method
    gauge: str
    pattern: Pattern
    where: tuple[str, ...]
    what: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    header: tuple[tuple[str, str], ...]


def save_reading_sheet(sheet: ReadingSheet, path: Path, paper: str = "A4") -> None:
    """Write the sheet as a PDF, whole or not at all; BadInput where it cannot be."""
    check_sheet(path)
    save_pages(path, reading_sheet(sheet, paper))


def reading_sheet(sheet: ReadingSheet, paper: str = "A4") -> list[Figure]:
    """Draw the sheet on A4 or Letter laid on its side, on as many pages as it takes."""
    tall_mm, wide_mm = paper_mm(paper)
    with plain_style():
        figure, page = new_page(wide_mm, tall_mm)
        y = _head(page, sheet, wide_mm, tall_mm - MARGIN_MM)
        y = _face(page, sheet, wide_mm, y)
        draw_bar(page, 0, MARGIN_MM, MARGIN_MM - 3.0)
        draw_bar(page, 1, wide_mm / 2, MARGIN_MM - 3.0)
        pages = [figure]
        number = 0
        boxes = _boxes(sheet)
        block = block_of(boxes) if sheet.method == "dial" else None
        room = wide_mm - 2 * MARGIN_MM
        low = MARGIN_MM + BARS_MM
        if block is not None and block.fits(room):
            if y - block.tall_mm - LINE_MM < low:
                figure, page = _next_page(sheet, wide_mm, tall_mm, pages)
                y = tall_mm - MARGIN_MM - 10.0
            draw_block(page, block, MARGIN_MM, y, room)
            if any(one.again for one in sheet.pattern):
                said = AGAIN.format(number=numbers_of(sheet.pattern)[0])
                page.text(MARGIN_MM, y - block.tall_mm - 5.0, said, size=TEXT_PT)
            return pages
        while number < len(boxes.rows):
            number = draw_list(page, boxes, number, MARGIN_MM, y, (room, y - low))
            if number < len(boxes.rows):
                figure, page = _next_page(sheet, wide_mm, tall_mm, pages)
                y, low = tall_mm - MARGIN_MM - 7.0, MARGIN_MM
                y = _face(page, sheet, wide_mm, y, AGAIN_TALL_MM)
    return pages


def _boxes(sheet: ReadingSheet) -> Boxes:
    numbered = zip(numbers_of(sheet.pattern), sheet.rows, strict=True)
    return Boxes(where=sheet.where, what=sheet.what, rows=tuple(numbered))


def _next_page(
    sheet: ReadingSheet, wide_mm: float, tall_mm: float, pages: list[Figure]
) -> tuple[Figure, Axes]:
    figure, page = new_page(wide_mm, tall_mm)
    pages.append(figure)
    said = f"{sheet.label}, by {sheet.gauge}: page {len(pages)}    Date ____________"
    page.text(MARGIN_MM, tall_mm - MARGIN_MM - 4.0, said, size=TEXT_PT, weight="bold")
    return figure, page


def _head(page: Axes, sheet: ReadingSheet, wide_mm: float, top_mm: float) -> float:
    """Write what to fill in at the left and the file's header lines at the right."""
    face = sheet.face
    left, y = MARGIN_MM, top_mm
    title = page.text(left, y, f"Readings of {sheet.label}", va="top", weight="bold")
    title.set(size=_fitting(sheet.label, wide_mm - FILE_MM - LIES_MM - 20))
    y -= 9.0
    facts = (
        f"{face.kind.capitalize()} {face.length_mm:g} × {face.width_mm:g} mm, "
        f"by {sheet.gauge}"
    )
    first, _ = end_names(face)
    away = "the left end at your left" if first == "left end" else "toe away from you"
    turn = f"Face up, {away}: turn this sheet until it lies as the plane does."
    for line in (
        facts,
        "Date ________________   Read by ______________   Gauge ________________",
        "Plane ________ °C or °F   Room ________   Hours since last lapped ________",
        *(() if sheet.method == "feeler" and away.startswith("toe") else (turn,)),
        *textwrap.wrap(WAYS[sheet.method], 76),
        *(textwrap.wrap(" ".join(GOES), 76) if "goes" in sheet.what else ()),
    ):
        page.text(left, y, line, va="top", size=TEXT_PT)
        y -= LINE_MM + (1.6 if "____" in line else 0.0)
    x, low = wide_mm - MARGIN_MM - FILE_MM, top_mm
    page.text(x, low, "The file begins:", va="top", size=TEXT_PT)
    low -= LINE_MM
    for key, value in sheet.header:
        said = f"# {key}: {value or BLANK}"
        page.text(x, low, said, va="top", size=FILE_PT, family="monospace")
        low -= FILE_LINE_MM
    note = page.text(x, low - 0.5, "Leave out the lines that stay empty.", va="top")
    note.set(size=FILE_PT)
    draw_how_it_lies(page, sheet.method, face, (x - 4.0 - LIES_MM, top_mm))
    return min(y, low - FILE_LINE_MM) - 1.0


def _fitting(label: str, room_mm: float) -> float:
    """Give the size in points at which a long name still fits."""
    wide_mm = 0.21 * TITLE_PT * (len(label) + len("Readings of "))
    return max(6.0, TITLE_PT * min(1.0, room_mm / wide_mm))


def _face(
    page: Axes,
    sheet: ReadingSheet,
    wide_mm: float,
    top_mm: float,
    tall_mm: float = FACE_TALL_MM,
) -> float:
    """Draw the face below the words; give where its own words end."""
    face = sheet.face
    scale = scale_for(face, wide_mm - 2 * SIDE_MM, tall_mm)
    bottom = top_mm - ABOVE_MM - face.width_mm / scale
    left = (wide_mm - face.length_mm / scale) / 2
    at = Placed(left_mm=left, bottom_mm=bottom, scale=scale)
    draw_numbered(page, face, sheet.pattern, at)
    said = "true size, 1:1" if scale == 1 else f"reduced, 1:{scale:g}"
    right = left + face.length_mm / scale
    at_right = page.text(right, bottom - 10.8, f"drawn {said}", size=TEXT_PT)
    at_right.set(horizontalalignment="right")
    return bottom - BELOW_MM
