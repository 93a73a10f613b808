"""Feeler readings: the thickest leaf or stack that goes, and the next that stops."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from lapping.readings import FeelerReading
from lapping.readings_table import Table
from lapping.readings_text import Row
from lapping.typed import shown

ONLY_SEAT = "1"
"""The seating of a file that names none: the face was set down once."""


@dataclass(frozen=True, slots=True)
class _Stack:
    """A leaf or several on one another; none at all is what goes where none does."""

    um: Fraction
    leaves: int


def read_feeler(table: Table) -> tuple[FeelerReading, ...]:
    """Read all feeler readings in the order of the file, noting every mistake."""
    at = table.columns(("along", "across", "goes"), ("stops", "seat"))
    if at is None:
        return ()
    rows = list(table.rows(len(at)))
    seats_named = "seat" in at and any(row.cells[at["seat"]] for row in rows)
    readings = []
    for row in rows:
        seat = row.cells[at["seat"]] if seats_named else ONLY_SEAT
        if not seat:
            table.mistakes.at(row.line, "seat is blank; other rows name theirs, so say")
        reading = _read_row(table, row, at, seat)
        if reading is not None:
            readings.append(reading)
    return tuple(readings)


def _read_row(
    table: Table, row: Row, at: dict[str, int], seat: str
) -> FeelerReading | None:
    along = table.place_mm(row.cells[at["along"]], "along", row.line)
    across = table.place_mm(row.cells[at["across"]], "across", row.line)
    goes_cell = row.cells[at["goes"]]
    stops_cell = row.cells[at["stops"]] if "stops" in at else ""
    goes = _read_stack(table, goes_cell, "goes", row.line)
    if stops_cell:
        stops = _read_stack(table, stops_cell, "stops", row.line)
        if stops is None:
            return None
    else:
        stops = None if goes is None else _next_thicker(table, goes, row.line)
    if along is None or across is None or goes is None:
        return None
    if stops is not None and goes.um >= stops.um:
        table.mistakes.at(
            row.line,
            f"goes {shown(goes_cell)} is not thinner than stops {shown(stops_cell)}; "
            "are the two swapped?",
        )
        return None
    return FeelerReading(
        along_mm=along,
        across_mm=across,
        goes_um=float(goes.um),
        stops_um=None if stops is None else float(stops.um),
        goes_leaves=goes.leaves,
        stops_leaves=0 if stops is None else stops.leaves,
        seat=seat,
        entered_as=f"goes {goes_cell}"
        + (f", stops {stops_cell}" if stops_cell else ""),
        line=row.line,
    )


def _read_stack(table: Table, cell: str, column: str, line: int) -> _Stack | None:
    if column == "goes" and not cell:
        table.mistakes.at(
            line, "goes is blank; write 0 where not even the thinnest leaf goes"
        )
        return None
    parts = [part.strip() for part in cell.split("+")]
    known = len(table.typed)
    sizes = [table.height_um(part, column, line) for part in parts]
    found = [size for size in sizes if size is not None]
    if len(found) != len(parts):
        return None
    if len({one.unit for one in table.typed[known:]}) > 1:
        table.mistakes.at(
            line, f"{column} {shown(cell)} mixes units; give each leaf its unit"
        )
        return None
    none_goes = column == "goes" and found == [0]
    if any(size <= 0 for size in found) and not none_goes:
        table.mistakes.at(
            line, f"{column} {shown(cell)} has a leaf that is not thicker than 0"
        )
        return None
    if none_goes:
        return _Stack(Fraction(0), 0)
    if not _in_set(table, parts, found, column, line):
        return None
    return _Stack(sum(found, Fraction(0)), len(found))


def _in_set(
    table: Table, parts: list[str], found: list[Fraction], column: str, line: int
) -> bool:
    """Check the leaves against the set in the header, each used once."""
    leaves = Counter(table.header.leaves_um)
    if not leaves:
        return True
    for part, size in zip(parts, found, strict=True):
        if size not in leaves:
            table.mistakes.at(
                line,
                f"{column} {shown(part)} is no leaf of the set in '# leaves:'; a stack "
                "is written leaf by leaf, as 0.05+0.10",
            )
            return False
    for size, times in Counter(found).items():
        if times > leaves[size]:
            table.mistakes.at(
                line,
                f"{column} {shown('+'.join(parts))} takes a leaf {times} times that "
                f"'# leaves:' lists {leaves[size]} times",
            )
            return False
    return True


def _next_thicker(table: Table, goes: _Stack, line: int) -> _Stack | None:
    """Give the leaf that stopped where it was left out: the next of the set.

    None if even the thickest goes, and, with a mistake noted, if no set is known.
    """
    leaves = table.header.leaves_um
    if not leaves:
        table.mistakes.at(
            line,
            "stops is left out; write the leaf that does not go, or list your set in "
            "'# leaves:'",
        )
        return None
    thicker = [leaf for leaf in leaves if leaf > goes.um]
    return _Stack(min(thicker), 1) if thicker else None
