"""Leaves that go and stop, as values with doubt: expectation propagation.

Minka (2001); Rasmussen and Williams, Gaussian Processes for Machine Learning (2006),
section 3.6. Each interval becomes the value and the uncertainty that change the
surface as the interval itself does, one-sided intervals included; the evidence is that
of the intervals themselves, so that readings all inside one leaf are no proof of a
flat face.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erfc, pi

import numpy as np
from numpy.typing import NDArray

from lapping.observations import Observations

Array = NDArray[np.float64]

SWEEPS, DAMPING = 20, 0.7
REST = 1e-3
"""The sites are at rest when none moves by more than this share of its spread."""
EMPTY = 1e-6
"""Free columns under this share of the largest say nothing new."""
ALONE = 1e-7
"""A reading that nothing else foretells is foretold this much more loosely than known.
"""
LEAST_PRECISION = 1e-6
"""A site keeps at least this share of the usual precision: next to nothing."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sites:
    """Each reading as a value and its uncertainty (n,), and the log evidence."""

    value_um: Array
    u_um: Array
    log_evidence: float


def start_values(obs: Observations) -> tuple[Array, Array]:
    """Give the middle of each interval and its rectangular uncertainty, to start from.

    An interval without a lower end is taken as wide as the usual one.
    """
    interval = obs.is_interval
    bounded = np.isfinite(obs.low_um) & np.isfinite(obs.high_um)
    half = np.where(bounded, obs.high_um - np.where(bounded, obs.low_um, 0.0), 0.0) / 2
    both = interval & bounded
    usual = float(np.median(half[both])) if both.any() else float(obs.u_um.max())
    half = np.where(interval & ~bounded, usual, half)
    return obs.value_um, np.where(interval, np.hypot(half / 3**0.5, obs.u_um), obs.u_um)


def propagate(
    obs: Observations, signal: Array, free: Array, scatter_um: float, start: Sites
) -> Sites:
    """Run the sites to rest for one covariance of the readings' signal (n, n).

    ``free`` (n, q) are the columns nothing is known about; ``obs`` must be level.
    """
    interval = obs.is_interval
    precision, pull = start.u_um**-2.0, start.value_um * start.u_um**-2.0
    least = LEAST_PRECISION * scatter_um**-2.0
    for _ in range(SWEEPS):
        mean, var = _posterior(signal, free, precision, pull)[:2]
        cavity_var, cavity_mean = _cavity(mean, var, precision, pull)
        _, new_mean, new_var = _inside(cavity_mean, cavity_var, obs)
        to_precision = np.maximum(1 / new_var - 1 / cavity_var, least)
        to_pull = new_mean / new_var - cavity_mean / cavity_var
        to_precision = np.where(interval, to_precision, precision)
        to_pull = np.where(interval, to_pull, pull)
        moved = np.abs(to_pull - pull) * np.sqrt(var)
        precision = DAMPING * to_precision + (1 - DAMPING) * precision
        pull = DAMPING * to_pull + (1 - DAMPING) * pull
        if moved.max() < REST:
            break
    mean, var, log_det = _posterior(signal, free, precision, pull)
    return Sites(
        value_um=pull / precision,
        u_um=precision**-0.5,
        log_evidence=_log_evidence(obs, mean, var, log_det, precision, pull),
    )


def _posterior(
    signal: Array, free: Array, precision: Array, pull: Array
) -> tuple[Array, Array, float]:
    """Give mean, variances and log determinant of B (Rasmussen and Williams 3.68).

    The free columns are projected out (2.7.1 with a vague prior, and its restricted
    likelihood); a large variance in their place would drown a finely read rise.
    """
    root = np.sqrt(precision)
    inner = root[:, None] * signal * root[None, :]
    inner[np.diag_indices_from(inner)] += 1.0
    chol = np.linalg.cholesky(inner)
    inverse = np.linalg.inv(chol)
    left, size, _ = np.linalg.svd(inverse @ (root[:, None] * free), full_matrices=False)
    tells = size > EMPTY * size.max(initial=0.0)
    basis = left[:, tells]
    # Of each reading, scaled to its own noise, the part that is its noise.
    noise = inverse - basis @ (basis.T @ inverse)
    mean = pull / precision - noise.T @ (noise @ (pull / root)) / root
    var = np.maximum(1 - (noise**2).sum(axis=0), 1e-12) / precision
    log_det = np.log(np.diag(chol)).sum() + np.log(size[tells]).sum()
    return mean, var, 2 * float(log_det)


def _cavity(
    mean: Array, var: Array, precision: Array, pull: Array
) -> tuple[Array, Array]:
    cavity_precision = np.maximum(1 / var - precision, ALONE / var)
    return 1 / cavity_precision, (mean / var - pull) / cavity_precision


def _log_evidence(
    obs: Observations,
    mean: Array,
    var: Array,
    log_det: float,
    precision: Array,
    pull: Array,
) -> float:
    """Give the log evidence (Rasmussen and Williams 3.65, in the form of 3.73-3.74)."""
    cavity_var, cavity_mean = _cavity(mean, var, precision, pull)
    log_mass = _inside(cavity_mean, cavity_var, obs)[0]
    cavity_precision = 1 / cavity_var
    total = cavity_precision + precision
    return float(
        log_mass.sum()
        + 0.5 * np.log1p(precision * cavity_var).sum()
        - 0.5 * log_det
        + 0.5 * (pull @ mean - (pull**2 / total).sum())
        + 0.5
        * (
            cavity_mean
            * cavity_precision
            / total
            * (precision * cavity_mean - 2 * pull)
        ).sum()
    )


def _inside(mean: Array, var: Array, obs: Observations) -> tuple[Array, Array, Array]:
    """Give log mass, mean and variance of a normal height given its reading."""
    width2 = var + obs.u_um**2
    width = np.sqrt(width2)
    a, b = (obs.low_um - mean) / width, (obs.high_um - mean) / width
    # The tail that is small is the one that can be computed: turn both there.
    flip = a > -b
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    mass = np.maximum(_below(b) - _below(a), 1e-300)
    pa, pb = _density(a), _density(b)
    a, b = np.where(np.isfinite(a), a, 0.0), np.where(np.isfinite(b), b, 0.0)
    first = (pa - pb) / mass
    second = (a * pa - b * pb) / mass - first**2
    first = np.where(flip, -first, first)
    off = (obs.value_um - mean) / width
    interval = obs.is_interval
    log_mass = np.where(
        interval, np.log(mass), -0.5 * (off**2 + np.log(2 * pi * width2))
    )
    first = np.where(interval, first, off)
    second = np.where(interval, second, -1.0)
    new_var = np.maximum(var + var**2 / width2 * second, ALONE / 100 * var)
    return log_mass, mean + var / width * first, new_var


def _density(x: Array) -> Array:
    return np.asarray(np.exp(-0.5 * x**2) / (2 * pi) ** 0.5)


def _below(x: Array) -> Array:
    return np.array([0.5 * erfc(-v / 2**0.5) for v in x.tolist()])
