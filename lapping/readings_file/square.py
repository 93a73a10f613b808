"""A square held against a side, its stock on the sole: the gap at one end."""

from __future__ import annotations

from lapping.readings import SquareReading
from lapping.readings_file.table import Table
from lapping.typed import shown


def read_square(table: Table) -> tuple[SquareReading, ...]:
    """Read all gaps under a square's blade, noting every mistake."""
    at = table.columns(("along", "gap", "side"))
    if at is None:
        return ()
    readings = []
    for row in table.rows(len(at)):
        along = table.place_mm(row.cells[at["along"]], "along", row.line)
        gap_cell, side_cell = row.cells[at["gap"]], row.cells[at["side"]]
        gap = table.gap_um(gap_cell, "gap", row.line)
        side = side_cell.lower()
        if side not in {"sole", "top"}:
            trouble = (
                f"side {shown(side_cell)} is not known"
                if side_cell
                else "side is blank"
            )
            table.mistakes.at(
                row.line,
                f"{trouble}; write the end of the blade where the gap shows, sole or "
                "top; where the gap is 0 either will do",
            )
            continue
        if along is None or gap is None:
            continue
        readings.append(
            SquareReading(
                along_mm=along,
                gap_um=float(gap),
                side="sole" if side == "sole" else "top",
                entered_as=f"gap {gap_cell}, side {side_cell}",
                line=row.line,
            )
        )
    return tuple(readings)
