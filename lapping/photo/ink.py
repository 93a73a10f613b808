"""Two levels under uneven light: bare metal and full ink, told apart and tested.

Every sample of the rectified picture is bare metal, full ink, something between, or
none of these. The levels are smooth fields, because light and shine change over the
face; which sample is what comes from expectation and maximisation of the mixture
(Dempster, Laird and Rubin, J. R. Stat. Soc. B 39, 1977, 1-38).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.fields import Array, basis
from lapping.photo.scatter import (
    between,
    covariance,
    kept_apart,
    mixed,
    normal,
    root,
    squared,
)

SQUARE = 4
"""A small square is so many samples long and wide; fields are fitted to squares."""
STIFF_METAL, STIFF_INK = 30.0, 300.0
"""Stiffness of the fields in samples: the ratio of ink to metal changes less."""
KNOT = 8.0
"""Small squares from one knot of the light to the next: 20 mm."""
BRUSHED, COLOUR = 0.15, 0.05
"""Brushed metal varies so much in brightness, and so much in each channel besides: its
colour says more than its brightness. In one photo both are mixed with thin ink."""
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
    """Log brightness of metal and of ink (3, rows, columns), and which sample is what.

    ``ink`` is the probability that a sample is full ink; ``apart`` how many standard
    deviations lie between the levels; ``fit`` the mean log likelihood.
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
    square: int = SQUARE,
    flat: bool = True,
) -> Levels:
    """Fit both levels to log brightness (3, rows, columns), beginning with ``start``.

    ``weight`` (rows, columns) is 0 where nothing can be seen, ``start`` the first guess
    of what is ink (and ``start_metal`` of what is metal, or else the rest), ``bare`` 1
    where metal is known to be bare, and ``step`` (3, rows, columns) the way from metal
    to full ink where that is known. ``flat`` begins with fields that hardly bend, for a
    guess that may be far out. ``square`` is how many samples each way a small square
    has.
    """
    light = basis(weight.shape[0] // square, weight.shape[1] // square, KNOT)
    free = np.ones_like(weight) if bare is None else 1 - bare
    ink = np.clip(start, 0.02, 0.98) * free
    metal = 1 - ink
    if start_metal is not None:
        metal = np.maximum(start_metal * (1 - ink), 1 - free)
    parts = [0.4, 0.4, 0.2]
    fixed = None if step is None else _blocks(step, square)
    trust = 1.0 if step is None else TRUST_INK
    way = fixed
    if way is None:
        away = mean_of(log, ink * weight) - mean_of(log, metal * weight)
        way = np.zeros((3, len(light.down), len(light.over)), np.float32)
        way += away[:, None, None]
    # Thin ink that is taken for metal would widen metal until it takes in more.
    sampled = None if bare is None or (bare * weight).sum() < ENOUGH else bare * weight
    known = max(float(weight.sum()), 1e-9)
    fit = -np.inf
    for turn in range(rounds):
        # The first fields are nearly flat: which sample is what is not yet known.
        eased = max(1.0, 300.0 * 0.3**turn) if flat and fixed is None else 1.0
        of_metal, of_ink = metal * weight, ink * weight * trust
        sum_ink = _blocks(of_ink, square)
        sum_all = _blocks(of_metal, square) + sum_ink
        light_of_ink = _blocks(of_ink * log, square)
        light_of_all = _blocks(of_metal * log, square) + light_of_ink
        value = (light_of_all - sum_ink * way) / np.maximum(sum_all, 1e-9)
        field = light.fit(value, sum_all * square**2, STIFF_METAL * eased)
        if fixed is None:
            value = (light_of_ink - sum_ink * field) / np.maximum(sum_ink, 1e-9)
            way = light.fit(value, sum_ink * square**2, STIFF_INK * eased)
        off = log - _widen(field, square)
        wide = _widen(way, square)
        off_ink = off - wide
        scatter = covariance(off, of_metal if sampled is None else sampled)
        scatter_ink = covariance(off_ink, of_ink)
        middle = mean_of(way, sum_all)
        tight, tight_ink = (kept_apart(s, middle) for s in (scatter, scatter_ink))
        white_by, ink_by = root(tight), root(tight_ink)
        white = mixed(white_by, off)
        d2 = squared(white)
        as_metal = parts[0] * normal(d2, white_by)
        as_ink = parts[1] * normal(squared(mixed(ink_by, off_ink)), ink_by)
        half = parts[2] * between(white, d2, wide, white_by)
        total = as_metal + as_ink + half + STRAY * STRAY_DENSITY
        seen = weight / total
        parts = [
            min(max(float((seen * one).sum()) / known, 0.02), 0.98)
            for one in (as_metal, as_ink, half)
        ]
        ink = as_ink / total * free
        metal = as_metal / total * free + (1 - free)
        fit = float((weight * np.log(total)).sum()) / known
    pooled = (scatter + scatter_ink) / 2
    return Levels(
        metal=_widen(field, square),
        step=wide,
        ink=ink * (weight > 0),
        apart=float(np.sqrt(middle @ np.linalg.solve(pooled, middle))),
        fit=fit,
    )


def one_level(log: Array, weight: Array) -> tuple[Array, float]:
    """Fit one level alone; give its field and the mean log likelihood."""
    rows, columns = (n // SQUARE for n in weight.shape)
    sums = _blocks(weight, SQUARE)
    value = _blocks(weight * log, SQUARE) / np.maximum(sums, 1e-9)
    light = basis(rows, columns, KNOT)
    field = _widen(light.fit(value, sums * SQUARE**2, STIFF_METAL), SQUARE)
    off = log - field
    white_by = root(covariance(off, weight))
    total = normal(squared(mixed(white_by, off)), white_by) * (1 - STRAY)
    total += STRAY * STRAY_DENSITY
    return field, float((weight * np.log(total)).sum() / weight.sum())


def density(log: Array, levels: Levels) -> Array:
    """Give the ink of each sample: 0 bare metal, 1 full ink, not clipped.

    Ink that covers half of a sample takes half of the way from metal to ink in it, in
    the brightness that the logarithm is of.
    """
    lost = 1 - np.exp(log - levels.metal)
    full = 1 - np.exp(levels.step)
    along = mixed(_sharpness(), full)
    return np.asarray((along * lost).sum(axis=0) / (along * full).sum(axis=0))


def channel_weights(levels: Levels, weight: Array) -> NDArray[np.float64]:
    """Say how much each channel tells of ink; none of them less than nothing."""
    full = 1 - np.exp(mean_of(levels.step, weight))
    along = np.clip(_sharpness() @ full, 0.0, None)
    # Ink that is lighter than metal in all channels has no channel to be told by.
    return np.asarray(along if along.any() else np.ones(3), float)


def _sharpness() -> NDArray[np.float64]:
    return np.asarray(
        np.linalg.inv(BRUSHED**2 * np.ones((3, 3)) + COLOUR**2 * np.eye(3))
    )


def mean_of(field: Array, weight: Array) -> Array:
    """Give the weighted mean of each channel of a field (3, rows, columns)."""
    total = max(float(weight.sum()), 1e-9)
    return np.asarray((field * weight).sum(axis=(1, 2)) / total, float)


def _blocks(values: Array, square: int) -> Array:
    """Give the mean of each small square of one field or of three."""
    if square == 1:
        return values
    if values.ndim == 2:
        size = (values.shape[1] // square, values.shape[0] // square)
        return np.asarray(cv2.resize(values, size, interpolation=cv2.INTER_AREA))
    return np.stack([_blocks(one, square) for one in values])


def _widen(field: Array, square: int) -> Array:
    if square == 1:
        return field
    size = (field.shape[2] * square, field.shape[1] * square)
    return np.stack(
        [cv2.resize(one, size, interpolation=cv2.INTER_LINEAR) for one in field]
    )
