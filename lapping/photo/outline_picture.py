"""A small copy of a photo for finding an outline: its colours and its edges.

Edges are kept as a tensor of slopes over all colours, which says how strong an edge is
across any direction. Places are pixels of the small copy, from its upper left.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.sampling import blurred, shrunk, values_at

Array = NDArray[np.float64]
Colours = NDArray[np.float32]
Picture = NDArray[np.uint8]

MIX = np.array(
    [[1 / 3, 1 / 3, 1 / 3], [0.0, -0.75, 0.75], [-0.75, 0.375, 0.375]], np.float32
)
"""From blue, green, red to grey, red against green, and yellow against blue."""
BLUR, MAP_BLUR = 1.0, 2.0
MOST_EDGES = 24_000
ALIGNED = (0.5, 0.9)
"""Share of the slope that must lie across a line to count not at all, and in full."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edges:
    """Slopes of a picture that is ``share`` of the working size; ``level`` is usual."""

    tensor: Colours
    level: float
    share: float

    def across(self, places: Array, normals: Array) -> Colours:
        """Say how clear an edge is at places (n, m, 2) across normals, 0 to 1."""
        return self.clear(self.slopes_at(places), normals)

    def slopes_at(self, places: Array) -> Colours:
        """Look up the slopes, to be asked across several normals."""
        return values_at(self.tensor, (places + 0.5) * self.share - 0.5)

    def clear(self, slopes: Colours, normals: Array) -> Colours:
        """Say how clear an edge is in slopes that were looked up before."""
        a, b, d = slopes[..., 0], slopes[..., 1], slopes[..., 2]
        x = normals[..., 0].astype(np.float32)
        y = normals[..., 1].astype(np.float32)
        through = x * x * a + 2 * x * y * b + y * y * d
        low, high = ALIGNED
        aligned = np.clip((through / (a + d + 1e-6) - low) / (high - low), 0, 1)
        strong = np.sqrt(np.maximum(through, 0)) / (2 * self.level)
        result: Colours = np.clip(strong * aligned, 0, 1)
        return result


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edgels:
    """The strongest thin edges: where, which way across, and how strong (0 to 1)."""

    places: Array
    angles: Array
    weights: Array


def shrink(picture: Picture, longer_px: int) -> tuple[Picture, float]:
    """Give the picture at most so long, and its size over what it was."""
    halved = shrunk(picture, longer_px)
    scale = 0.5 ** round(np.log2(max(picture.shape) / max(halved.shape)))
    share = longer_px / max(halved.shape[:2])
    if share >= 1:
        return halved, scale
    high, wide = halved.shape[:2]
    size = (round(wide * share), round(high * share))
    small = cv2.resize(halved, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=np.uint8), scale * size[0] / wide


def colours_of(picture: Picture | Colours) -> Colours:
    """Part grey from colour."""
    return np.asarray(cv2.transform(picture.astype(np.float32), MIX), np.float32)


def resized(colours: Colours, shape: tuple[int, int]) -> Colours:
    """Give colours at another size, each pixel the mean of those under it."""
    size = (shape[1], shape[0])
    return np.asarray(
        cv2.resize(colours, size, interpolation=cv2.INTER_AREA), np.float32
    )


def find_edges(
    colours: Colours, blur: float, share: float, floor: float
) -> tuple[Edges, Edgels]:
    """Find edges in colours or in one map; slopes below ``floor`` are noise."""
    smooth = blurred(colours, blur)
    if smooth.ndim == 2:
        smooth = smooth[..., None]
    right = _slopes(smooth, 1, 0)
    down = _slopes(smooth, 0, 1)
    a, b, d = _summed(right, right), _summed(right, down), _summed(down, down)
    strength = np.sqrt((a + d + np.sqrt((a - d) ** 2 + 4 * b * b)) / 2)
    some = strength[::2, ::2].ravel()
    usual = int(0.8 * some.size)
    level = float(np.partition(some, usual)[usual]) + floor
    edges = Edges(tensor=np.dstack([a, b, d]), level=level, share=share)
    return edges, _thin(a, b, d, strength, floor, level)


def _slopes(smooth: Colours, right: int, down: int) -> Colours:
    scharr = cv2.Scharr(smooth, cv2.CV_32F, right, down)
    found: Colours = np.asarray(scharr, np.float32) * np.float32(1 / 32)
    return found if found.ndim == 3 else found[..., None]


def _summed(one: Colours, other: Colours) -> Colours:
    # Several times as fast as a product summed over its last axis.
    total: Colours = one[..., 0] * other[..., 0]
    for channel in range(1, one.shape[2]):
        total += one[..., channel] * other[..., channel]
    return total


def _thin(
    a: Colours, b: Colours, d: Colours, strength: Colours, floor: float, level: float
) -> Edgels:
    """Keep what is strongest across its own edge."""
    inner = strength[1:-1, 1:-1]
    least = max(floor, 0.6 * level)
    rows, columns = np.nonzero(inner > least)
    rows, columns = rows + 1, columns + 1
    angles = 0.5 * np.arctan2(2 * b[rows, columns], (a - d)[rows, columns])
    x, y = np.rint(np.cos(angles)).astype(int), np.rint(np.sin(angles)).astype(int)
    here = strength[rows, columns]
    top = (here >= strength[rows + y, columns + x]) & (
        here > strength[rows - y, columns - x]
    )
    rows, columns, angles, here = rows[top], columns[top], angles[top], here[top]
    if here.size > MOST_EDGES:
        strong = np.argpartition(-here, MOST_EDGES)[:MOST_EDGES]
        rows, columns, angles, here = (
            rows[strong],
            columns[strong],
            angles[strong],
            here[strong],
        )
    return Edgels(
        places=np.stack([columns, rows], axis=1).astype(np.float64),
        angles=angles.astype(np.float64),
        weights=np.clip(here / (1.5 * level), 0, 1).astype(np.float64),
    )
