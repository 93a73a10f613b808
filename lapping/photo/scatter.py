"""Normal distributions of three channels of log brightness, and what lies between."""

from __future__ import annotations

import numpy as np

from lapping.photo.fields import Array

FLOOR = 0.02
"""Least scatter of a level, in log brightness: about what 8 bits can show."""
LEAST_WAY = 1e-3
"""Levels that differ by less, in log brightness, are one, and have no way between."""
TIGHT = 6.0
"""Levels are told apart as if so many times their scatter lay between them, or else
half-worn ink would widen a level until it takes it in."""


def covariance(off: Array, weight: Array) -> Array:
    """Give the weighted scatter of channels (3, rows, columns), never none."""
    flat = off.reshape(3, -1)
    spread = (flat * weight.reshape(1, -1)) @ flat.T / max(float(weight.sum()), 1e-9)
    return np.asarray(spread + np.eye(3) * FLOOR**2, float)


def mixed(matrix: Array, planes: Array) -> Array:
    """Mix the channels of each sample by a matrix (3, 3)."""
    flat = matrix.astype(planes.dtype) @ planes.reshape(3, -1)
    return np.asarray(flat.reshape(planes.shape))


def root(spread: Array) -> Array:
    """Give what turns scatter into such of 1 in each channel and none in common."""
    return np.asarray(np.linalg.inv(np.linalg.cholesky(spread)))


def squared(planes: Array) -> Array:
    """Give the sum of squares of the channels."""
    return np.asarray(planes[0] ** 2 + planes[1] ** 2 + planes[2] ** 2)


def normal(d2: Array, whiten: Array) -> Array:
    """Give the density at so many scatters off, squared."""
    size = float(np.prod(np.diag(whiten))) / (2 * np.pi) ** 1.5
    return np.asarray(np.exp(d2 * -0.5) * size)


def kept_apart(scatter: Array, way: Array) -> Array:
    """Narrow a scatter along the way from metal to ink: thin ink is no scatter."""
    if way @ way < LEAST_WAY**2:
        return scatter
    sharp = np.linalg.inv(scatter)
    lacking = TIGHT**2 - way @ sharp @ way
    if lacking <= 0:
        return scatter
    sharp = sharp + lacking * np.outer(way, way) / (way @ way) ** 2
    return np.asarray(np.linalg.inv(sharp))


def between(white: Array, d2: Array, step: Array, whiten: Array) -> Array:
    """Give the density of what lies, scattered, on the way from metal to ink.

    ``white`` is how far off metal, in scatters, and ``d2`` its square.
    """
    way = mixed(whiten, step)
    length = np.sqrt(np.maximum(squared(way), 1e-6))
    along = (white[0] * way[0] + white[1] * way[1] + white[2] * way[2]) / length
    aside = np.maximum(d2 - along**2, 0.0)
    # The normal distribution function, as near as the logistic one comes to it.
    inside = np.tanh(0.851 * along) - np.tanh(0.851 * (along - length))
    flat = np.exp(aside * -0.5) * np.maximum(inside, 0.0) / length
    return np.asarray(flat * (float(np.prod(np.diag(whiten))) / (4 * np.pi)))
