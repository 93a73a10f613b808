"""Two levels under uneven light: bare metal and full ink, told apart and tested.

Every sample of the rectified picture is bare metal, full ink, something between, or
none of these. The levels are smooth fields, because light and shine change over the
face; which sample is what comes from expectation and maximisation of the mixture
(Dempster, Laird and Rubin, J. R. Stat. Soc. B 39, 1977, 1-38).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.photo.fields import Array, Basis, basis

SQUARE = 4
"""A small square is so many samples long and wide; fields are fitted to squares."""
STIFF_METAL, STIFF_INK = 30.0, 300.0
"""Stiffness of the fields in samples: the ratio of ink to metal changes less."""
KNOT = 8.0
"""Small squares from one knot of the light to the next: 20 mm."""
FLOOR = 0.02
"""Least scatter of a level, in log brightness: about what 8 bits can show."""
BRUSHED, COLOUR = 0.15, 0.05
"""Brushed metal varies so much in brightness, and so much in each channel besides: its
colour says more than its brightness. In one photo both are mixed with thin ink."""
TIGHT = 6.0
"""Levels are told apart as if so many times their scatter lay between them, or else
half-worn ink would widen a level until it takes it in."""
ENOUGH = 200.0
"""From so many samples known to be bare the scatter of metal is taken."""
TRUST_INK = 0.1
"""Where the step is known, bare metal tells its own level better than ink does, which
may be thin: ink counts so much there."""
STRAY = 0.02
"""Share of samples that are expected to be neither metal nor ink."""
STRAY_DENSITY = 0.05
"""How dense such samples lie: anywhere within about a factor of 4 in each channel."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Levels:
    """Log brightness of metal and of ink (rows, columns, 3), and which sample is what.

    ``ink`` is the probability that a sample is full ink; ``apart`` how many standard deviations lie
    between the levels; ``fit`` the mean log likelihood.
    """

    metal: Array
    step: Array
    ink: Array
    apart: float
    fit: float


