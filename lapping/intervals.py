"""Leaves that go and stop, as values with doubt: expectation propagation.

Minka (2001); Rasmussen and Williams, Gaussian Processes for Machine Learning (2006),
section 3.6. Each interval becomes the value and the uncertainty that change the
surface as the interval itself does, one-sided intervals included.
"""

from __future__ import annotations

from dataclasses import replace
from math import erfc, pi

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.kriging import (
    bounded_columns,
    evidence,
    form_root,
    free_columns,
    matern52,
    modes,
    whiten,
)
from lapping.observations import Observations

Array = NDArray[np.float64]

LENGTH_SHARE = 0.2
"""Length scale assumed here, as a share of the length of the face."""
AMPLITUDES = np.geomspace(0.03, 3.0, 13)
ROUNDS, SWEEPS, DAMPING = 3, 12, 0.7
FREE = 1e3
"""A free unknown's standard deviation here, in units of the readings' scatter."""
USELESS = 1e-6
"""A site with less than this share of the scatter's precision says nothing."""


def soften(face: Face, obs: Observations) -> Observations:
    """Replace interval readings by equivalent values; others are left as they are."""
    interval = obs.is_interval
    if not interval.any():
        return obs
    kernel = matern52(obs.along_mm, obs.across_mm, LENGTH_SHARE * face.length_mm)
    root = form_root(face, obs.along_mm, obs.across_mm)
    signal = obs.weights @ (kernel + root @ root.T) @ obs.weights.T
    free, bounded = free_columns(face, obs), bounded_columns(obs)
    half = np.where(np.isfinite(obs.low_um), (obs.high_um - obs.low_um) / 2, np.inf)
    value = obs.value_um
    usual = half[interval & np.isfinite(half)]
    start = float(np.median(usual)) if usual.size else float(obs.u_um.max())
    u = np.where(interval, np.where(np.isfinite(half), half / 3**0.5, start), obs.u_um)
    u = np.maximum(u, obs.u_um)
    for _ in range(ROUNDS):
        fit = np.linalg.lstsq(free, value, rcond=None)[0]
        level = value - free @ fit
        scatter = max(float(np.sqrt(np.mean(level**2))), float(np.median(u)))
        found = modes(whiten(u, bounded, free), signal)
        amplitudes = AMPLITUDES * scatter
        like = evidence(found, value, amplitudes)
        share = np.exp(like - like.max())
        power = float(share @ amplitudes**2 / share.sum())
        # The pseudo-values' own plane is the origin, so FREE need not be huge.
        prior = power * signal + bounded @ bounded.T
        prior += (FREE * scatter) ** 2 * (free @ free.T)
        value, u = _propagate(obs, prior, free @ fit, level, u)
    useful = u < scatter / USELESS**0.5
    return replace(
        obs,
        weights=obs.weights[useful],
        value_um=value[useful],
        u_um=u[useful],
        low_um=value[useful],
        high_um=value[useful],
        unknowns=obs.unknowns[useful],
    )


def _propagate(
    obs: Observations, prior: Array, origin: Array, level: Array, u: Array
) -> tuple[Array, Array]:
    """Run the sites to rest from where they are; give their values and u."""
    interval = obs.is_interval
    precision, pull = 1 / u**2, level / u**2
    least = USELESS / float(np.median(u)) ** 2
    low, high = obs.low_um - origin, obs.high_um - origin
    for _ in range(SWEEPS):
        root = np.sqrt(precision)
        inner = root[:, None] * prior * root[None, :]
        inner[np.diag_indices_from(inner)] += 1.0
        half = np.linalg.solve(inner, root[:, None] * prior)
        cov = prior - (prior * root[None, :]) @ half
        mean = cov @ pull
        var = np.maximum(np.diag(cov), 1e-12)
        cavity_precision = np.maximum(1 / var - precision, 1e-12)
        cavity_var = 1 / cavity_precision
        cavity_mean = cavity_var * (mean / var - pull)
        new_mean, new_var = _inside(cavity_mean, cavity_var, low, high, obs.u_um)
        to_precision = np.maximum(1 / new_var - cavity_precision, least * 1e-3)
        to_pull = new_mean / new_var - cavity_mean * cavity_precision
        precision = np.where(
            interval, DAMPING * to_precision + (1 - DAMPING) * precision, precision
        )
        pull = np.where(interval, DAMPING * to_pull + (1 - DAMPING) * pull, pull)
    return origin + pull / precision, precision**-0.5


def _inside(
    mean: Array, var: Array, low: Array, high: Array, ends_u: Array
) -> tuple[Array, Array]:
    """Give mean and variance of a normal height kept between two doubtful ends."""
    width = np.sqrt(var + ends_u**2)
    a, b = (low - mean) / width, (high - mean) / width
    # The tail that is small is the one that can be computed: turn both there.
    flip = a + b > 0
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    mass = np.maximum(_below(b) - _below(a), 1e-300)
    pa, pb = _density(a), _density(b)
    a, b = np.where(np.isfinite(a), a, 0.0), np.where(np.isfinite(b), b, 0.0)
    first = (pa - pb) / mass
    second = (a * pa - b * pb) / mass - first**2
    first = np.where(flip, -first, first)
    new_var = var + var**2 / width**2 * second
    return mean + var / width * first, np.maximum(new_var, 1e-6 * var)


def _density(x: Array) -> Array:
    return np.asarray(np.exp(-0.5 * x**2) / (2 * pi) ** 0.5)


def _below(x: Array) -> Array:
    return np.array([0.5 * erfc(-v / 2**0.5) for v in x])
