"""Boxes to write readings in: a block as files have it, or a list of rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

NO_PLACE = "#d9d9d9"
CELL_PT, TINY_PT = 8.0, 6.0
ROW_MM, HEAD_MM, BLOCK_ROW_MM = 6.5, 5.6, 10.0
LEAST_ROWS = 8
"""A list is not split into shorter pieces than this."""
LEAST_BLOCK_COLUMN_MM, FIRST_COLUMN_MM, MOST_BLOCK_COLUMN_MM = 15.0, 22.0, 27.0
BOX_MM, PAD_MM, BETWEEN_MM = 17.0, 1.2, 8.0
MM_PER_CHAR = 1.55
"""About what a letter of CELL_PT takes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Boxes:
    """Rows to fill in: for each its number, the cells that say where, and the rest.

    ``where`` and ``what`` are the columns of the file; cells of ``what`` are empty.
    """

    where: tuple[str, ...]
    what: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A dial's places as a table across\\along, the right edge on top as drawn.

    ``numbers`` has None where there is no place to read.
    """

    along: tuple[str, ...]
    across: tuple[str, ...]
    numbers: tuple[tuple[int | None, ...], ...]

    @property
    def tall_mm(self) -> float:
        """Give the height that the block takes."""
        return HEAD_MM + BLOCK_ROW_MM * len(self.across)

    def fits(self, wide_mm: float) -> bool:
        """Say whether its boxes are wide enough to write in."""
        room = wide_mm - FIRST_COLUMN_MM
        return room >= LEAST_BLOCK_COLUMN_MM * len(self.along)


def block_of(boxes: Boxes) -> Block:
    """Lay out the rows along, across of a dial as a block."""
    found = {cells: number for number, cells in reversed(boxes.rows)}
    along = sorted({cells[0] for cells in found}, key=float)
    across = sorted({cells[1] for cells in found}, key=float, reverse=True)
    return Block(
        along=tuple(along),
        across=tuple(across),
        numbers=tuple(tuple(found.get((a, c)) for a in along) for c in across),
    )


def draw_block(
    page: Axes, block: Block, left_mm: float, top_mm: float, wide_mm: float
) -> None:
    """Draw the block from its upper left corner."""
    room = (wide_mm - FIRST_COLUMN_MM) / len(block.along)
    column = min(room, MOST_BLOCK_COLUMN_MM)
    edges = [left_mm + FIRST_COLUMN_MM + column * i for i in range(len(block.along))]
    y = top_mm - HEAD_MM
    _cell(page, left_mm, y, FIRST_COLUMN_MM, HEAD_MM, r"across\along")
    for x, along in zip(edges, block.along, strict=True):
        _cell(page, x, y, column, HEAD_MM, along)
    for across, numbers in zip(block.across, block.numbers, strict=True):
        y -= BLOCK_ROW_MM
        _cell(page, left_mm, y, FIRST_COLUMN_MM, BLOCK_ROW_MM, across)
        for x, number in zip(edges, numbers, strict=True):
            _box(page, x, y, column, BLOCK_ROW_MM, number)


def draw_list(
    page: Axes,
    boxes: Boxes,
    start: int,
    left_mm: float,
    top_mm: float,
    size_mm: tuple[float, float],
) -> int:
    """Draw rows from `start` on in as many panels as fit; give where to go on."""
    wide_mm, tall_mm = size_mm
    columns = _column_widths(boxes)
    panel = sum(columns)
    panels = max(1, int((wide_mm + BETWEEN_MM) / (panel + BETWEEN_MM)))
    most = int((tall_mm - HEAD_MM) / ROW_MM)
    if most < 1:
        return start
    left = len(boxes.rows) - start
    each = min(most, max(LEAST_ROWS, -(-left // panels)))
    for i in range(panels):
        rows = boxes.rows[start : start + each]
        if not rows:
            break
        x = left_mm + i * (panel + BETWEEN_MM)
        _panel(page, boxes, rows, columns, (x, top_mm))
        start += len(rows)
    return start


def _column_widths(boxes: Boxes) -> list[float]:
    texts = zip(boxes.where, *(cells for _, cells in boxes.rows), strict=True)
    where = [
        2 * PAD_MM + MM_PER_CHAR * max(len(text) for text in column) for column in texts
    ]
    return [8.0, *where, *(BOX_MM for _ in boxes.what)]


def _panel(
    page: Axes,
    boxes: Boxes,
    rows: Sequence[tuple[int, tuple[str, ...]]],
    columns: Sequence[float],
    at: tuple[float, float],
) -> None:
    x, y = at[0], at[1] - HEAD_MM
    for wide, name in zip(columns, ("", *boxes.where, *boxes.what), strict=True):
        _cell(page, x, y, wide, HEAD_MM, name)
        x += wide
    for number, cells in rows:
        x, y = at[0], y - ROW_MM
        blank = [""] * len(boxes.what)
        texts = (str(number), *cells, *blank)
        for i, (wide, text) in enumerate(zip(columns, texts, strict=True)):
            _cell(page, x, y, wide, ROW_MM, text, bold=i == 0)
            x += wide


def _box(
    page: Axes, x: float, y: float, wide: float, tall: float, number: int | None
) -> None:
    """Draw a box with its number small in a corner, grey where nothing is read."""
    colour = "white" if number is not None else NO_PLACE
    page.add_patch(Rectangle((x, y), wide, tall, fc=colour, ec="black", lw=0.6))
    if number is not None:
        words = page.text(x + 0.8, y + tall - 0.8, str(number), va="top")
        words.set(size=TINY_PT, color="#444444")


def _cell(
    page: Axes,
    x: float,
    y: float,
    wide: float,
    tall: float,
    text: str,
    *,
    bold: bool = False,
) -> None:
    page.add_patch(Rectangle((x, y), wide, tall, fill=False, ec="black", lw=0.6))
    words = page.text(x + wide / 2, y + tall / 2, text, ha="center", va="center")
    words.set(size=CELL_PT, weight="bold" if bold else "normal")
