"""Slopes from a level or an autocollimator, each from one place to a second."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lapping.readings import LevelReading
from lapping.readings_file.along_lines import check_straight, line_name
from lapping.readings_file.table import Table
from lapping.readings_file.text import Row
from lapping.typed import shown

LEAST_BASE_MM = 1.0
"""No level stands on two places closer than this."""
_PLACES = ("along_1", "across_1", "along_2", "across_2")


def read_level(table: Table) -> tuple[LevelReading, ...]:
    """Read all slopes in the order of the file, noting every mistake.

    Slopes are micrometres per metre, positive when place 2 stands prouder.
    """
    at = table.columns(("line", *_PLACES, "slope"))
    if at is None:
        return ()
    found = [_read_row(table, row, at) for row in table.rows(len(at))]
    readings = tuple(reading for reading in found if reading is not None)
    if table.header.datum == "line":
        _check_lines(table, readings)
    return readings


def _read_row(table: Table, row: Row, at: dict[str, int]) -> LevelReading | None:
    name = line_name(table, row.cells[at["line"]], row.line, "the slope was read along")
    places = [table.place_mm(row.cells[at[one]], one, row.line) for one in _PLACES]
    typed = row.cells[at["slope"]]
    slope = table.slope_um_per_m(typed, "slope", row.line)
    known = [place for place in places if place is not None]
    if len(known) != len(places):
        return None
    along_1, across_1, along_2, across_2 = known
    base = math.dist((along_1, across_1), (along_2, across_2))
    if base < LEAST_BASE_MM:
        table.mistakes.at(
            row.line,
            f"places 1 and 2 are {base:g} mm apart; a slope is read between two "
            "places, give those where the level's feet stood",
        )
        return None
    if name is None or slope is None:
        return None
    return LevelReading(
        line_name=name,
        along_1_mm=along_1,
        across_1_mm=across_1,
        along_2_mm=along_2,
        across_2_mm=across_2,
        slope_um_per_m=float(slope),
        entered_as=typed,
        line=row.line,
    )


def _check_lines(table: Table, readings: Sequence[LevelReading]) -> None:
    """Check lines that have a tilt of their own: straight, and of several slopes.

    A level has the same zero wherever it stands, so there the name is only a name.
    """
    all_read = not table.mistakes.found
    lines: dict[str, list[LevelReading]] = {}
    for reading in readings:
        lines.setdefault(reading.line_name, []).append(reading)
    for name, members in lines.items():
        stations = [((one.along_1_mm, one.across_1_mm), one.line) for one in members]
        stations += [((one.along_2_mm, one.across_2_mm), one.line) for one in members]
        check_straight(table, name, stations)
        if all_read and len(members) == 1:
            table.warn(
                members[0].line,
                f"line {shown(name)} has one slope only; with '# datum: line' its tilt "
                "is unknown, so that this slope shows nothing",
            )
