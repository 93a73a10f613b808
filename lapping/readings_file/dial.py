"""Dial indicator readings: a row each, or a block as written on paper."""

from __future__ import annotations

from lapping.readings import DialReading
from lapping.readings_file.table import BLOCK_CORNER, Table
from lapping.readings_file.text import Row
from lapping.typed import shown


def read_dial(table: Table) -> tuple[DialReading, ...]:
    """Read all dial readings in the order of the file, noting every mistake."""
    head = table.sheet.head
    if head is not None and BLOCK_CORNER.fullmatch(head.cells[0]):
        return _read_block(table, head)
    return _read_rows(table)


def _read_rows(table: Table) -> tuple[DialReading, ...]:
    at = table.columns(("along", "across", "reading"))
    if at is None:
        return ()
    readings = []
    for row in table.rows(len(at)):
        along = table.place_mm(row.cells[at["along"]], "along", row.line)
        across = table.place_mm(row.cells[at["across"]], "across", row.line)
        found = _reading(table, along, across, row.cells[at["reading"]], row.line)
        if found is not None:
            readings.append(found)
    return tuple(readings)


def _read_block(table: Table, head: Row) -> tuple[DialReading, ...]:
    along_places = _along_places(table, head)
    if along_places is None:
        return ()
    readings = []
    first_line: dict[float, int] = {}
    for row in table.rows(len(along_places) + 1):
        across = table.place_mm(row.cells[0], "across", row.line)
        if across is None:
            continue
        if across in first_line:
            table.mistakes.at(
                row.line,
                f"across {across:g} mm is already on line {first_line[across]}; put "
                "repeats in a table along,across,reading",
            )
        first_line.setdefault(across, row.line)
        for along, typed in zip(along_places, row.cells[1:], strict=True):
            if not typed:  # not read
                continue
            found = _reading(table, along, across, typed, row.line)
            if found is not None:
                readings.append(found)
    return tuple(readings)


def _reading(
    table: Table, along: float | None, across: float | None, typed: str, line: int
) -> DialReading | None:
    """Read the value at a place; None where any of the three is a mistake."""
    value = table.height_um(typed, "reading", line)
    if along is None or across is None or value is None:
        return None
    return DialReading(
        along_mm=along,
        across_mm=across,
        value_um=float(value),
        entered_as=typed,
        line=line,
    )


def _along_places(table: Table, head: Row) -> list[float] | None:
    """Read the block's first row; a place given twice often hides a decimal comma."""
    cells = list(head.cells[1:])
    while cells and not cells[-1]:
        cells.pop()
    places: dict[float, str] = {}
    for cell in cells:
        place = table.place_mm(cell, "along", head.line)
        if place is None:
            continue
        if place in places:
            table.mistakes.at(
                head.line,
                f"along {shown(cell)} is there twice in the block's first row; each "
                "place has one column",
            )
        places[place] = cell
    if not cells:
        table.mistakes.at(
            head.line, "the block's first row gives no along places; write them there"
        )
    return list(places) if places and len(places) == len(cells) else None
