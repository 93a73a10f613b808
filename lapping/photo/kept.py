"""How much of its ink each place kept, by a photo from before and one from after.

Where nothing was rubbed off, the after photo is the one before in another light: its
brightness is proportional, sample by sample. Where all is gone it no longer hangs on
the ink that was there. So in each cell a line is fitted to the brightness after, over
the ink before; its height at no ink is the light on bare metal, and its fall, as a
share of that, the ink that was kept. How dark full ink is need not be known for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import SUB
from lapping.photo.fields import Array, basis
from lapping.photo.ink import SQUARE
from lapping.photo.thinning import brightened, exponent, thinned, without_brightening

Cells = NDArray[np.float64]

CELL = SQUARE * SUB
"""Samples along a cell."""
BARE_KNOT, BARE_STIFF = 8.0, 30.0
"""Small squares from knot to knot of the bare level, and its stiffness in samples."""
BARE_ROUNDS = 3
BARE_FLOOR = 0.95
"""The first guess of bare metal takes in some ink: it is too dark if anything."""
LIGHT_STIFF = 1.0
"""Stiffness of the light on bare metal from cell to cell, in samples."""
BRIGHT = -0.1
"""Metal that was brighter than bare metal counts as no more than so much less ink."""
LITTLE = 0.15
"""A cell that had less than this share of the usual ink is not told."""
OWN = 4.0
"""So many fully inked samples of a small square weigh as much as its whole cell."""
ENOUGH_SEEN, UNEVEN = 0.25, 0.1
"""Gain is told from cells of which this share was seen, and is more than this share of
a full coat: so much glare, dirt and the fall of light may feign."""
FAINT = 0.85
"""A channel in which full ink leaves more light than this tells nothing of ink."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kept:
    """Share of ink kept in each small square and how much there was, as light it took.

    ``bare`` is how bright bare metal is after the strokes, for each channel and sample,
    as ``after`` was given; ``gained`` how much more ink cells have in the after photo,
    the mean of all of them as a share of a full coat.
    """

    kept: Cells
    was: Cells
    bare: Array
    gained: float


def darkness(light: Array, weights: Cells, seen: Array) -> Array:
    """Give ink as the share of light it takes, by the brightest tenth as bare metal."""
    one = _mixed(light, weights)
    chosen = _some(one, seen)
    bright = float(np.quantile(chosen, 0.9)) if chosen.size else 1.0
    return np.asarray(1 - one / max(bright, 1e-6), np.float32)


