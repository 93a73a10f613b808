"""How a true rectangle of known sizes can look in a photo.

Square pixels, the optical axis through the middle of the picture, and a focal length
that phones have. All places here are pixels from the middle of the picture.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SHORT_FOCAL, LONG_FOCAL = 0.6, 1.6
"""Focal lengths, as shares of the longer side of the picture: a phone's wide lens has
about 0.75 (26 mm on a film of 36 × 24 mm), twofold zoom twice that."""
FOCALS = np.geomspace(SHORT_FOCAL, LONG_FOCAL, 11)
ASPECT_OFF, SQUARE_OFF = 0.02, 0.02
"""What a sound outline may be off in length : width and the cosine of its corners."""
TINY = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """How badly quads (n) fit a rectangle, squared and in units of what is usual.

    ``focal`` is the focal length that fits best, over the longer side of the picture.
    """

    cost: Array
    focal: Array


def with_one(places: Array) -> Array:
    """Make places homogeneous."""
    one = np.ones((*places.shape[:-1], 1))
    result: Array = np.concatenate([places, one], axis=-1)
    return result


def pose_fit(quads: Array, ratio: float, longer_px: float) -> Fit:
    """Judge quads (n, 4, 2) whose first and third sides are ends of a face.

    ``ratio`` is length to width. For each focal length the quad tells the true ratio
    and the true angle; the best one counts (Zhang and He, 2003, give the equations
    for photos of paper).
    """
    m1, m2, m4, m3 = np.moveaxis(with_one(quads), 1, 0)
    across14 = _cross(m1, m4)
    k2 = _dot(across14, m3) / _safe(_dot(_cross(m2, m4), m3))
    k3 = _dot(across14, m2) / _safe(_dot(_cross(m3, m4), m2))
    a, b = k2[:, None] * m2 - m1, k3[:, None] * m3 - m1
    # The focal length divides what lies in the picture, and leaves the depth.
    focal = (FOCALS[:, None] * longer_px) ** 2
    wide, long, both = (
        _dot(one[:, :2], other[:, :2]) / focal + one[:, 2] * other[:, 2]
        for one, other in ((a, a), (b, b), (a, b))
    )
    wide, long = np.maximum(wide, TINY**2), np.maximum(long, TINY**2)
    aspect = 0.5 * np.log(long / wide) - np.log(ratio)
    costs = (aspect / ASPECT_OFF) ** 2 + both**2 / (long * wide) / SQUARE_OFF**2
    best = costs.argmin(axis=0)
    return Fit(cost=costs[best, np.arange(len(quads))], focal=FOCALS[best])


def other_end(
    ends: Array, ways: Array, ratio: float, focal_px: Array, forward: NDArray[np.bool_]
) -> tuple[Array, NDArray[np.bool_]]:
    """Say where the other end of a rectangle is seen when one end is known.

    ``ends`` (n, 2, 2) are the two corners of the known end, ``ways`` (n, 2, 2) the
    directions of the two long sides through them, and ``forward`` (n) whether the
    other end lies that way. Gives the other corners on the same
    sides (n, 2, 2), and which of them can be.
    """
    one, two = ends[:, 0], ends[:, 1]
    side = [
        _cross(with_one(e), _direction(w))
        for e, w in ((one, ways[:, 0]), (two, ways[:, 1]))
    ]
    ray = np.ones((len(ends), 3))
    ray[:, :2] /= focal_px[:, None]
    far = _cross(side[0], side[1])
    # The end's own direction is square to the long one.
    wide = _cross(_cross(with_one(one), with_one(two)), far * ray * ray)
    a, b = with_one(one) * ray, with_one(two) * ray
    ca, cb = _cross(a, wide * ray), _cross(b, wide * ray)
    deep = _dot(ca, cb) / _safe(_dot(cb, cb))
    width = np.linalg.norm(deep[:, None] * b - a, axis=1)
    step = far * ray
    step *= (ratio * width / _safe(np.linalg.norm(step, axis=1)))[:, None]
    # Which sign goes the wanted way along the side in the picture.
    moved = a + 1e-4 * step
    onward = _dot(moved[:, :2] / moved[:, 2:] - a[:, :2], ways[:, 0]) > 0
    step[onward != forward] *= -1
    found = np.stack([a + step, deep[:, None] * b + step], axis=1)
    can = (found[..., 2] > 0.1).all(axis=1) & (deep > 0.2) & (deep < 5)
    depth = np.where(found[..., 2:] > 0.1, found[..., 2:], 1.0)
    return found[..., :2] / depth * focal_px[:, None, None], can


def seen_at(corners: Array, across: Array, along: Array) -> tuple[Array, Array]:
    """Say where places of a face are seen: x and y (n, m) for quads (n, 4, 2).

    ``across`` and ``along`` (m) are shares of the face: 0 and 0 are at the first
    corner, 1 and 0 at the second, 0 and 1 at the last. Closed form of Heckbert (1989).
    """
    a, b, c, d = np.moveaxis(corners, 1, 0)
    one, other, rest = b - c, d - c, a - b + c - d
    scale = _safe(one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0])
    g = (rest[:, 0] * other[:, 1] - rest[:, 1] * other[:, 0]) / scale
    h = (one[:, 0] * rest[:, 1] - one[:, 1] * rest[:, 0]) / scale
    below = g[:, None] * across + h[:, None] * along + 1
    right, down = b - a + g[:, None] * b, d - a + h[:, None] * d
    x, y = (
        (right[:, k, None] * across + down[:, k, None] * along + a[:, k, None]) / below
        for k in (0, 1)
    )
    return x, y


def _direction(ways: Array) -> Array:
    result: Array = np.concatenate([ways, np.zeros((len(ways), 1))], axis=1)
    return result


def _cross(one: Array, other: Array) -> Array:
    # Several times as fast as numpy's, which takes vectors of two as well.
    ahead, behind = [1, 2, 0], [2, 0, 1]
    result: Array = one[..., ahead] * other[..., behind]
    result -= one[..., behind] * other[..., ahead]
    return result


def _dot(one: Array, other: Array) -> Array:
    result: Array = np.einsum("...i,...i->...", one, other)
    return result


def _safe(values: Array) -> Array:
    """Keep divisors from zero."""
    result: Array = np.where(np.abs(values) < TINY, TINY, values)
    return result
