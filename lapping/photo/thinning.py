"""What light says of ink that is partly gone, as far as the photos themselves tell.

Ink that breaks up leaves bare metal between what stays: the light that it takes goes
with the ink that is left. A film that thins takes more than its share (Beer and
Lambert), the more so in the colours that it dims most, so that the channels disagree.
In between lies a power of the light, and the power is chosen by which the channels
agree. Metal that was just rubbed is brighter besides, and by how much is read from the
face: from the light on bare metal where more or less was rubbed off.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Cells = NDArray[np.float64]

USUAL, SPREAD = 0.7, 0.3
"""The power where the channels do not tell, and how far it may be off: 1 is ink that
breaks up, near 0 a film that thins evenly."""
POWERS = np.linspace(0.1, 1.2, 23)
TELLS = 0.015
"""Standard uncertainty of a channel that full ink takes all light from, at best."""
APART = 0.06
PARTLY = (0.1, 0.92)
"""Cells that kept so much tell how ink thins."""
FEWEST = 8
GROWTH = 0.5
"""Of the brightening that is seen so much is taken: some of it is the fall of light."""
MOST_GROWTH = 1.0
FEWEST_GROWTH = 12


def brightened(kept: Cells, light: Cells) -> float:
    """Say by which share metal that was rubbed bare is brighter, from cells.

    ``light`` on bare metal grows with what was rubbed off and falls off over the face.
    """
    known = np.isfinite(kept)
    if known.sum() < FEWEST_GROWTH:
        return 0.0
    along, across = (np.linspace(-1, 1, n) for n in kept.shape)
    v, u = np.broadcast_arrays(along[:, None], across[None, :])
    gone = np.clip(1 - np.where(known, kept, 1.0), 0.0, 1.0)
    terms = np.stack([np.ones_like(gone), gone, v, u], axis=-1)[known]
    value = np.log(light[known])
    weight = np.ones(value.shape)
    found: Cells = np.zeros(4)
    for _ in range(4):
        held = terms * weight[:, None]
        found = np.asarray(np.linalg.lstsq(held, value * weight, rcond=None)[0], float)
        # Least absolute differences: glare and shadow must not count for much.
        weight = np.sqrt(1 / np.maximum(np.abs(value - terms @ found), 0.05))
    growth = float(np.expm1(min(found[1], 1.0)))
    return GROWTH * float(np.clip(growth, 0.0, MOST_GROWTH))


def without_brightening(kept: Cells, growth: float) -> Cells:
    """Give what was kept, if metal that was rubbed bare grew brighter by ``growth``."""
    share = 1 + growth * np.clip(kept, 0.0, 1.2)
    return np.asarray(1 - (1 - kept) / share)


def thinned(kept: Cells, full: float, power: float) -> Cells:
    """Turn the share of light still taken into the share of ink still there.

    ``full`` is the light that full ink leaves, as a share of that on bare metal.
    """
    left = np.clip(1 - kept * (1 - full), 0.003, None)
    return np.asarray((1 - left**power) / (1 - full**power))


def exponent(channels: Sequence[tuple[Cells, float]]) -> float:
    """Give the power by which the channels agree best; each is (kept, full)."""
    doubt = ((POWERS - USUAL) / SPREAD) ** 2
    ordered = sorted(channels, key=lambda one: one[1])
    for weak, weak_full in ordered[1:]:
        strong, strong_full = ordered[0]
        partly = (strong > PARTLY[0]) & (strong < PARTLY[1]) & np.isfinite(weak)
        if weak_full - strong_full < APART or partly.sum() < FEWEST:
            continue
        one, two = strong[partly], weak[partly]
        off = one - two
        spread = 2.2 * float(np.median(np.abs(off - np.median(off))))
        u = np.hypot(spread / np.sqrt(off.size), TELLS / (1 - weak_full))
        differ = [
            float(np.median(thinned(one, strong_full, p) - thinned(two, weak_full, p)))
            for p in POWERS
        ]
        doubt = doubt + (np.array(differ) / u) ** 2
    return float(POWERS[np.argmin(doubt)])
