"""The surface that readings leave possible: one posterior for form, map and flatness.

A Gaussian process with a free plane, a second-degree form and a Matérn 5/2 residual.
Gauge noise, amplitude and length scale are marginalised over a grid, not plugged in;
draws are made by conditioning draws from the prior (Matheron's rule; Journel and
Huijbregts, Mining Geostatistics, 1978).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import Grid, metal_grid
from lapping.intervals import soften
from lapping.kriging import (
    bounded_columns,
    evidence,
    form_root,
    free_columns,
    krige,
    matern52,
    modes,
    whiten,
)
from lapping.observations import Observations, plane_terms

Array = NDArray[np.float64]

DRAWS = 1000
LENGTHS = np.array([0.05, 0.09, 0.16, 0.28, 0.5])
"""Length scales tried, as shares of the length of the face."""
LENGTH_MIDDLE, LENGTH_SPREAD = 0.16, 0.7
"""Median share and log-standard deviation of the length scale beforehand."""
AMPLITUDES = np.geomspace(0.03, 3.0, 13)
"""Residual amplitudes tried, as shares of the scatter of the levelled readings."""
NOISE_STEPS = np.array([-(3**0.5), 0.0, 3**0.5])
NOISE_WEIGHTS = np.array([1, 4, 1]) / 6
"""Three-point Gauss-Hermite rule for the logarithm of the noise."""
PRIOR_HOLDS_BELOW = 12
"""With fewer places the readings cannot tell a length scale; the prior holds it."""
JITTER = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """The posterior at the places read (first ``places``) and then on the grid.

    ``mean_um`` (t,) and ``draws_um`` (draws, t): noise-free surfaces, each up to a
    plane of its own.
    """

    face: Face
    grid: Grid
    places: int
    along_mm: Array
    across_mm: Array
    mean_um: Array
    draws_um: Array
    amplitude_um: float
    length_scale_mm: float
    noise_um: float


def infer_surface(
    face: Face, observations: Observations, *, draws: int = DRAWS, seed: int = 1
) -> Surface:
    """Work out what surfaces the readings leave possible.

    The free plane needs three places off one line; the caller has seen to that.
    """
    obs = _levelled(face, soften(face, observations))
    grid = metal_grid(face)
    p = obs.along_mm.size
    along = np.concatenate([obs.along_mm, grid.along_mm])
    across = np.concatenate([obs.across_mm, grid.across_mm])
    plane = plane_terms(face, along, across)
    form = form_root(face, along, across)
    free, bounded = free_columns(face, obs), bounded_columns(obs)
    noise_scale = np.exp(obs.noise_doubt * NOISE_STEPS)
    levels = [whiten(s * obs.u_um, bounded, free) for s in noise_scale]
    scatter = float(np.sqrt(max(np.mean(obs.value_um**2), np.mean(obs.u_um**2))))
    amplitudes = AMPLITUDES * scatter

    residuals = [matern52(along, across, share * face.length_mm) for share in LENGTHS]
    seen = [(r[:, :p] + form @ form[:p].T) @ obs.weights.T for r in residuals]
    found = [[modes(level, obs.weights @ s[:p]) for level in levels] for s in seen]
    log_like = np.array(
        [[evidence(m, obs.value_um, amplitudes) for m in row] for row in found]
    )
    weight = _posterior_weights(log_like, p)

    rng = np.random.default_rng(seed)
    counts = _share_out(weight, draws, rng)
    mean = np.zeros(along.size)
    parts = []
    for i, residual in enumerate(residuals):
        here = int(counts[i].sum())
        if here == 0:
            continue
        residual[np.diag_indices_from(residual)] += JITTER
        prior = rng.standard_normal((here, along.size)) @ np.linalg.cholesky(residual).T
        prior += rng.standard_normal((here, 3)) @ form.T
        start = 0
        for j, k in zip(*np.nonzero(counts[i]), strict=True):
            n = int(counts[i, j, k])
            surfaces = amplitudes[k] * prior[start : start + n]
            start += n
            noise = noise_scale[j] * obs.u_um * rng.standard_normal((n, obs.u_um.size))
            noise += rng.standard_normal((n, bounded.shape[1])) @ bounded.T
            missed = obs.value_um - surfaces[:, :p] @ obs.weights.T - noise
            rows = np.vstack([obs.value_um, missed])
            moved = krige(found[i][j], amplitudes[k], rows, seen[i], plane)
            mean += n / draws * moved[0]
            parts.append(surfaces + moved[1:])
    return Surface(
        face=face,
        grid=grid,
        places=p,
        along_mm=along,
        across_mm=across,
        mean_um=mean,
        draws_um=np.concatenate(parts),
        amplitude_um=float(weight.sum(axis=(0, 1)) @ amplitudes),
        length_scale_mm=face.length_mm
        * float(np.exp(weight.sum(axis=(1, 2)) @ np.log(LENGTHS))),
        noise_um=float(np.sqrt(np.mean(obs.u_um**2)))
        * float(weight.sum(axis=(0, 2)) @ noise_scale),
    )


def _levelled(face: Face, obs: Observations) -> Observations:
    """Take the plain least squares plane out, so that a steep setup costs nothing."""
    columns = free_columns(face, obs)
    fit = np.linalg.lstsq(columns, obs.value_um, rcond=None)[0]
    level = obs.value_um - columns @ fit
    return replace(obs, value_um=level, low_um=level, high_um=level)


def _posterior_weights(log_like: Array, places: int) -> Array:
    """Give the weight of each length, noise level and amplitude; they sum to one."""
    prior = np.exp(-0.5 * (np.log(LENGTHS / LENGTH_MIDDLE) / LENGTH_SPREAD) ** 2)
    weight = np.exp(log_like - log_like.max()) * NOISE_WEIGHTS[None, :, None]
    if places < PRIOR_HOLDS_BELOW:
        weight /= weight.sum(axis=(1, 2), keepdims=True)
    weight = weight * prior[:, None, None]
    return np.asarray(weight / weight.sum())


def _share_out(
    weight: Array, draws: int, rng: np.random.Generator
) -> NDArray[np.int64]:
    """Share the draws over the cells in proportion, by systematic sampling."""
    ends = np.floor(np.cumsum(weight) * draws + rng.random())
    ends[-1] = draws
    return np.diff(ends, prepend=0.0).astype(np.int64).reshape(weight.shape)
