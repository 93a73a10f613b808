"""The one place where a method's name leads to its equations."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.methods.dial import take_dial
from lapping.methods.feeler import take_feeler
from lapping.methods.level import take_level
from lapping.methods.straightedge import take_edges
from lapping.methods.taken import Taken
from lapping.methods.winding import take_winding
from lapping.readings import ReadingSet


def take_each(sets: Sequence[ReadingSet]) -> list[Taken]:
    """Turn each set of readings, squares apart, into equations in heights."""
    edges = [s.turned for s in sets if s.method == "straightedge"]
    turned_pair = "half" in edges and None in edges
    return [_take(s, turned_pair=turned_pair) for s in sets]


def _take(readings: ReadingSet, *, turned_pair: bool) -> Taken:
    match readings.method:
        case "dial":
            return take_dial(readings)
        case "feeler":
            return take_feeler(readings)
        case "straightedge":
            return take_edges(readings, turned_pair=turned_pair)
        case "level":
            return take_level(readings)
        case "winding":
            return take_winding(readings)
        case "square":
            message = "squares give angles, no heights"
            raise ValueError(message)
