"""The surface that readings leave possible: one posterior for form, map and flatness.

A Gaussian process with a free plane, a second-degree form and a Matérn 5/2 residual.
Gauge noise, amplitude and length scale are marginalised over a grid, not plugged in;
draws are made by conditioning draws from the prior (Matheron's rule; Journel and
Huijbregts, Mining Geostatistics, 1978).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import Grid
from lapping.observations import Observations, form_terms, plane_terms
from lapping.surface.correlated import correlated_places, seen_by
from lapping.surface.hypotheses import (
    FORM_RATIOS,
    LENGTHS,
    Cell,
    log_weights,
    weigh_intervals,
    weigh_values,
)
from lapping.surface.kriging import bounded_columns, free_columns, krige
from lapping.surface.left_out import LeftOut, left_out

Array = NDArray[np.float64]

DRAWS = 1000
UNEVEN, UNEVEN_SPREAD = 1.1, 0.5
"""Median and log-standard deviation of how much rougher a face is between the readings
than at them: bumps are few and sharp, which no normal process is."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """The posterior at the places read (first ``places``) and then on the grid.

    ``mean_um`` (t,) and ``draws_um`` (draws, t): noise-free surfaces, each up to a
    plane of its own. ``left_out`` is each reading against all the others; None where
    readings bound heights instead of giving them, and where nobody asked.
    """

    face: Face
    grid: Grid
    places: int
    along_mm: Array
    across_mm: Array
    mean_um: Array
    draws_um: Array
    length_scale_mm: float
    left_out: LeftOut | None = None

    @property
    def sd_um(self) -> Array:
        """Give the standard uncertainty of each height about the mean plane, (t,)."""
        plane = plane_terms(self.face, self.along_mm, self.across_mm)
        off = self.draws_um - self.mean_um
        return np.asarray((off - off @ np.linalg.pinv(plane).T @ plane.T).std(axis=0))


def infer_surface(
    face: Face,
    observations: Observations,
    *,
    draws: int = DRAWS,
    seed: int = 1,
    doubt_each: bool = True,
) -> Surface:
    """Work out what surfaces the readings leave possible.

    The free plane needs three places off one line; the caller has seen to that.
    ``doubt_each`` asks for each reading against all the others.
    """
    obs = _levelled(face, observations)
    p = obs.along_mm.size
    spots = correlated_places(
        face,
        obs.along_mm.tobytes(),
        obs.across_mm.tobytes(),
        tuple((LENGTHS * face.length_mm).tolist()),
    )
    along, across = spots.along_mm, spots.across_mm
    plane, form = spots.plane, spots.form
    shapes = [(at, ratio) for at in range(LENGTHS.size) for ratio in FORM_RATIOS]
    seen = seen_by(spots, obs.weights, FORM_RATIOS)
    weigh = weigh_intervals if obs.is_interval.any() else weigh_values
    weighed = weigh(face, obs, seen)
    log_weight = log_weights(weighed, p)
    weight = np.exp(log_weight)

    rng = np.random.default_rng(seed)
    counts = _share_out(weight, draws, rng)
    bounded = bounded_columns(obs)
    mean = np.zeros(along.size)
    parts = []
    for i, (at, ratio) in enumerate(shapes):
        here = int(counts[i].sum())
        if here == 0:
            continue
        prior = rng.standard_normal((here, along.size)) @ spots.root(at).T
        prior += rng.standard_normal((here, 3)) @ (ratio * form.T)
        cells = [
            weighed.cell(i, *at) for at in zip(*np.nonzero(counts[i]), strict=True)
        ]
        many = counts[i][np.nonzero(counts[i])]
        start = 0
        for alike in _alike(cells):
            cell, n = cells[alike][0], many[alike]
            stop = start + int(n.sum())
            uneven, noise, shared = _standard(
                rng, n, (1, cell.u_um.size, bounded.shape[1])
            )
            amplitude = np.array([one.amplitude_um for one in cells[alike]])
            each = np.repeat(amplitude, n)
            local = UNEVEN * np.exp(UNEVEN_SPREAD * uneven)
            surfaces = each[:, None] * local * prior[start:stop]
            noise = cell.u_um * noise + shared @ bounded.T
            missed = cell.value_um - surfaces[:, :p] @ obs.weights.T - noise
            rows = np.vstack([np.tile(cell.value_um, (n.size, 1)), missed])
            sizes = np.concatenate([amplitude, each])
            moved = krige(cell.modes, sizes, rows, seen.places[i], plane)
            mean += n / draws @ moved[: n.size]
            parts.append(surfaces + moved[n.size :])
            start = stop
    plate = obs.reference_u_um * rng.standard_normal((draws, 3))
    drawn = np.concatenate(parts) + plate @ form_terms(face, along, across).T
    tried = np.repeat(LENGTHS, len(FORM_RATIOS))
    return Surface(
        face=face,
        grid=spots.grid,
        places=p,
        along_mm=along,
        across_mm=across,
        mean_um=mean,
        draws_um=drawn,
        length_scale_mm=face.length_mm
        * float(np.exp(weight.sum(axis=(1, 2)) @ np.log(tried))),
        left_out=left_out(obs, weighed, log_weight)
        if doubt_each and not obs.is_interval.any()
        else None,
    )


def _levelled(face: Face, obs: Observations) -> Observations:
    """Take the plain least squares plane out, so that a steep setup costs nothing."""
    columns = free_columns(face, obs)
    fit = np.linalg.lstsq(columns, obs.value_um, rcond=None)[0]
    level = obs.value_um - columns @ fit
    shift = level - obs.value_um
    return replace(
        obs,
        value_um=level,
        low_um=obs.low_um + shift,
        high_um=obs.high_um + shift,
    )


def _alike(cells: Sequence[Cell]) -> Iterator[slice]:
    """Part cells into runs of one modes: they differ in amplitude, and go together."""
    start = 0
    for stop in range(1, len(cells) + 1):
        if stop == len(cells) or cells[stop].modes is not cells[start].modes:
            yield slice(start, stop)
            start = stop


def _standard(
    rng: np.random.Generator, many: NDArray[np.int64], widths: Sequence[int]
) -> tuple[Array, ...]:
    """Draw so many rows of standard normal columns for each cell, cell after cell."""
    drawn = [[rng.standard_normal((n, wide)) for wide in widths] for n in many]
    return tuple(np.concatenate(one) for one in zip(*drawn, strict=True))


def _share_out(
    weight: Array, draws: int, rng: np.random.Generator
) -> NDArray[np.int64]:
    """Share the draws over the cells in proportion, by systematic sampling."""
    ends = np.floor(np.cumsum(weight) * draws + rng.random())
    ends[-1] = draws
    return np.diff(ends, prepend=0.0).astype(np.int64).reshape(weight.shape)
