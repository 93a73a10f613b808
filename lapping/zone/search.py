"""Find a least zone and prove it: floats first, whole numbers where they fail."""

from __future__ import annotations

from typing import NamedTuple

from lapping.zone.exchange import (
    BOTTOM,
    STOP,
    TOP,
    Member,
    Reference,
    Values,
    exchange,
    weigh,
)
from lapping.zone.exchange_exact import exchange_exactly

WITHIN = 1e-14
"""The exchange stops when nothing sticks out by more than this share of the range."""
PROVED = 2e-13
"""A gap above this share of the range is closed in whole numbers."""
ROUNDS = 1000


class Zone(NamedTuple):
    """A least zone of levelled values; it is ``top`` - ``bottom`` about the slopes.

    ``proved`` is the distance that the members' weights prove, at least 0. Without
    members a plane goes through all values.
    """

    members: list[Member]
    weights: list[float]
    proved: float
    slope_u: float
    slope_v: float
    top: float
    bottom: float


def solve(values: Values, reference: Reference, span: float, rounding: float) -> Zone:
    """Exchange from a reference to the least zone of values with this span."""
    within = WITHIN * span + rounding
    open_gap = PROVED * span + 4 * rounding
    found = exchange(values, reference, within)
    slope_u, slope_v = reference.slope_u, reference.slope_v
    if found is not None:
        weights, proved = weigh(reference.members)
        if found.top - found.bottom - proved <= open_gap:
            return Zone(
                reference.members if weights else [],
                weights,
                proved,
                slope_u,
                slope_v,
                found.top,
                found.bottom,
            )
    return _solve_exactly(values, (slope_u, slope_v), within)


def _solve_exactly(values: Values, slopes: tuple[float, float], within: float) -> Zone:
    tried = {(m.place, m.side): m for m in values.some(*slopes)}
    for _ in range(ROUNDS):
        members, weights, planes = exchange_exactly([*tried.values()])
        level, slope_u, slope_v, half = planes
        found = values.extremes(slope_u, slope_v)
        top = (found.top_place, TOP)
        bottom = (found.bottom_place, BOTTOM)
        missed = []
        if found.top - level - half > within and top not in tried:
            missed.append(top)
        if level - found.bottom - half > within and bottom not in tried:
            missed.append(bottom)
        if not missed:
            break
        tried.update((key, values.member(*key)) for key in missed)
    held = STOP not in members
    return Zone(
        members if held else [],
        weights if held else [],
        2 * half if held else 0.0,
        slope_u,
        slope_v,
        found.top,
        found.bottom,
    )
