"""Straight lines in a picture: where many edges agree on one.

A line is its normal's angle and its distance from the middle of the picture along it.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_picture import Edgels, Edges
from lapping.photo.sampling import blurred, highest_near

Array = NDArray[np.float64]

ANGLES, STEP_PX = 240, 2.0
SPREAD = 4
"""An edge's own angle is sure to about this many steps of 0.75 degrees."""
ALONG_PX = 2.0
OFFS = (-3, -2, -1, 0, 1, 2, 3)
SAME_PX = 2.0
LEAST_EDGE = 6.0


def middle_of(shape: tuple[int, int]) -> Array:
    """Give the middle of a picture of so many rows and columns."""
    return np.array([shape[1] / 2 - 0.5, shape[0] / 2 - 0.5])


def normals_of(lines: Array) -> Array:
    """Give the unit normals (n, 2)."""
    return np.stack([np.cos(lines[:, 0]), np.sin(lines[:, 0])], axis=1)


def ways_of(lines: Array) -> Array:
    """Give the unit directions (n, 2)."""
    return np.stack([-np.sin(lines[:, 0]), np.cos(lines[:, 0])], axis=1)


def vote(edgels: Edgels, shape: tuple[int, int], keep: int) -> Array:
    """Let each edge vote for the lines through it; give the lines with most votes."""
    reach = float(np.hypot(*shape)) / 2
    steps = int(2 * reach / STEP_PX) + 4
    places = edgels.places - middle_of(shape)
    nearest = np.rint(edgels.angles / (np.pi / ANGLES)).astype(int)
    off = np.arange(-SPREAD, SPREAD + 1)[:, None]
    column = (nearest + off) % ANGLES
    angle = np.arange(ANGLES) * (np.pi / ANGLES)
    away = np.cos(angle)[column] * places[:, 0] + np.sin(angle)[column] * places[:, 1]
    row = np.rint((away + reach) / STEP_PX + 1).astype(np.intp)
    share = np.exp(-0.5 * (off / (0.6 * SPREAD)) ** 2)
    votes = np.bincount(
        (column * steps + row).ravel(),
        (edgels.weights * share).ravel(),
        ANGLES * steps,
    )
    count = votes.reshape(ANGLES, steps).astype(np.float32)
    # Half a turn on, a line comes back with its distance reversed.
    around = 4
    count = np.concatenate([count[-around:, ::-1], count, count[:around, ::-1]])
    count = blurred(count, 0.8, (3, 3))
    peak = highest_near(count, 7, 5)[around:-around]
    # What texture gives everywhere is no line.
    clear = (count - np.asarray(cv2.blur(count, (25, 1))))[around:-around]
    found = np.argwhere((count[around:-around] >= peak) & (peak > 4))
    best = np.argsort(-clear[tuple(found.T)])[:keep]
    return np.stack(
        [
            found[best, 0] * (np.pi / ANGLES),
            (found[best, 1] - 1) * STEP_PX - reach,
        ],
        axis=1,
    )


def along_lines(
    lines: Array, shape: tuple[int, int]
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Step along each line: distances (m), places (n, m, 2), and which are inside."""
    reach = float(np.hypot(*shape)) / 2
    along = np.arange(-reach, reach + ALONG_PX, ALONG_PX)
    feet = middle_of(shape) + normals_of(lines) * lines[:, 1:2]
    places = feet[:, None] + along[None, :, None] * ways_of(lines)[:, None]
    return along, places, inside(places, shape)


def inside(
    places: Array, shape: tuple[int, int], rim: float = 1.0
) -> NDArray[np.bool_]:
    """Say which places lie in the picture, off its rim."""
    x, y = places[..., 0], places[..., 1]
    result: NDArray[np.bool_] = (
        (x >= rim) & (x <= shape[1] - 1 - rim) & (y >= rim) & (y <= shape[0] - 1 - rim)
    )
    return result


def settle(lines: Array, edges: Edges, shape: tuple[int, int]) -> Array:
    """Move each line on to the edge beside it; drop those that then are the same."""
    along, places, within = along_lines(lines, shape)
    normals = normals_of(lines)
    best = np.zeros(places.shape[:2])
    off = np.zeros(places.shape[:2])
    for step in OFFS:
        clear = edges.across(places + step * normals[:, None], normals[:, None])
        clear = clear * (1 - 0.06 * abs(step))
        better = clear > best
        best = np.where(better, clear, best)
        off = np.where(better, step, off)
    weight = best * within
    for _ in range(2):
        total = weight.sum(axis=1) + 1e-9
        middle = (weight * along).sum(axis=1) / total
        level = (weight * off).sum(axis=1) / total
        ahead = along - middle[:, None]
        spread = (weight * ahead**2).sum(axis=1) + 1e-9
        slope = (weight * ahead * (off - level[:, None])).sum(axis=1) / spread
        slope = np.clip(slope, -0.02, 0.02)
        gap = off - level[:, None] - slope[:, None] * ahead
        weight = weight * np.clip(1 - (gap / 2.5) ** 2, 0, 1)
    foot = normals * (lines[:, 1] + level - slope * middle)[:, None]
    angle = lines[:, 0] - np.arctan(slope)
    moved = np.stack([angle, np.zeros(len(lines))], axis=1)
    moved[:, 1] = (foot * normals_of(moved)).sum(axis=1)
    settled = np.where((total > LEAST_EDGE)[:, None], moved, lines)
    return _distinct(settled, shape)


def _distinct(lines: Array, shape: tuple[int, int]) -> Array:
    normals, ways = normals_of(lines), ways_of(lines)
    feet = normals * lines[:, 1:2]
    reach = 0.4 * max(shape)
    near = np.ones((len(lines), len(lines)), dtype=bool)
    for end in (-reach, reach):
        off = (feet + end * ways) @ normals.T - lines[:, 1]
        near &= np.abs(off) < SAME_PX
    kept: list[int] = []
    for line in range(len(lines)):
        if not near[line, kept].any():
            kept.append(line)
    return lines[kept]
