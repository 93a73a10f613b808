"""Set the four sides on their edges to a part of a pixel, with a little bow."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_choice import Choice, crossing
from lapping.photo.outline_picture import Picture
from lapping.photo.outline_strips import Strips, strips_beside

Array = NDArray[np.float64]

ROUNDS, WEIGHINGS = 4, 5
BESIDE_MM, FIRST_MM, LAST_MM, NOISE_MM = 2.4, 0.6, 0.35, 0.08
LEAST_STATIONS = 12
STIFF = 0.06
"""How much a bow of one pixel counts against it, over one station's misfit."""
NEAR = 0.02


def settle_corners(picture: Picture, choice: Choice) -> tuple[Array, float]:
    """Give the corners (4, 2) in pixels, and the worst side's scatter in mm."""
    strips, _ = strips_beside(
        picture, choice.corners, choice.px_per_mm, np.full(4, BESIDE_MM)
    )
    bows, spread = _sides(strips, choice.px_per_mm, choice.usual)
    corners = [_corner(strips, bows, side) for side in range(4)]
    return np.array(corners), float((spread / choice.px_per_mm).max())


def _sides(strips: Strips, px_per_mm: Array, usual: Array) -> tuple[Array, Array]:
    """Fit level, slope and bow (4, 3) to where the edge is clearest at each station.

    Gives the scatter of each side as well, in pixels.
    """
    at, off, edge = strips.at, strips.off, strips.edge
    many, wide = edge.shape[1:]
    rows = np.ogrid[:4, :many]
    step = off[:, 1:2] - off[:, :1]
    bows = np.zeros((4, 3))
    shape = np.stack([np.ones(many), at, 4 * at * (1 - at)], axis=1)
    usual = 2 * usual[:, None] + 4
    reach = spread = FIRST_MM * px_per_mm
    for turn in range(ROUNDS):
        # What is within reach is a few columns; only they are looked at.
        lines = bows @ shape.T
        half = int(np.ceil((reach / step[:, 0]).max()))
        middle = np.rint((lines - off[:, :1]) / step).astype(np.intp)
        columns = (middle[..., None] + np.arange(-half, half + 1)).clip(1, wide - 2)
        place = off[:, :1, None] + columns * step[..., None]
        near = np.abs(place - lines[..., None]) <= reach[:, None, None]
        near &= np.take_along_axis(strips.within, columns, 2)
        seen = np.where(near, np.take_along_axis(edge, columns, 2), -1.0)
        which = seen.argmax(axis=2)
        top = np.take_along_axis(columns, which[..., None], 2)[..., 0]
        found = np.take_along_axis(seen, which[..., None], 2)[..., 0]
        before, here, behind = (edge[rows[0], rows[1], top + k] for k in (-1, 0, 1))
        bend = before - 2 * here + behind
        sharp = np.abs(bend) > 1e-6
        part = 0.5 * (before - behind) / np.where(sharp, bend, 1.0)
        part = np.where(sharp, part.clip(-0.5, 0.5), 0)
        place = off[:, :1] + (top + part) * step
        weight = np.where(found > 0, np.clip(here / usual, 0, 2), 0)
        weight = weight * (weight > 0.3)
        enough = np.count_nonzero(weight, axis=1) >= LEAST_STATIONS
        if not enough.any():
            break
        # The first round is a line, so that no far edge bends it.
        fitted, scatter = _robust(
            shape if turn else shape * [1, 1, 0], place, weight, px_per_mm
        )
        bows = np.where(enough[:, None], fitted, bows)
        spread = np.where(enough, scatter, spread)
        reach = np.where(
            enough,
            np.maximum(LAST_MM * px_per_mm, np.minimum(reach, 3 * spread)),
            reach,
        )
    return bows, spread


def _robust(
    shape: Array, place: Array, weight: Array, px_per_mm: Array
) -> tuple[Array, Array]:
    """Fit by least squares, weighing down again and again what lies off."""
    used = weight > 0
    now = weight
    squares = (shape[:, :, None] * shape[:, None, :]).reshape(len(shape), 9)
    count = np.count_nonzero(used, axis=1)
    stiff = 1e-6 * np.eye(3) + np.diag([0, 0, STIFF]) * count[:, None, None]
    each, half = np.arange(len(count)), np.stack([(count - 1) // 2, count // 2])
    for _ in range(WEIGHINGS):
        normal = (now @ squares).reshape(-1, 3, 3) + stiff
        bows = np.linalg.solve(normal, ((now * place) @ shape)[..., None])[..., 0]
        gap = np.abs(place - bows @ shape.T)
        in_order = np.sort(np.where(used, gap, np.inf), axis=1)
        median = in_order[each, half.clip(0)].mean(axis=0)
        spread = 1.4826 * median + NOISE_MM * px_per_mm
        now = weight * np.clip(1 - (gap / (3 * spread[:, None])) ** 2, 0, 1) ** 2
    return bows, spread


def _corner(strips: Strips, bows: Array, side: int) -> Array:
    """Say where a bowed side begins: where it crosses the one before it."""
    at_one, at_other = 1.0, 0.0
    corner: Array = strips.quad[side]
    for _ in range(4):
        a, b = (_on(strips, bows, side - 1, at_one + k) for k in (-NEAR, NEAR))
        c, d = (_on(strips, bows, side, at_other + k) for k in (-NEAR, NEAR))
        corner = crossing(a, b - a, c, d - c)
        at_one += NEAR * (2 * _share(corner, a, b) - 1)
        at_other += NEAR * (2 * _share(corner, c, d) - 1)
    return corner


def _on(strips: Strips, bows: Array, side: int, at: float) -> Array:
    bow = bows[side]
    off = bow[0] + bow[1] * at + bow[2] * 4 * at * (1 - at)
    place: Array = strips.quad[side] + at * strips.ways[side] + off * strips.outs[side]
    return place


def _share(place: Array, start: Array, stop: Array) -> float:
    way = stop - start
    return float((place - start) @ way / (way @ way))
