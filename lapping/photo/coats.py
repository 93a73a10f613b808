"""Tell ink from metal in one photo, whatever their colours, or say there is but one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from lapping.photo.fields import Array
from lapping.photo.ink import SQUARE, Levels, density, fit_levels, mean_of, one_level
from lapping.photo.samples import Samples

Kind = Literal["both", "metal", "ink"]

NEAR_MM = 10.0
"""Light hardly changes over so much, and a scribble has lines and gaps within it."""
APART = 3.0
"""Levels nearer to each other than so many times their scatter are one level (twice
is where a mixture of two equal normal distributions gets two peaks)."""
CONTRAST = 0.22
"""Levels that differ by less in every channel, in log brightness, are one level."""
PLAIN = 0.7
"""Log brightness: ink that takes half of the light is not faint, however rough the
metal looks."""
GAIN = 0.1
"""Two levels must raise the mean log likelihood by this much over one. Held apart by
``TIGHT``, two levels fit a face of one level worse than one does, brushed or blotched
as it may be (by 0.2 and more on drawn ones), and a scribble better by 0.2 and more."""
SCRIBBLED = -0.4
"""The same where there surely was a scribble."""
COLOURED = 0.55
"""Log brightness between the channels that no metal has and ink does."""
DARK = 0.03
"""Brightness below which a face of one level is taken for black ink."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coat:
    """The ink of every sample, its levels, and whether there are two levels at all.

    ``ink`` is unclipped, so that it is right on average; ``faint`` says that ink and
    metal are hardly told apart.
    """

    kind: Kind
    ink: Array
    levels: Levels
    faint: bool

    @property
    def step(self) -> Array | None:
        """Give the way from metal to full ink, if there are both."""
        return self.levels.step if self.kind == "both" else None


def tell_coat(
    samples: Samples, *, bare: Array | None = None, scribbled: bool = False
) -> Coat:
    """Find both levels of a photo; ``bare`` says where metal is known to be bare.

    ``scribbled`` says that there was a scribble when the photo was taken, so that two
    levels that differ plainly are believed though one fits as well.
    """
    log, seen = samples.log, samples.seen
    found = _best_start(samples, bare)
    best = fit_levels(log, seen, found, rounds=4, bare=bare, flat=False)
    best = _right_way_round(log, seen, best, bare)
    _, alone = one_level(log, seen)
    step = mean_of(best.step, seen)
    plainly = scribbled and float(np.abs(step).max()) >= 2 * CONTRAST
    two = (
        best.apart >= APART
        and float(np.abs(step).max()) >= CONTRAST
        and best.fit - alone >= (SCRIBBLED if plainly else GAIN)
    )
    if two:
        most = float(np.abs(step).max())
        faint = most < 1.5 * CONTRAST or (best.apart < 1.5 * APART and most < PLAIN)
        ink = density(samples.log, best)
        return Coat(kind="both", ink=ink, levels=best, faint=faint)
    kind: Kind = "ink" if _looks_inked(samples) else "metal"
    flat = np.full(seen.shape, 1.0 if kind == "ink" else 0.0)
    return Coat(kind=kind, ink=flat, levels=best, faint=False)


def _best_start(samples: Samples, bare: Array | None) -> Array:
    """Give what is ink by the guess that leads to the best fit.

    A quarter of the samples tells which; all of them are fitted afterwards.
    """

    def few(values: Array) -> Array:
        return np.ascontiguousarray(values[..., ::2, ::2])

    log, seen = few(samples.log), few(samples.seen)
    known = None if bare is None else few(bare)
    tried = [
        fit_levels(log, seen, few(start), rounds=3, bare=known, square=SQUARE // 2)
        for start in starts(samples)
    ]
    tried.sort(key=lambda one: -one.fit)
    tried = [
        fit_levels(
            log, seen, one.ink, rounds=3, bare=known, square=SQUARE // 2, flat=False
        )
        for one in tried[:2]
    ]
    best = max(tried, key=lambda one: one.fit).ink
    return best.repeat(2, axis=0).repeat(2, axis=1)


def starts(samples: Samples) -> list[Array]:
    """Guess in a few ways what is ink: darker, or of another colour, than around it."""
    log, seen = samples.log, samples.seen
    across = max(3, round(2 * NEAR_MM / samples.step_mm) | 1)
    near = np.maximum(cv2.boxFilter(seen, -1, (across, across)), 1e-3)
    off = np.stack(
        [one - cv2.boxFilter(one * seen, -1, (across, across)) / near for one in log]
    )
    light = off.mean(axis=0)
    usual = float(np.sqrt((seen * light**2).sum() / seen.sum()))
    found = [light < 0, light < -0.7 * usual]
    colour = off - light
    flat = colour[:, seen > 0.5]
    _, axes = np.linalg.eigh(flat @ flat.T)
    along = np.tensordot(axes[:, -1], colour, axes=1)
    # Ink is the side that is darker with it; where neither is, both are tried.
    sign = float((seen * along * light).sum())
    found.append(along < 0 if sign > 0 else along > 0)
    whole = log.mean(axis=0)
    found.append(whole < float(np.average(whole, weights=seen)))
    return [one.astype(np.float32) for one in found]


def _right_way_round(
    log: Array, seen: Array, found: Levels, bare: Array | None
) -> Levels:
    """Swap the levels where the darker one is the plain one: ink can be lighter."""
    step = mean_of(found.step, seen)
    metal = mean_of(found.metal, seen)
    if bare is not None or step.mean() < -0.5:
        return found
    if np.ptp(metal) > np.ptp(metal + step) + 0.3:
        swapped = np.clip(1 - found.ink, 0.0, 1.0)
        return fit_levels(log, seen, swapped, rounds=8)
    if step.mean() > 0 and np.ptp(metal + step) < np.ptp(metal) + 0.3:
        return fit_levels(log, seen, np.clip(1 - found.ink, 0.0, 1.0), rounds=8)
    return found


def _looks_inked(samples: Samples) -> bool:
    level = mean_of(samples.log, samples.seen)
    return bool(np.ptp(level) > COLOURED or level.max() < np.log(DARK))
