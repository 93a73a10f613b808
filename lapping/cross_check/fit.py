"""How well heights explain the ink that was rubbed off a face.

A face pressed on paper lies on it as on a bed that gives: how much ink goes from a
place grows with how far the place stands over the bed's plane, and levels off where it
is all gone (here a logistic curve). Which plane that is, how soft the bed is and how
unevenly the ink was laid and seen are not known, so they are marginalised; so are the
heights, within what the readings leave possible. Laplace's approximation over plane,
scale and heights (MacKay, Information Theory, Inference and Learning Algorithms, 2003,
chapter 27), a sum over softness and patchiness.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap
from lapping.face import Face
from lapping.grid import Grid
from lapping.observations import plane_terms
from lapping.surface.posterior import Surface

Array = NDArray[np.float64]

SOFT_UM = (128.0, 64.0, 32.0, 16.0, 8.0, 4.0)
"""Softness tried: over about so many micrometres ink goes from little to much. The
softest first: there the curve is nearly straight, and each fit starts the next."""
PATCHY = (0.04, 0.08, 0.16, 0.32)
"""Standard deviations tried for what no height explains: ink laid unevenly, strokes of
uneven length, light. It hangs together over about PATCH_MM."""
PATCH_MM = 25.0
SCATTER = 0.03
"""The same from cell to cell, beside what the photo says of its own doubt."""
CLEAN, CLEAN_U = 0.9, 0.25
"""Share of the ink that goes where a place bears hard, and its standard deviation."""
STRAY_U = 0.1
"""Standard deviation of the share that seems to go where nothing touches."""
LEAST_METAL = 0.3
"""A cell with less of its square in metal says little of the height at its middle."""
MODES, KEPT = 40, 0.999
"""So many shapes, or this share of the variance, stand for what is left open."""
SETTLED, ROUNDS = 0.02, 25
"""A fit is done when a round betters the log-probability by less than this."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenCells:
    """The n cells of a contact map that tell something: middles, share gone, doubt."""

    along_mm: Array
    across_mm: Array
    rubbed: Array
    u: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Likely:
    """What heights (n,) the readings leave possible: mean + modes (n, k) @ N(0, 1)."""

    mean_um: Array
    modes_um: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class InkFit:
    """How well one set of heights explains the ink.

    ``log_evidence`` compares sets on the same cells; ``misfit`` is the root mean square
    of the share of ink that stays unexplained, in the likeliest of all the fits.
    """

    log_evidence: float
    misfit: float


def seen_cells(contact: ContactMap, rim_mm: float = np.inf) -> SeenCells:
    """Give the cells whose ink was seen, with enough metal to stand for a height.

    Only those no further than ``rim_mm`` from the outline.
    """
    rows, columns = contact.rubbed.shape
    along = (np.arange(rows) + 0.5) * contact.face.length_mm / rows
    across = (np.arange(columns) + 0.5) * contact.face.width_mm / columns
    in_along = np.minimum(along, along[::-1])[:, None]
    in_across = np.minimum(across, across[::-1])
    told = np.isfinite(contact.rubbed) & (contact.metal >= LEAST_METAL)
    told &= np.minimum(in_along, in_across) <= rim_mm
    i, j = np.nonzero(told)
    return SeenCells(
        along_mm=along[i],
        across_mm=across[j],
        rubbed=contact.rubbed[told],
        u=contact.u[told],
    )


def grid_to_cells(
    contact: ContactMap, grid: Grid, along_mm: Array, across_mm: Array
) -> Array:
    """Give weights (n, m) that turn heights on the grid into means over n cells."""
    rows, columns = contact.rubbed.shape
    # At least a step and a half of the grid, so that a place by the mouth finds metal.
    wide = [
        max(size / count, 1.5 * float(axis[1] - axis[0]))
        for size, count, axis in (
            (contact.face.length_mm, rows, grid.along_axis_mm),
            (contact.face.width_mm, columns, grid.across_axis_mm),
        )
    ]
    off_along = np.abs(along_mm[:, None] - grid.along_mm) / wide[0]
    off_across = np.abs(across_mm[:, None] - grid.across_mm) / wide[1]
    weight = np.clip(1 - off_along, 0, None) * np.clip(1 - off_across, 0, None)
    # A place in a wide mouth or hole has no metal near: the nearest stands for it.
    far = weight.sum(axis=1) == 0
    weight[far, np.argmin(np.hypot(off_along, off_across)[far], axis=1)] = 1.0
    return np.asarray(weight / weight.sum(axis=1, keepdims=True))


def likely_on_grid(surface: Surface) -> Likely:
    """Give mean and modes of the surface on the grid's metal places, planes taken off.

    The draws are taken as normal, which they nearly are where readings are near.
    """
    p = surface.places
    terms = plane_terms(surface.face, surface.along_mm[p:], surface.across_mm[p:])
    level = np.eye(len(terms)) - terms @ np.linalg.pinv(terms)
    off = (surface.draws_um[:, p:] - surface.draws_um[:, p:].mean(axis=0)) @ level
    size, shape = np.linalg.eigh(off.T @ off / len(off))
    size, shape = np.clip(size[::-1], 0.0, None), shape[:, ::-1]
    share = np.cumsum(size) / max(size.sum(), 1e-300)
    k = min(MODES, int(np.searchsorted(share, KEPT)) + 1)
    return Likely(
        mean_um=level @ surface.mean_um[p:], modes_um=shape[:, :k] * np.sqrt(size[:k])
    )


