"""Where the labels of numbered spots go, so that none hides another."""

from __future__ import annotations

import math

BADGE_PT = (25.0, 15.0)
"""Width and height of a spot's label."""
RINGS = (1.0, 1.5, 2.2, 3.0, 4.0, 5.0)
"""How far off its spot a label may go, in its own sizes."""


def place_badges(
    spots_pt: list[tuple[float, float]],
    avoid_pt: list[tuple[float, float]],
    size_pt: tuple[float, float],
) -> list[tuple[float, float]]:
    """Choose the middle of each spot's label beside its spot, all in points.

    Labels keep off one another and the spots first, then off the marks in
    ``avoid_pt``, and within a face of ``size_pt``.
    """
    wide, tall = BADGE_PT
    placed: list[tuple[float, float]] = []
    for x, y in spots_pt:
        best, least = (x, y), math.inf
        for ring in RINGS:
            for turn in range(24):
                angle = math.pi * turn / 12
                at = (
                    x + ring * 0.85 * wide * math.cos(angle),
                    y + ring * 1.1 * tall * math.sin(angle),
                )
                cost = ring
                cost += 100 * sum(_cover(at, p, wide + 2, tall + 2) for p in placed)
                cost += 20 * sum(_cover(at, p, wide / 2, tall / 2) for p in spots_pt)
                cost += 2 * sum(_cover(at, p, wide / 2, tall / 2) for p in avoid_pt)
                cost += 50 * _outside(at, size_pt)
                if cost < least - 1e-9:
                    best, least = at, cost
        placed.append(best)
    return placed


def _cover(
    at: tuple[float, float], other: tuple[float, float], wide: float, tall: float
) -> bool:
    return abs(at[0] - other[0]) < wide and abs(at[1] - other[1]) < tall


def _outside(at: tuple[float, float], size: tuple[float, float]) -> bool:
    return any(
        not half + 1 <= place <= length - half - 1
        for place, length, half in zip(
            at, size, (BADGE_PT[0] / 2, BADGE_PT[1] / 2), strict=True
        )
    )
