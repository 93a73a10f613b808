"""The width of a point set: the least distance of two parallel planes that hold it.

This serves faces far from level, where heights over a level plane say too little. Only
two kinds of planes can be closest: a face of the hull against a vertex, and an edge
against an edge (M. E. Houle, G. T. Toussaint, Computing the width of a set, IEEE
Transactions on Pattern Analysis and Machine Intelligence 10, 1988, 761-765).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lapping.errors import TooFewReadings

Block = NDArray[np.float64]
Indices = NDArray[np.intp]

FLAT = 1e-14
"""A set thinner than this share of its extent lies in one plane."""
NUDGE = 1e-12
"""Share of the thickness by which points are moved while the hull is sorted out.

No four of them then lie in one plane, which spares every special case; the planes are
afterwards taken through the points as they were.
"""
NEARLY = 1e-6
PAIRS_AT_A_TIME = 2**20


@dataclass(frozen=True, slots=True)
class Width:
    """The width, in the unit of the points, and the unit normal of its planes."""

    width: float
    normal: tuple[float, float, float]


def orthogonal_width(first: ArrayLike, second: ArrayLike, third: ArrayLike) -> Width:
    """Find the two closest parallel planes that hold all points between them.

    The three coordinates have shape (n,) and one unit. The normal has its last
    coordinate >= 0. Raises TooFewReadings without a point and ValueError for columns
    that differ in length or hold anything but finite numbers.
    """
    points = np.array((first, second, third), dtype=np.float64)
    if points.ndim != 2 or not np.isfinite(points).all():
        message = "points must be three plain columns of finite numbers"
        raise ValueError(message)
    if points.shape[1] == 0:
        message = "there is no point; give at least one"
        raise TooFewReadings(message)
    points = np.unique(points, axis=1)
    points -= points.mean(axis=1)[:, None]
    axes, sizes, _ = np.linalg.svd(points, full_matrices=points.shape[1] < 3)
    if points.shape[1] < 4 or sizes[2] <= FLAT * sizes[0]:
        return _best(axes[:, 2:3], points)
    # Whether planes hold all points is the same in any scale of the three axes.
    even = axes.T @ points / sizes[:, None] * np.sqrt(points.shape[1])
    even += np.random.default_rng(0).uniform(-NUDGE, NUDGE, even.shape)
    faces = _hull(even.T)
    return _best(_normals(points, even, faces), points[:, np.unique(faces)])


def _best(normals: Block, points: Block) -> Width:
    """Pick the direction, of shape (3, m), along which the points extend least."""
    best, normal = np.inf, normals[:, 0]
    step = max(1, PAIRS_AT_A_TIME // points.shape[1])
    for start in range(0, normals.shape[1], step):
        part = normals[:, start : start + step]
        extent = np.ptp(part.T @ points, axis=1)
        least = int(extent.argmin())
        if extent[least] < best:
            best, normal = float(extent[least]), part[:, least]
    # Adding 0 turns -0.0 into 0.0.
    a, b, c = ((normal if normal[2] >= 0 else -normal) + 0.0).tolist()
    return Width(best, (a, b, c))


def _hull(points: Block) -> Indices:
    """Give the faces of the hull of points (n, 3) in general position, shape (m, 3)."""
    corners = _first_corners(points)
    inside = points[corners].mean(axis=0)
    a, b, c, d = corners
    faces = np.array(((a, b, c), (a, b, d), (a, c, d), (b, c, d)))
    normals, offsets = _outward(points, faces, inside)
    rest = np.setdiff1d(np.arange(points.shape[0]), corners)
    distance = ((points[rest] - inside) ** 2).sum(axis=1)
    for point in rest[np.argsort(-distance, kind="stable")].tolist():
        seen = normals @ points[point] > offsets
        if not seen.any():
            continue
        # Both faces at an edge of the horizon hold it; only one of them is seen.
        edges = _edges(faces[seen])
        ends, times = np.unique(edges, axis=0, return_counts=True)
        horizon = ends[times == 1]
        fresh = np.column_stack((horizon, np.full(len(horizon), point)))
        more_normals, more_offsets = _outward(points, fresh, inside)
        faces = np.concatenate((faces[~seen], fresh))
        normals = np.concatenate((normals[~seen], more_normals))
        offsets = np.concatenate((offsets[~seen], more_offsets))
    return faces


def _first_corners(points: Block) -> list[int]:
    """Pick four points that span much room."""
    first = int(points[:, 0].argmin())
    away = points - points[first]
    second = int((away**2).sum(axis=1).argmax())
    off = np.cross(away, away[second])
    third = int((off**2).sum(axis=1).argmax())
    fourth = int(np.abs(away @ off[third]).argmax())
    return [first, second, third, fourth]


def _outward(points: Block, faces: Indices, inside: Block) -> tuple[Block, Block]:
    """Give unit normals (m, 3) that point away from inside, and the planes' offsets."""
    a, b, c = (points[faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    normals /= np.sqrt((normals**2).sum(axis=1))[:, None]
    turn = np.where((normals * (a - inside)).sum(axis=1) < 0, -1.0, 1.0)
    normals *= turn[:, None]
    offsets: Block = (normals * a).sum(axis=1)
    return normals, offsets


def _edges(faces: Indices) -> Indices:
    """Give the three edges of each face, the lower end first, shape (3 m, 2)."""
    pairs = np.concatenate((faces[:, :2], faces[:, 1:], faces[:, ::2]))
    return np.sort(pairs, axis=1)


def _normals(points: Block, even: Block, faces: Indices) -> Block:
    """Give the normals, (3, m), along which two planes can be closest."""
    spots = points.T
    a, b, c = (spots[faces[:, k]] for k in range(3))
    found = [np.cross(b - a, c - a)]
    edges = _edges(faces)
    ends, which = np.unique(edges, axis=0, return_inverse=True)
    owner = np.tile(np.arange(len(faces)), 3)[np.argsort(which.ravel(), kind="stable")]
    left, right = owner[::2], owner[1::2]
    normals, _ = _outward(even.T, faces, even.mean(axis=1))
    way = even.T[ends[:, 1]] - even.T[ends[:, 0]]
    way /= np.sqrt((way**2).sum(axis=1))[:, None]
    along = spots[ends[:, 1]] - spots[ends[:, 0]]
    # The normals that an edge can have form an arc from one of its faces to the other.
    # Two edges can face each other when the arc of one crosses the mirrored other.
    step = max(1, PAIRS_AT_A_TIME // len(ends))
    for start in range(0, len(ends), step):
        part = slice(start, start + step)
        apart = (way[part] @ normals[left].T) * (way[part] @ normals[right].T)
        other = (normals[left[part]] @ way.T) * (normals[right[part]] @ way.T)
        one, two = np.nonzero((apart <= NEARLY) & (other <= NEARLY))
        ahead = one + start < two
        found.append(np.cross(along[part][one[ahead]], along[two[ahead]]))
    every = np.concatenate(found)
    sizes = np.sqrt((every**2).sum(axis=1))
    fair = sizes > NUDGE * sizes.max()
    unit: Block = (every[fair] / sizes[fair, None]).T
    return unit
