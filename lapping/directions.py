"""Directions of strokes and scratches on a face, as they are said and as angles.

An angle is counted from *along* (0) towards *across* (90) by way of the line from
heel-left to toe-right: clockwise, as seen with the toe pointing away.
"""

from __future__ import annotations

import re

from lapping.errors import BadInput

_NAMED = {"along": 0.0, "across": 90.0}
_DEGREES = re.compile(r"([+\-−]?\d+(?:\.\d+)?)\s*(?:deg|degrees|°)", re.IGNORECASE)
HALF_TURN = 180.0


def parse_direction_deg(text: str) -> float:
    """Turn ``along``, ``across`` or ``45deg`` into degrees from 0 to below 180.

    >>> parse_direction_deg("across"), parse_direction_deg("-30 deg")
    (90.0, 150.0)
    """
    said = text.strip().lower()
    if said in _NAMED:
        return _NAMED[said]
    found = _DEGREES.fullmatch(said)
    if found is None:
        message = (
            f"the direction '{text[:30]}' cannot be read; write along, across, or an "
            "angle from along such as 45deg (heel-left to toe-right) or -45deg"
        )
        raise BadInput(message)
    return float(found[1].replace("−", "-")) % HALF_TURN


def between_deg(one: float, other: float) -> float:
    """Give the angle between two lines, from 0 to 90 degrees."""
    apart = abs(one - other) % HALF_TURN
    return min(apart, HALF_TURN - apart)


def direction_words(degrees: float, within_deg: float = 0.5) -> str:
    """Say a direction as people do: ``along``, ``across``, ``45° to along``.

    A direction that is off by no more than ``within_deg`` is called by its name.
    """
    for name, angle in _NAMED.items():
        if between_deg(degrees, angle) <= within_deg:
            return name
    shown = degrees if degrees <= HALF_TURN / 2 else degrees - HALF_TURN
    return f"{shown:.0f}° to along"
