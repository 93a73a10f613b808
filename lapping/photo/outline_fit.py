"""Set the four sides on their edges to a part of a pixel, with a little bow."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_choice import Choice, crossing
from lapping.photo.outline_strips import Strip

Array = NDArray[np.float64]

ROUNDS, WEIGHINGS = 4, 5
FIRST_MM, LAST_MM, NOISE_MM = 0.6, 0.35, 0.08
LEAST_STATIONS = 12
STIFF = 0.06
"""How much a bow of one pixel counts against it, over one station's misfit."""
NEAR = 0.02


def settle_corners(choice: Choice) -> tuple[Array, float]:
    """Give the corners (4, 2) in pixels, and the worst side's scatter in mm."""
    bows, scatter = [], []
    for side, strip in enumerate(choice.strips):
        bow, spread = _side(strip, choice.offs[side], float(choice.px_per_mm[side]))
        bows.append(bow)
        scatter.append(spread / choice.px_per_mm[side])
    corners = [
        _corner(choice.strips[k - 1], bows[k - 1], choice.strips[k], bows[k])
        for k in range(4)
    ]
    return np.array(corners), float(max(scatter))


def _side(strip: Strip, offs: Array, px_per_mm: float) -> tuple[Array, float]:
    """Fit level, slope and bow to where the edge is clearest at each station."""
    many, wide = strip.edge.shape
    rows = np.arange(many)
    step = strip.off[1] - strip.off[0]
    bow = np.array([offs[0], offs[1] - offs[0], 0.0])
    shape = np.stack([np.ones(many), strip.at, 4 * strip.at * (1 - strip.at)], axis=1)
    usual = 2 * float(np.median(strip.edge)) + 4
    reach, spread = FIRST_MM * px_per_mm, FIRST_MM * px_per_mm
    for turn in range(ROUNDS):
        near = np.abs(strip.off[None, :] - (shape @ bow)[:, None]) <= reach
        seen = np.where(near & strip.within, strip.edge, -1.0)
        top = seen.argmax(axis=1).clip(1, wide - 2)
        before, here, behind = (strip.edge[rows, top + k] for k in (-1, 0, 1))
        bend = before - 2 * here + behind
        part = 0.5 * (before - behind) / np.where(np.abs(bend) > 1e-6, bend, 1.0)
        part = np.where(np.abs(bend) > 1e-6, part.clip(-0.5, 0.5), 0)
        place = strip.off[top] + part * step
        weight = np.where(seen[rows, top] > 0, np.clip(here / usual, 0, 2), 0)
        weight *= weight > 0.3
        if np.count_nonzero(weight) < LEAST_STATIONS:
            break
        # The first round is a line, so that no far edge bends it.
        bow, spread = _robust(
            shape if turn else shape * [1, 1, 0], place, weight, px_per_mm
        )
        reach = max(LAST_MM * px_per_mm, min(reach, 3 * spread))
    return bow, spread


def _robust(
    shape: Array, place: Array, weight: Array, px_per_mm: float
) -> tuple[Array, float]:
    """Fit by least squares, weighing down again and again what lies off."""
    used = weight > 0
    now = weight
    stiff = np.diag([1e-6, 1e-6, STIFF * np.count_nonzero(used)])
    for _ in range(WEIGHINGS):
        normal = shape.T @ (shape * now[:, None]) + stiff
        bow = np.asarray(np.linalg.solve(normal, shape.T @ (now * place)), np.float64)
        gap = np.abs(place - shape @ bow)
        spread = 1.4826 * float(np.median(gap[used])) + NOISE_MM * px_per_mm
        now = weight * np.clip(1 - (gap / (3 * spread)) ** 2, 0, 1) ** 2
    return bow, spread


def _corner(one: Strip, one_bow: Array, other: Strip, other_bow: Array) -> Array:
    """Say where two bowed sides cross: the end of one and the start of the other."""
    at_one, at_other = 1.0, 0.0
    corner = one.stop
    for _ in range(4):
        a, b = _on(one, one_bow, at_one - NEAR), _on(one, one_bow, at_one + NEAR)
        c, d = (
            _on(other, other_bow, at_other - NEAR),
            _on(other, other_bow, at_other + NEAR),
        )
        corner = crossing(a, b - a, c, d - c)
        at_one += NEAR * (2 * _share(corner, a, b) - 1)
        at_other += NEAR * (2 * _share(corner, c, d) - 1)
    return corner


def _on(strip: Strip, bow: Array, at: float) -> Array:
    off = bow[0] + bow[1] * at + bow[2] * 4 * at * (1 - at)
    place: Array = strip.start + at * (strip.stop - strip.start) + off * strip.out
    return place


def _share(place: Array, start: Array, stop: Array) -> float:
    way = stop - start
    return float((place - start) @ way / (way @ way))