def kept_ink(after: Array, before: Array, seen: Array, weights: Cells) -> Kept:
    """Compare light (3, rows, columns) after and before, laid over each other.

    Both are shares of about the light on bare metal before; ``weights`` (3,) say how
    much each channel tells of ink.
    """
    lines = [
        _line(one, two, seen) if weight > 0 else None
        for one, two, weight in zip(after, before, weights, strict=True)
    ]
    # The light of each colour is that on bare metal: ink dims each in its own way.
    usual = [
        _middle(a, seen) / _middle(b, seen) if line is None else line.gain
        for a, b, line in zip(after, before, lines, strict=True)
    ]
    even = np.stack([a / u for a, u in zip(after, usual, strict=True)])
    whole = _line(_mixed(even, weights), _mixed(before, weights), seen)
    channels = [
        (without_brightening(one.kept, brightened(one.kept, one.light)), one.full)
        for one in lines
        if one is not None and one.full < FAINT
    ]
    growth = brightened(whole.kept, whole.light)
    even_kept = without_brightening(whole.kept, growth)
    share = np.maximum(_area(seen, SQUARE), 1e-9)
    was = _area(seen * np.clip(whole.ink, 0, 1), SQUARE) / share
    told = np.isfinite(whole.kept).repeat(SUB, axis=0).repeat(SUB, axis=1)
    was = np.where(told, was, 0.0)
    cells = thinned(even_kept, whole.full, exponent(channels))
    return Kept(
        kept=_own(whole, cells, was, seen),
        was=was,
        bare=np.stack([whole.bare * u for u in usual]),
        gained=_gained(whole, seen),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    ink: Array
    bright: Array
    light: Cells
    kept: Cells
    lost: Array
    full: float
    bare: Array
    gain: float


def _line(after: Array, before: Array, seen: Array) -> _Line:
    """Fit brightness after over ink before, cell by cell, under a smooth light."""
    level, full = _bare(before, seen)
    ink = np.clip(1 - before / level, BRIGHT, 1.0)
    relative = after / level
    scale = float(np.quantile(_some(relative, seen), 0.9))
    bright = np.clip(relative / max(scale, 1e-6), 0.0, 2.0)
    flat = np.ones_like(ink)
    count, first, second, sum_bright, mixed = (
        _area(seen * one, CELL) * CELL**2
        for one in (flat, ink, ink * ink, bright, ink * bright)
    )
    second = second + 1e-3
    # The cell's own slope taken out, this is what is left to tell the light by.
    told = np.maximum(count - first**2 / second, 0) + 1e-6
    value = (sum_bright - first * mixed / second) / told
    light = basis(*told.shape, 1.0).fit(value[None], told, LIGHT_STIFF)[0]
    light = np.maximum(light, max(0.05 * float(np.median(light)), 1e-3))
    kept = (light * first - mixed) / second / light
    there = first > LITTLE * float(np.median(first[count > 0]))
    size = (ink.shape[1], ink.shape[0])
    wide = cv2.resize(light, size, interpolation=cv2.INTER_LINEAR)
    return _Line(
        ink=ink,
        bright=bright,
        light=light,
        kept=np.where(there, kept, np.nan),
        lost=1 - bright / wide,
        full=full,
        bare=level * scale * wide,
        gain=scale * float(np.median(light)),
    )


def _gained(line: _Line, seen: Array) -> float:
    """Say how much more ink the cells have after the strokes, where they have more."""
    count = _area(seen, CELL)
    had, has = (
        _area(seen * np.clip(one, -0.5, 1.0), CELL)[count > ENOUGH_SEEN]
        / count[count > ENOUGH_SEEN]
        for one in (line.ink, line.lost)
    )
    if not had.size:
        return 0.0
    full = max(float(np.quantile(had, 0.9)), float(np.quantile(has, 0.9)), 0.05)
    return float(np.maximum((has - had) / full - UNEVEN, 0.0).mean())


def _bare(before: Array, seen: Array) -> tuple[Array, float]:
    """Find how bright bare metal is before, as a field, and full ink as a share of it.

    The middle of what is more metal than ink: gaps are narrow, and many samples in them
    are part ink.
    """
    rows, columns = before.shape
    light = basis(rows // SQUARE, columns // SQUARE, BARE_KNOT)
    start = max(1.0, float(np.quantile(_some(before, seen), 0.9)))
    level = np.full(before.shape, start, np.float32)
    full = 0.0
    for _ in range(BARE_ROUNDS):
        share = before / level
        full = float(np.quantile(_some(share, seen), 0.1))
        # Weights that make it the median, and not the mean, of what is more metal.
        near = np.minimum(1.0, 0.3 / np.maximum(np.abs(share - 1), 1e-6))
        weight = seen * (share > (1 + full) / 2) * near
        sums = _area(weight, SQUARE)
        value = _area(weight * before, SQUARE) / np.maximum(sums, 1e-9)
        field = light.fit(value[None], sums * SQUARE**2, BARE_STIFF)[0]
        wide = cv2.resize(field, (columns, rows), interpolation=cv2.INTER_LINEAR)
        level = np.maximum(wide, BARE_FLOOR).astype(np.float32)
    return level, full


def _own(line: _Line, cells: Cells, was: Cells, seen: Array) -> Cells:
    """Give what small squares kept: by their own samples, about that of their cell."""
    wide = line.light.repeat(CELL, axis=0).repeat(CELL, axis=1)
    lost = line.ink * (1 - line.bright / wide)
    mixed = _area(seen * lost, SQUARE) * SQUARE**2
    second = _area(seen * line.ink**2, SQUARE) * SQUARE**2
    cell = np.nan_to_num(line.kept, nan=1.0).repeat(SUB, axis=0).repeat(SUB, axis=1)
    own = (mixed + OWN * cell) / (second + OWN)
    # Their noise is large: it must not get into the cell by the bend of a curve.
    usual = _area(own * was, SUB) / np.maximum(_area(was, SUB), 1e-9)
    shift = np.where(np.isfinite(cells), cells - usual, 0.0)
    return np.asarray(own + shift.repeat(SUB, axis=0).repeat(SUB, axis=1))


def _mixed(light: Array, weights: Cells) -> Array:
    return np.asarray(np.tensordot(weights, light, 1) / weights.sum())


def _middle(light: Array, seen: Array) -> float:
    return max(float(np.median(_some(light, seen))), 1e-6)


def _some(values: Array, seen: Array) -> Array:
    """Give every fourth sample that was seen: enough for a quantile."""
    return np.asarray(values[::2, ::2][seen[::2, ::2] > 0.5])


def _area(values: Array, samples: int) -> Cells:
    size = (values.shape[1] // samples, values.shape[0] // samples)
    small = cv2.resize(values, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.float64)
