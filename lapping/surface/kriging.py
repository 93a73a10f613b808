"""Universal kriging: what readings say about other places, given a covariance.

Rasmussen and Williams, Gaussian Processes for Machine Learning (2006), chapters 2 and
5; free columns (the plane, a seating, a drift) are projected out, which makes the
evidence the restricted likelihood of Patterson and Thompson (1971).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.observations import Observations, plane_terms

Array = NDArray[np.float64]

EMPTY = 1e-6
"""Free columns under this share of the largest say nothing new."""


def matern52(along_mm: Array, across_mm: Array, length_mm: float) -> Array:
    """Give the Matérn 5/2 correlation of all places with each other."""
    d = np.hypot(
        along_mm[:, None] - along_mm[None, :],
        across_mm[:, None] - across_mm[None, :],
    )
    d *= 5**0.5 / length_mm
    return np.asarray((1 + d + d * d / 3) * np.exp(-d))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Whitened:
    """Readings for one noise level: noise made white, free columns projected out.

    ``inverse`` (n, n) whitens; ``basis`` (n, n - q) spans what the free columns leave,
    and ``solve`` (q, n) gives the free columns' part of what is white.
    """

    inverse: Array
    basis: Array
    solve: Array
    log_det: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Modes:
    """The signal's independent modes in whitened readings, with their variances.

    ``vectors`` (n, n - q) and ``variance`` (n - q,) are for unit amplitude;
    ``signal`` (n, n) is the signal's covariance in whitened readings.
    """

    level: Whitened
    vectors: Array
    variance: Array
    signal: Array


def free_columns(face: Face, obs: Observations) -> Array:
    """Give the columns nothing is known about beforehand: plane and free unknowns."""
    plane = obs.weights @ plane_terms(face, obs.along_mm, obs.across_mm)
    return np.column_stack([plane, obs.unknowns[:, np.isinf(obs.unknown_u)]])


def bounded_columns(obs: Observations) -> Array:
    """Give the unknowns of known size, scaled to one standard uncertainty each."""
    known = np.isfinite(obs.unknown_u)
    return np.asarray(obs.unknowns[:, known] * obs.unknown_u[known])


def whiten(u_um: Array, bounded: Array, free: Array) -> Whitened:
    """Make noise and bounded unknowns white; refuse nothing, the caller has checked."""
    root = np.linalg.cholesky(np.diag(u_um**2) + bounded @ bounded.T)
    inverse = np.linalg.inv(root)
    white_free = inverse @ free
    left, size, right = np.linalg.svd(white_free, full_matrices=True)
    # Slopes and sticks see no offset or tilt: those columns are empty or repeat others.
    rank = int(np.sum(size > EMPTY * size.max(initial=0.0)))
    log_det = np.log(np.diag(root)).sum() + np.log(size[:rank]).sum()
    return Whitened(
        inverse=inverse,
        basis=left[:, rank:],
        solve=right[:rank].T / size[:rank] @ left[:, :rank].T,
        log_det=2 * float(log_det),
    )


def modes(level: Whitened, signal: Array) -> Modes:
    """Split the signal's covariance (n, n), unit amplitude, into independent modes."""
    white = level.inverse @ signal @ level.inverse.T
    variance, vectors = np.linalg.eigh(level.basis.T @ white @ level.basis)
    return Modes(
        level=level,
        vectors=level.basis @ vectors,
        variance=np.maximum(variance, 0.0),
        signal=white,
    )


def evidence(found: Modes, value_um: Array, amplitudes: Array) -> Array:
    """Give the restricted log likelihood of each amplitude, up to a constant."""
    w = found.vectors.T @ (found.level.inverse @ value_um)
    variance = 1 + amplitudes[:, None] ** 2 * found.variance
    return np.asarray(
        -0.5 * (np.log(variance) + w**2 / variance).sum(axis=1)
        - 0.5 * found.level.log_det
    )


def krige(
    found: Modes, amplitude: float | Array, values: Array, seen: Array, plane: Array
) -> Array:
    """Give the best heights at places for each row of values (r, n), shape (r, places).

    ``amplitude`` is one for all rows, or (r,) for each its own.
    ``seen`` (places, n) is the covariance of places with readings, unit amplitude;
    ``plane`` (places, 3) the plane's columns there.
    """
    level = found.level
    white = level.inverse @ values.T
    power = amplitude**2
    inner = (found.vectors.T @ white) / (1 + power * found.variance[:, None])
    alpha = found.vectors @ inner
    left = white - power * (found.signal @ alpha) - alpha
    tilt = (level.solve @ left)[:3]
    return np.asarray((power * (seen @ (level.inverse.T @ alpha)) + plane @ tilt).T)
