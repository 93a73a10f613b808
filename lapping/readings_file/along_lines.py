"""What readings along named lines share: the name, and places that must be on it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from lapping.readings_file.table import Table
from lapping.typed import shown

OFF_LINE_MM = 2.0
"""A place further than this from its line is not where the instrument was."""
Place = tuple[float, float]


def line_name(table: Table, cell: str, line: int, example: str) -> str | None:
    """Give the name of the line a reading was taken along; blank is a mistake."""
    if not cell:
        table.mistakes.at(
            line, f"line is blank; name the line {example}, as A or left edge"
        )
        return None
    return cell


def check_straight(
    table: Table, name: str, stations: Sequence[tuple[Place, int]]
) -> None:
    """Note places off the line through the two farthest; each comes with its row."""
    places = [place for place, _ in stations]
    # From end to end and back, which finds the ends of anything nearly straight
    # without comparing every place with every other.
    start = max(places, key=lambda place: math.dist(place, places[0]))
    stop = max(places, key=lambda place: math.dist(place, start))
    start, stop = min(start, stop), max(start, stop)
    span = math.dist(start, stop)
    if span == 0:
        return
    d_along, d_across = (stop[0] - start[0]) / span, (stop[1] - start[1]) / span
    said = set()
    for (along, across), line in stations:
        off = abs((along - start[0]) * d_across - (across - start[1]) * d_along)
        if off > OFF_LINE_MM and (along, across) not in said:
            said.add((along, across))
            table.mistakes.at(
                line,
                f"the place along {along:g} mm, across {across:g} mm is {off:.2g} mm "
                f"off line {shown(name)}, which runs from {start[0]:g},{start[1]:g} to "
                f"{stop[0]:g},{stop[1]:g}; is a place or the line's name wrong?",
            )
