"""Tell ink from metal in one photo, whatever their colours, or say there is but one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np

from lapping.photo.fields import Array
from lapping.photo.ink import Levels, density, fit_levels, one_level
from lapping.photo.samples import Samples

Kind = Literal["both", "metal", "ink"]

NEAR_MM = 10.0
"""Light hardly changes over so much, and a scribble has lines and gaps within it."""
APART = 3.0
"""Levels nearer to each other than so many times their scatter are one level (twice
is where a mixture of two equal normal distributions gets two peaks)."""
CONTRAST = 0.22
"""Levels that differ by less in every channel, in log brightness, are one level."""
GAIN = 0.05
"""Two levels must raise the mean log likelihood by this much over one."""
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


def tell_coat(samples: Samples, *, bare: Array | None = None) -> Coat:
    """Find both levels of a photo; ``bare`` says where metal is known to be bare."""
    log, seen = samples.log, samples.seen
    best: Levels | None = None
    for start in _starts(samples):
        found = fit_levels(log, seen, start, bare=bare, rounds=6)
        if best is None or found.fit > best.fit:
            best = found
    assert best is not None
    best = fit_levels(log, seen, best.ink, bare=bare, rounds=8)
    best = _right_way_round(log, seen, best, bare)
    _, alone = one_level(log, seen)
    step = _middle(best.step, seen)
    two = (
        best.apart >= APART
        and float(np.abs(step).max()) >= CONTRAST
        and best.fit - alone >= GAIN
    )
    if two:
        faint = best.apart < 1.5 * APART or float(np.abs(step).max()) < 1.5 * CONTRAST
        ink = density(samples.bright, best)
        return Coat(kind="both", ink=ink, levels=best, faint=faint)
    kind: Kind = "ink" if _looks_inked(samples) else "metal"
    flat = np.full(seen.shape, 1.0 if kind == "ink" else 0.0)
    return Coat(kind=kind, ink=flat, levels=best, faint=False)


def _starts(samples: Samples) -> list[Array]:
    """Guess in a few ways what is ink: darker, or of another colour, than around it."""
    log, seen = samples.log.astype(np.float32), samples.seen.astype(np.float32)
    across = max(3, round(2 * NEAR_MM / samples.step_mm) | 1)
    mean = cv2.boxFilter(log * seen[:, :, None], -1, (across, across))
    off = (
        log
        - mean / np.maximum(cv2.boxFilter(seen, -1, (across, across)), 1e-3)[..., None]
    )
    light = off.mean(axis=2)
    usual = float(np.sqrt((seen * light**2).sum() / seen.sum()))
    found = [light < 0, light < -0.7 * usual]
    colour = off - light[:, :, None]
    flat = colour[seen > 0.5]
    _, axes = np.linalg.eigh(flat.T @ flat)
    along = colour @ axes[:, -1]
    # Ink is the side that is darker with it; where neither is, both are tried.
    sign = float((seen * along * light).sum())
    found.append(along < 0 if sign > 0 else along > 0)
    whole = log.mean(axis=2)
    middle = float(np.average(whole, weights=seen))
    found.append(whole < middle)
    return [one.astype(float) for one in found]


def _right_way_round(
    log: Array, seen: Array, found: Levels, bare: Array | None
) -> Levels:
    """Swap the levels where the darker one is the plain one: ink can be lighter."""
    step = _middle(found.step, seen)
    metal = _middle(found.metal, seen)
    if bare is not None or step.mean() < -0.5:
        return found
    if np.ptp(metal) > np.ptp(metal + step) + 0.3:
        swapped = np.clip(1 - found.ink, 0.0, 1.0)
        return fit_levels(log, seen, swapped, rounds=8)
    if step.mean() > 0 and np.ptp(metal + step) < np.ptp(metal) + 0.3:
        return fit_levels(log, seen, np.clip(1 - found.ink, 0.0, 1.0), rounds=8)
    return found


def _looks_inked(samples: Samples) -> bool:
    level = np.average(
        samples.bright.reshape(-1, 3), axis=0, weights=samples.seen.ravel()
    )
    return bool(np.ptp(np.log(level)) > COLOURED or level.max() < DARK)


def _middle(field: Array, weight: Array) -> Array:
    return np.asarray(np.average(field.reshape(-1, 3), axis=0, weights=weight.ravel()))