def fit_levels(
    log: Array,
    weight: Array,
    start: Array,
    *,
    rounds: int,
    start_metal: Array | None = None,
    bare: Array | None = None,
    step: Array | None = None,
) -> Levels:
    """Fit both levels to log brightness (rows, columns, 3), beginning with ``start``.

    ``weight`` (rows, columns) is 0 where nothing can be seen, ``start`` the first guess
    of what is ink (and ``start_metal`` of what is metal, or else the rest), ``bare`` 1 where metal is known to be bare, and ``step`` (rows,
    columns, 3) the way from metal to full ink where that is known.
    """
    light = basis(log.shape[0] // SQUARE, log.shape[1] // SQUARE, KNOT)
    free = np.ones_like(weight) if bare is None else 1 - bare
    ink = np.clip(start, 0.02, 0.98) * free
    metal = 1 - ink
    if start_metal is not None:
        metal = np.maximum(start_metal * (1 - ink), 1 - free)
    parts = np.array([0.4, 0.4, 0.2])
    fixed = None if step is None else _means(step)
    trust = 1.0 if step is None else TRUST_INK
    way = fixed
    if way is None:
        way = np.zeros((light.down.shape[0], light.over.shape[0], 3))
        way = way + _mean(log, ink * weight) - _mean(log, metal * weight)
    # Thin ink that is taken for metal would widen metal until it takes in more.
    sampled = None if bare is None or (bare * weight).sum() < ENOUGH else bare * weight
    fit = -np.inf
    for turn in range(rounds):
        # The first fields are nearly flat: which sample is what is not yet known.
        eased = 1.0 if fixed is not None else max(1.0, 300.0 * 0.3**turn)
        of_metal, of_ink = metal * weight, ink * weight * trust
        sum_ink = _sums(of_ink)
        sum_all = _sums(of_metal) + sum_ink
        light_of_ink = _sums3(of_ink[:, :, None] * log)
        light_of_all = _sums3(of_metal[:, :, None] * log) + light_of_ink
        value = _over(light_of_all - sum_ink[:, :, None] * way, sum_all)
        field = light.fit(value, sum_all, STIFF_METAL * eased)
        if fixed is None:
            value = _over(light_of_ink - sum_ink[:, :, None] * field, sum_ink)
            way = light.fit(value, sum_ink, STIFF_INK * eased)
        off = log - _widen(field)
        wide = _widen(way)
        scatter = _covariance(off, of_metal if sampled is None else sampled)
        scatter_ink = _covariance(off - wide, of_ink)
        tight, tight_ink = (
            _kept_apart(s, _middle(way, sum_all)) for s in (scatter, scatter_ink)
        )
        chances = np.stack(
            [
                parts[0] * _normal(off, tight),
                parts[1] * _normal(off - wide, tight_ink),
                parts[2] * _between(off, wide, tight),
            ]
        )
        total = chances.sum(axis=0) + STRAY * STRAY_DENSITY
        chances /= total
        parts = np.clip((weight * chances).sum(axis=(1, 2)) / weight.sum(), 0.02, 0.98)
        ink = chances[1] * free
        metal = chances[0] * free + (1 - free)
        fit = float((weight * np.log(total)).sum() / weight.sum())
    middle = _middle(way, sum_all)
    pooled = (scatter + scatter_ink) / 2
    return Levels(
        metal=_widen(field),
        step=wide,
        ink=ink * (weight > 0),
        apart=float(np.sqrt(middle @ np.linalg.solve(pooled, middle))),
        fit=fit,
    )


def one_level(log: Array, weight: Array) -> tuple[Array, float]:
    """Fit one level alone; give its field and the mean log likelihood."""
    down, over = log.shape[0] // SQUARE, log.shape[1] // SQUARE
    sums = _sums(weight)
    value = _over(_sums3(weight[:, :, None] * log), sums)
    field = _widen(basis(down, over, KNOT).fit(value, sums, STIFF_METAL))
    off = log - field
    total = _normal(off, _covariance(off, weight)) * (1 - STRAY)
    total += STRAY * STRAY_DENSITY
    return field, float((weight * np.log(total)).sum() / weight.sum())


def density(brightness: Array, levels: Levels) -> Array:
    """Give the ink of each sample: 0 bare metal, 1 full ink, not clipped.

    ``brightness`` (rows, columns, 3) is that whose logarithm the levels are of. Ink
    that covers half of a sample takes half of the way from metal to ink in it.
    """
    metal = np.exp(levels.metal)
    lost = 1 - brightness / metal
    full = 1 - np.exp(levels.step)
    weights = np.linalg.inv(BRUSHED**2 * np.ones((3, 3)) + COLOUR**2 * np.eye(3))
    along = full @ weights
    return np.asarray((along * lost).sum(axis=2) / (along * full).sum(axis=2))


def _over(values: Array, weight: Array) -> Array:
    """Divide by the weight where there is any; elsewhere the value counts nothing."""
    return np.asarray(values / np.maximum(weight, 1e-9)[:, :, None])


def _means(values: Array) -> Array:
    return _sums3(values) / SQUARE**2


def _mean(log: Array, weight: Array) -> Array:
    return np.asarray(np.einsum("ijc,ij->c", log, weight) / max(weight.sum(), 1e-9))


def _covariance(off: Array, weight: Array) -> Array:
    total = max(float(weight.sum()), 1e-9)
    flat = off.reshape(-1, 3)
    spread = (flat * weight.reshape(-1, 1)).T @ flat / total
    return np.asarray(spread + np.eye(3) * FLOOR**2)


def _normal(off: Array, covariance: Array) -> Array:
    root = np.linalg.inv(np.linalg.cholesky(covariance))
    white = off.reshape(-1, 3) @ root.T
    d2 = np.einsum("ij,ij->i", white, white).reshape(off.shape[:2])
    return np.asarray(np.exp(-d2 / 2) * np.linalg.det(root) / (2 * np.pi) ** 1.5)


def _middle(field: Array, weight: Array) -> Array:
    return np.asarray(np.average(field.reshape(-1, 3), axis=0, weights=weight.ravel()))


def _kept_apart(scatter: Array, way: Array) -> Array:
    """Narrow a scatter along the way from metal to ink: thin ink is no scatter."""
    sharp = np.linalg.inv(scatter)
    lacking = TIGHT**2 - way @ sharp @ way
    if lacking <= 0:
        return scatter
    sharp = sharp + lacking * np.outer(way, way) / (way @ way) ** 2
    return np.asarray(np.linalg.inv(sharp))


def _between(off: Array, step: Array, covariance: Array) -> Array:
    """Give the density of what lies anywhere on the way from metal to ink, scattered."""
    root = np.linalg.inv(np.linalg.cholesky(covariance))
    white = off.reshape(-1, 3) @ root.T
    way = step.reshape(-1, 3) @ root.T
    length = np.sqrt(np.maximum(np.einsum("ij,ij->i", way, way), 1e-6))
    along = np.einsum("ij,ij->i", white, way) / length
    d2 = np.maximum(np.einsum("ij,ij->i", white, white) - along**2, 0.0)
    # The normal distribution function, as near as the logistic one comes to it.
    inside = _logistic(1.702 * along) - _logistic(1.702 * (along - length))
    flat = np.exp(-d2 / 2) * np.maximum(inside, 0.0) / length
    return np.asarray(flat.reshape(off.shape[:2]) * np.linalg.det(root) / (2 * np.pi))


def _logistic(value: Array) -> Array:
    return np.asarray(0.5 + 0.5 * np.tanh(value / 2))


def _sums(values: Array) -> Array:
    rows, columns = values.shape
    return np.asarray(
        values.reshape(rows // SQUARE, SQUARE, columns // SQUARE, SQUARE).sum(
            axis=(1, 3)
        )
    )


def _sums3(values: Array) -> Array:
    return np.stack([_sums(values[:, :, c]) for c in range(3)], axis=2)


def _widen(field: Array) -> Array:
    return np.asarray(np.repeat(np.repeat(field, SQUARE, axis=0), SQUARE, axis=1))
