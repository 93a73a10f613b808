"""Feeler readings: the thickest leaf or stack that goes, and the next that stops."""

from __future__ import annotations

from lapping.readings import FeelerReading
from lapping.readings_file.leaves import named_seats, read_leaves
from lapping.readings_file.table import Table


def read_feeler(table: Table) -> tuple[FeelerReading, ...]:
    """Read all feeler readings in the order of the file, noting every mistake."""
    at = table.columns(("along", "across", "goes"), ("stops", "seat"))
    if at is None:
        return ()
    rows = list(table.rows(len(at)))
    readings = []
    for row, seat in zip(rows, named_seats(table, rows, at), strict=True):
        along = table.place_mm(row.cells[at["along"]], "along", row.line)
        across = table.place_mm(row.cells[at["across"]], "across", row.line)
        leaves = read_leaves(table, row, at)
        if along is None or across is None or leaves is None:
            continue
        readings.append(
            FeelerReading(
                along_mm=along,
                across_mm=across,
                goes_um=float(leaves.goes.um),
                stops_um=leaves.stops_um,
                goes_leaves=leaves.goes.leaves,
                stops_leaves=leaves.stops_leaves,
                seat=seat,
                entered_as=leaves.entered_as,
                line=row.line,
            )
        )
    return tuple(readings)