def fit_ink(face: Face, seen: SeenCells, tried: Sequence[Likely]) -> list[InkFit]:
    """Say how well each of the heights tried explains the same cells' ink."""
    terms = plane_terms(face, seen.along_mm, seen.across_mm)
    apart = np.hypot(
        seen.along_mm[:, None] - seen.along_mm, seen.across_mm[:, None] - seen.across_mm
    )
    alone = np.diag(seen.u**2 + SCATTER**2)
    found: list[list[tuple[float, float]]] = [[] for _ in tried]
    for patchy in PATCHY:
        root = np.linalg.cholesky(patchy**2 * np.exp(-apart / PATCH_MM) + alone)
        whiten = np.linalg.inv(root)
        volume = float(np.log(np.diag(root)).sum())
        for fits, likely in zip(found, tried, strict=True):
            fits += [
                (evidence - volume, misfit)
                for evidence, misfit in _fits(likely, terms, seen.rubbed, whiten)
            ]
    # The sum over all softness and patchiness; equal weights drop out of comparisons.
    return [
        InkFit(
            log_evidence=float(np.logaddexp.reduce([e for e, _ in fits])),
            misfit=max(fits)[1],
        )
        for fits in found
    ]


def _fits(
    likely: Likely, terms: Array, rubbed: Array, whiten: Array
) -> Iterator[tuple[float, float]]:
    """Give log evidence and misfit for each softness, the softest first."""
    k = likely.modes_um.shape[1]
    centre = np.zeros(5 + k)
    centre[4] = CLEAN
    rough = float(likely.mean_um.std())
    at = centre.copy()
    # In the softest bed, so deep that the mean share is right.
    mean = np.clip(rubbed.mean() / CLEAN, 0.02, 0.98)
    at[0] = -SOFT_UM[0] * np.log(mean / (1 - mean))
    for soft in SOFT_UM:
        # Hand and rocking sink and tilt the bed about as far as it gives and the face
        # is rough: without that the far tail of the curve fits any ink by a plane.
        spread = np.ones(5 + k)
        spread[0] = 2 * (rough + soft)
        spread[1:3] = 2 * rough + soft
        spread[3:5] = STRAY_U, CLEAN_U
        model = _Model(likely=likely, terms=terms, soft_um=soft)
        at, cost, bend = _climb(model, rubbed, whiten, centre, spread, at)
        occam = float(np.linalg.slogdet(bend)[1]) / 2 + float(np.log(spread).sum())
        off = rubbed - model.share(at)
        yield -cost - occam, float(np.sqrt(np.mean(off**2)))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Model:
    """Share of ink gone, from plane (3), stray share, clean share and modes (k)."""

    likely: Likely
    terms: Array
    soft_um: float

    def _bite(self, at: Array) -> Array:
        over = self.likely.mean_um + self.likely.modes_um @ at[5:]
        over = (over - self.terms @ at[:3]) / self.soft_um
        return np.asarray(1 / (1 + np.exp(-np.clip(over, -40, 40))))

    def share(self, at: Array) -> Array:
        return np.asarray(at[3] + at[4] * self._bite(at))

    def slopes(self, at: Array) -> Array:
        bite = self._bite(at)
        by_um = (at[4] * bite * (1 - bite) / self.soft_um)[:, None]
        ones = np.ones_like(bite)
        return np.column_stack(
            [-by_um * self.terms, ones, bite, by_um * self.likely.modes_um]
        )


def _climb(
    model: _Model, rubbed: Array, whiten: Array, centre: Array, spread: Array, at: Array
) -> tuple[Array, float, Array]:
    """Go to the likeliest values, by Levenberg and Marquardt; give cost and curvature.

    The curvature is that of Gauss and Newton, which is never negative.
    """

    def cost_of(x: Array) -> float:
        off, far = whiten @ (rubbed - model.share(x)), (x - centre) / spread
        return float(off @ off + far @ far) / 2

    damp, cost = 1e-3, cost_of(at)
    for _ in range(ROUNDS):
        slopes = whiten @ model.slopes(at)
        bend = slopes.T @ slopes + np.diag(spread**-2.0)
        pull = slopes.T @ (whiten @ (rubbed - model.share(at)))
        pull = pull - (at - centre) / spread**2
        gained = 0.0
        while damp < 1e6:
            step = np.linalg.solve(bend + damp * np.diag(np.diag(bend)), pull)
            new = cost_of(at + step)
            if new < cost:
                gained, at, cost = cost - new, at + step, new
                damp = max(damp / 8, 1e-6)
                break
            damp *= 8
        if gained < SETTLED:
            break
    slopes = whiten @ model.slopes(at)
    return at, cost, slopes.T @ slopes + np.diag(spread**-2.0)
