"""Gaps under a straightedge: leaves that go and stop, or gaps as measured."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from lapping.readings import NO_LIGHT_UM, EdgeReading
from lapping.readings_file.along_lines import Place, check_straight, line_name
from lapping.readings_file.leaves import named_seats, read_leaves
from lapping.readings_file.table import Table
from lapping.readings_file.text import Row
from lapping.typed import shown

_PLACE = ("line", "along", "across")
_HEADINGS = "line,along,across,goes,stops' or 'line,along,across,reading"
_NO_LIGHT = re.compile(r"no[\s_-]{0,5}light", re.IGNORECASE)


def read_edge(table: Table) -> tuple[EdgeReading, ...]:
    """Read all straightedge readings in the order of the file, noting every mistake.

    Lines are checked too: each seating of each needs two places, all on one line.
    """
    at = _columns(table)
    if at is None:
        return ()
    rows = list(table.rows(len(at)))
    found = [
        _read_row(table, row, at, seat)
        for row, seat in zip(rows, named_seats(table, rows, at), strict=True)
    ]
    readings = tuple(reading for reading in found if reading is not None)
    _check_lines(table, readings)
    dark = any(_NO_LIGHT.fullmatch(one.entered_as) for one in readings)
    if dark and table.header.no_light_um is None:
        # Of no line in particular, so that several sets say it once.
        table.warnings.append(
            f"'no light' was taken as a gap of less than {NO_LIGHT_UM:g} µm, an "
            "assumption that 'no_light' sets, in the file's header or a gauge's."
        )
    return readings


def _columns(table: Table) -> dict[str, int] | None:
    head = table.sheet.head
    names = set() if head is None else {cell.lower() for cell in head.cells}
    if head is not None and "reading" in names and names & {"goes", "stops"}:
        table.mistakes.at(
            head.line,
            "the heading has both leaves and measured gaps; it must be either "
            f"'{_HEADINGS}'",
        )
        return None
    if "reading" in names:
        return table.columns((*_PLACE, "reading"), ("seat",), written=_HEADINGS)
    return table.columns((*_PLACE, "goes"), ("stops", "seat"), written=_HEADINGS)


def _read_row(
    table: Table, row: Row, at: dict[str, int], seat: str
) -> EdgeReading | None:
    name = line_name(table, row.cells[at["line"]], row.line, "the edge was laid along")
    along = table.place_mm(row.cells[at["along"]], "along", row.line)
    across = table.place_mm(row.cells[at["across"]], "across", row.line)
    gap = _read_gap(table, row, at)
    if name is None or along is None or across is None or gap is None:
        return None
    gap_um, goes_um, stops_um, goes_leaves, stops_leaves, entered_as = gap
    return EdgeReading(
        line_name=name,
        along_mm=along,
        across_mm=across,
        gap_um=gap_um,
        goes_um=goes_um,
        stops_um=stops_um,
        goes_leaves=goes_leaves,
        stops_leaves=stops_leaves,
        seat=seat,
        entered_as=entered_as,
        line=row.line,
    )


_Gap = tuple[float | None, float, float | None, int, int, str]


def _read_gap(table: Table, row: Row, at: dict[str, int]) -> _Gap | None:
    """Give the gap, what goes, what stops, the leaves of both, and what was typed."""
    column = "reading" if "reading" in at else "goes"
    cell = row.cells[at[column]]
    if _NO_LIGHT.fullmatch(cell):
        if "stops" in at and row.cells[at["stops"]]:
            table.mistakes.at(
                row.line, "where no light shows nothing goes in; leave stops blank"
            )
            return None
        limit = table.header.no_light_um
        return None, 0.0, NO_LIGHT_UM if limit is None else limit, 0, 0, cell
    if column == "goes":
        leaves = read_leaves(table, row, at)
        if leaves is None:
            return None
        stops = leaves.stops_um, leaves.goes.leaves, leaves.stops_leaves
        return None, float(leaves.goes.um), *stops, leaves.entered_as
    if not cell:
        table.mistakes.at(
            row.line, "reading is blank; write the gap, or 'no light' if none shows"
        )
        return None
    gap = table.gap_um(cell, column, row.line)
    return None if gap is None else (float(gap), float(gap), None, 0, 0, cell)


def _check_lines(table: Table, readings: Sequence[EdgeReading]) -> None:
    # Rows that could not be read would make single stations of lines that have more.
    all_read = not (table.mistakes.found or table.unfinished)
    lines: dict[str, list[EdgeReading]] = {}
    for reading in readings:
        lines.setdefault(reading.line_name, []).append(reading)
    for name, members in lines.items():
        check_straight(table, name, [(_place(one), one.line) for one in members])
        _check_seats(table, name, members, alone=all_read)
    if len(lines) > 1:
        _warn_of_untied(table, lines)


def _check_seats(
    table: Table, name: str, members: Sequence[EdgeReading], *, alone: bool
) -> None:
    seats: dict[str, dict[Place, int]] = {}
    for one in members:
        places = seats.setdefault(one.seat, {})
        if _place(one) in places:
            table.mistakes.at(
                one.line,
                f"line {shown(name)} was read at this place already, in line "
                f"{places[_place(one)]} of the file; to repeat it, lay the edge down "
                "anew, read all of it again and name each seating in a column 'seat'",
            )
        places.setdefault(_place(one), one.line)
    for seat, places in seats.items():
        if alone and len(places) == 1:
            which = f", seating {shown(seat)}," if len(seats) > 1 else ""
            table.mistakes.at(
                min(places.values()),
                f"line {shown(name)}{which} has one place only, and an edge over one "
                "place shows nothing; read at least two, better five, along it",
            )


def _warn_of_untied(table: Table, lines: dict[str, list[EdgeReading]]) -> None:
    on_lines = Counter(
        place for members in lines.values() for place in {_place(m) for m in members}
    )
    for name, members in lines.items():
        if all(on_lines[_place(one)] == 1 for one in members):
            table.warn(
                members[0].line,
                f"line {shown(name)} shares no place with another line, so only the "
                "smoothness of the face ties its height and tilt to theirs; read a "
                "place where it crosses another line on both",
            )


def _place(reading: EdgeReading) -> Place:
    return reading.along_mm, reading.across_mm
