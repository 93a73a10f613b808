"""Winding sticks: two lines straight across the face, and the gap that twist opens."""

from __future__ import annotations

from typing import Literal

from lapping.readings import WindingReading
from lapping.readings_file.table import Table
from lapping.readings_file.text import Row
from lapping.typed import shown

LEAST_APART_MM = 1.0
"""Sticks closer than this stand at one place."""
LEAST_SHARE_OF_WIDTH = 0.5
"""A stick seen over less of the width than this was hardly laid right across it."""
MOST_STICK_MM = 5000.0
High = Literal["left", "right", "none"]
_TURNED: dict[High, High] = {"left": "right", "right": "left", "none": "none"}


def read_winding(table: Table) -> tuple[WindingReading, ...]:
    """Read all readings of winding sticks, noting every mistake.

    `high` belongs to the stick at `along_2`, which may be the one nearer the toe: who
    stands at the heel sights over the near stick at the far one. Such a pair is kept
    turned round, and the other end is then the high one.
    """
    at = table.columns(("along_1", "along_2", "stick", "gap", "high"))
    if at is None:
        return ()
    found = [_read_row(table, row, at) for row in table.rows(len(at))]
    return tuple(reading for reading in found if reading is not None)


def _read_row(table: Table, row: Row, at: dict[str, int]) -> WindingReading | None:
    along_1 = table.place_mm(row.cells[at["along_1"]], "along_1", row.line)
    along_2 = table.place_mm(row.cells[at["along_2"]], "along_2", row.line)
    stick = _read_stick(table, row.cells[at["stick"]], row.line)
    gap_cell, high_cell = row.cells[at["gap"]], row.cells[at["high"]]
    gap = table.gap_um(gap_cell, "gap", row.line)
    high = _read_high(table, high_cell, row.line)
    if gap is not None and high is not None and (gap == 0) != (high == "none"):
        table.mistakes.at(
            row.line,
            f"gap {shown(gap_cell)} and high {shown(high_cell)} do not agree; high is "
            "none where the gap is 0, and otherwise left or right",
        )
        return None
    if along_1 is None or along_2 is None:
        return None
    if abs(along_1 - along_2) < LEAST_APART_MM:
        table.mistakes.at(
            row.line,
            f"both sticks stand at along {along_1:g} mm; twist shows between two "
            "places, set them far apart",
        )
        return None
    if stick is None or gap is None or high is None:
        return None
    entered_as = f"{row.cells[at['along_1']]} to {row.cells[at['along_2']]}, "
    entered_as += f"stick {row.cells[at['stick']]}, gap {gap_cell}, high {high_cell}"
    return WindingReading(
        along_1_mm=min(along_1, along_2),
        along_2_mm=max(along_1, along_2),
        stick_mm=stick,
        gap_um=float(gap),
        high=high if along_1 < along_2 else _TURNED[high],
        entered_as=entered_as,
        line=row.line,
    )


def _read_stick(table: Table, cell: str, line: int) -> float | None:
    stick = table.place_mm(cell, "stick", line)
    if stick is None:
        return None
    if not 0 < stick <= MOST_STICK_MM:
        table.mistakes.at(
            line,
            f"stick {shown(cell)} must be more than 0 and at most "
            f"{MOST_STICK_MM / 1000:g} m; it is the length over which the gap is seen",
        )
        return None
    face = table.header.face
    if face is not None and stick < LEAST_SHARE_OF_WIDTH * face.width_mm:
        table.mistakes.at(
            line,
            f"stick {shown(cell)} is {stick:g} mm and does not reach across a face "
            f"{face.width_mm:g} mm wide; it is the length over which the gap is seen, "
            "is its unit right?",
        )
        return None
    return stick


def _read_high(table: Table, cell: str, line: int) -> High | None:
    for word in _TURNED:
        if cell.lower() == word:
            return word
    trouble = f"high {shown(cell)} is not known" if cell else "high is blank"
    table.mistakes.at(
        line,
        f"{trouble}; write left or right, whichever end of the stick at along_2 stands "
        "high as seen with the toe pointing away, or none",
    )
    return None
