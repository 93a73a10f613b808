"""Length scales, noise levels and amplitudes of the surface, weighed by the readings.

Nothing is plugged in: every combination on a grid keeps its share of belief.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.methods.network import OPEN, seen_part
from lapping.observations import Observations, plane_terms
from lapping.surface.correlated import MOST_KEPT, Seen
from lapping.surface.intervals import Sites, propagate, start_values
from lapping.surface.kriging import (
    Modes,
    bounded_columns,
    evidence,
    free_columns,
    modes,
    whiten,
)

Array = NDArray[np.float64]

LENGTHS = np.array([0.05, 0.09, 0.16, 0.28, 0.5])
"""Length scales tried, as shares of the length of the face."""
FORM_RATIOS = (1.5, 6.0)
"""Standard deviations tried for each form coefficient, over that of the residual: a
face may be bowed and smooth, or no more bowed than it is uneven."""
LENGTH_MIDDLE, LENGTH_SPREAD = 0.12, 0.8
"""Median share and log-standard deviation of the length scale beforehand."""
AMPLITUDES = np.geomspace(0.03, 3.0, 13)
"""Residual amplitudes tried, as shares of the scatter of the levelled readings; a
half-Cauchy prior of that scale (Gelman 2006)."""
TRUST = 40.0
"""The evidence of n places counts by the power TRUST / (TRUST + n), because real faces
are no draws from the model (coarsened posterior: Miller and Dunson 2019, section 2);
set by the study in docs/coverage.md."""
NOISE_STEPS = np.array([-(3**0.5), 0.0, 3**0.5])
NOISE_WEIGHTS = np.array([1, 4, 1]) / 6
"""Three-point Gauss-Hermite rule for the logarithm of the noise."""
PRIOR_HOLDS_BELOW = 12
"""With fewer places the readings cannot tell a length scale; the prior holds it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cell:
    """The readings under one combination: values, their noise, the signal's modes."""

    value_um: Array
    u_um: Array
    amplitude_um: float
    modes: Modes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weighed:
    """Log evidence (shapes, noise levels, amplitudes) and each cell on demand."""

    log_like: Array
    noise_prior: Array
    cell: Callable[[int, int, int], Cell]


def weigh_values(face: Face, obs: Observations, seen: Seen) -> Weighed:
    """Weigh all combinations by readings that are values."""
    noise = [np.exp(obs.noise_doubt * step) * obs.u_um for step in NOISE_STEPS]
    amplitudes = AMPLITUDES * scatter_um(face, obs, obs.value_um, obs.u_um)
    found = _modes_seen(seen, noise, bounded_columns(obs), free_columns(face, obs))

    def cell(i: int, j: int, k: int) -> Cell:
        return Cell(
            value_um=obs.value_um,
            u_um=noise[j],
            amplitude_um=float(amplitudes[k]),
            modes=found[i][j],
        )

    log_like = np.array(
        [[evidence(m, obs.value_um, amplitudes) for m in row] for row in found]
    )
    return Weighed(log_like=log_like, noise_prior=NOISE_WEIGHTS, cell=cell)


Split = tuple[tuple[Modes, ...], ...]


def _modes_seen(seen: Seen, noise: list[Array], bounded: Array, free: Array) -> Split:
    """Split every signal into its modes at every noise level."""
    if len(free) > MOST_KEPT:
        return _split(seen, noise, bounded, free)
    columns = np.column_stack([*noise, bounded, free])
    return _split_before(seen, columns.tobytes(), columns.shape, free.shape[1])


@lru_cache(maxsize=4)
def _split_before(seen: Seen, told: bytes, shape: tuple[int, int], q: int) -> Split:
    """Split as before where the same places were read with the same gauge."""
    columns = np.frombuffer(told).reshape(shape)
    n = NOISE_STEPS.size
    return _split(seen, [*columns.T[:n]], columns[:, n:-q], columns[:, -q:])


def _split(seen: Seen, noise: list[Array], bounded: Array, free: Array) -> Split:
    levels = [whiten(u, bounded, free) for u in noise]
    return tuple(
        tuple(modes(level, signal) for level in levels) for signal in seen.signals
    )


def weigh_intervals(face: Face, obs: Observations, seen: Seen) -> Weighed:
    """Weigh all combinations by readings of which some are intervals."""
    free, bounded = free_columns(face, obs), bounded_columns(obs)
    value, u = start_values(obs)
    scatter = scatter_um(face, obs, value, u)
    amplitudes = AMPLITUDES * scatter
    known = bounded @ bounded.T
    sites: list[list[Sites]] = []
    for signal in seen.signals:
        row = [Sites(value_um=value, u_um=u, log_evidence=0.0)]
        # From the widest down, each starting where the one before came to rest.
        for amplitude in amplitudes[::-1]:
            covariance = amplitude**2 * signal + known
            row.append(propagate(obs, covariance, free, scatter, row[-1]))
        sites.append(row[:0:-1])

    def cell(i: int, j: int, k: int) -> Cell:
        site = sites[i][k]
        return Cell(
            value_um=site.value_um,
            u_um=site.u_um,
            amplitude_um=float(amplitudes[k]),
            modes=modes(whiten(site.u_um, bounded, free), seen.signals[i]),
        )

    log_like = np.array([[[site.log_evidence for site in row]] for row in sites])
    return Weighed(log_like=log_like, noise_prior=np.ones(1), cell=cell)


def log_weights(weighed: Weighed, places: int) -> Array:
    """Give the logarithm of each shape's, noise level's and amplitude's weight.

    The weights sum to one. Shapes go through all form ratios for the first length, then
    for the next.
    """
    prior = -0.5 * (np.log(LENGTHS / LENGTH_MIDDLE) / LENGTH_SPREAD) ** 2
    log_like = weighed.log_like.reshape(LENGTHS.size, -1, *weighed.log_like.shape[1:])
    found = TRUST / (TRUST + places) * log_like
    found = found + np.log(weighed.noise_prior[:, None])
    found = found + np.log(AMPLITUDES / (1 + AMPLITUDES**2))
    if places < PRIOR_HOLDS_BELOW:
        found = found - _log_sum(found, (1, 2, 3))
    found = found + prior[:, None, None, None]
    found = found - _log_sum(found, (0, 1, 2, 3))
    return np.asarray(found.reshape(weighed.log_like.shape))


def _log_sum(logs: Array, axes: tuple[int, ...]) -> Array:
    most = logs.max(axis=axes, keepdims=True)
    return np.asarray(most + np.log(np.exp(logs - most).sum(axis=axes, keepdims=True)))


def scatter_um(face: Face, obs: Observations, value: Array, u: Array) -> float:
    """Give the root mean square of the heights that the readings show, noise at least.

    Slopes, sticks and lines with a tilt of their own show less than the heights they
    come from, so these are solved for first; what they leave open counts for nothing.
    """
    free = obs.unknowns[:, np.isinf(obs.unknown_u)]
    if free.shape[1] > 0 or (np.count_nonzero(obs.weights, axis=1) > 1).any():
        p = obs.along_mm.size
        plane = plane_terms(face, obs.along_mm, obs.across_mm)
        left, size, right = np.linalg.svd(np.concatenate([obs.weights, free], axis=1))
        rank = int(np.sum(size > OPEN * size[0]))
        level, _ = seen_part(plane, right[rank:, :p].T)
        solve = level @ (right[:rank, :p].T / size[:rank]) @ left[:, :rank].T
        value, u = solve @ value, np.sqrt(solve**2 @ u**2)
    return float(np.sqrt(max(np.mean(value**2), np.mean(u**2))))
