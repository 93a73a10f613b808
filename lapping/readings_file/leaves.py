"""Leaves in a table's cells: what goes, what stops, and the seating they belong to."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from lapping.readings import leaf_trouble
from lapping.readings_file.table import Table
from lapping.readings_file.text import Row
from lapping.typed import shown

ONLY_SEAT = "1"
"""The seating of a file that names none: it was set down once."""


@dataclass(frozen=True, slots=True)
class Stack:
    """A leaf or several on one another; none at all is what goes where none does."""

    um: Fraction
    leaves: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaves:
    """What goes and what stops at one place; ``stops`` None if nothing was known to."""

    goes: Stack
    stops: Stack | None
    entered_as: str

    @property
    def stops_um(self) -> float | None:
        """Give what stops in micrometres."""
        return None if self.stops is None else float(self.stops.um)

    @property
    def stops_leaves(self) -> int:
        """Count the leaves of what stops."""
        return 0 if self.stops is None else self.stops.leaves


def named_seats(table: Table, rows: Sequence[Row], at: dict[str, int]) -> list[str]:
    """Give the seating of each row; if any row names one, every row must."""
    if "seat" not in at or not any(row.cells[at["seat"]] for row in rows):
        return [ONLY_SEAT] * len(rows)
    for row in rows:
        if not row.cells[at["seat"]]:
            table.mistakes.at(row.line, "seat is blank; other rows name theirs, so say")
    return [row.cells[at["seat"]] for row in rows]


def read_leaves(table: Table, row: Row, at: dict[str, int]) -> Leaves | None:
    """Read the cells `goes` and `stops` of a row, or note what is wrong with them."""
    goes_cell = row.cells[at["goes"]]
    stops_cell = row.cells[at["stops"]] if "stops" in at else ""
    goes = _read_stack(table, goes_cell, "goes", row.line)
    if stops_cell:
        stops = _read_stack(table, stops_cell, "stops", row.line)
        if stops is None:
            return None
    else:
        stops = None if goes is None else _next_thicker(table, goes, row.line)
    if goes is None:
        return None
    if stops is not None and goes.um >= stops.um:
        table.mistakes.at(
            row.line,
            f"goes {shown(goes_cell)} is not thinner than stops {shown(stops_cell)}; "
            "are the two swapped?",
        )
        return None
    entered_as = f"goes {goes_cell}" + (f", stops {stops_cell}" if stops_cell else "")
    return Leaves(goes=goes, stops=stops, entered_as=entered_as)


def _read_stack(table: Table, cell: str, column: str, line: int) -> Stack | None:
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
    if len({one.unit for one, _ in table.typed[known:]}) > 1:
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
        return Stack(Fraction(0), 0)
    if not table.header.leaves_um:
        for part, size in zip(parts, found, strict=True):
            trouble = leaf_trouble(part, size)
            if trouble:
                table.mistakes.at(line, f"{column} {trouble}", once="leaves")
                return None
    if not _in_set(table, parts, found, column, line):
        return None
    return Stack(sum(found, Fraction(0)), len(found))


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


def _next_thicker(table: Table, goes: Stack, line: int) -> Stack | None:
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
    return Stack(min(thicker), 1) if thicker else None
