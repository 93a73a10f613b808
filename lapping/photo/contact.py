"""From the pixels of one photo, or of two, to the contact map of the face."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap, contact_map
from lapping.face import Face
from lapping.photo.coats import Coat, tell_coat
from lapping.photo.fields import Array
from lapping.photo.ink import density, fit_levels
from lapping.photo.pairs import ALIKE, Laid, lay_over, over
from lapping.photo.samples import Samples, sample, to_squares
from lapping.photo.unseen import seen_well
from lapping.photo.worn import ink_left

Pixels = NDArray[np.uint8]

U_PAIR = 0.03
"""Uncertainty of the share rubbed off a small square where a before photo was there."""
BARE = 0.25
"""Less ink than this before, with a margin about it, was bare metal."""
FULL = 0.8
MARGIN_MM = 0.8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """One photo of the face: its pixels and the face's corners in them (4, 2)."""

    pixels: Pixels
    corners_px: Array


def contact_of(after: View, face: Face, before: View | None = None) -> ContactMap:
    """Work out where the face bore; without ``before`` the usual ink is estimated."""
    now = sample(after.pixels, after.corners_px, face)
    coat = tell_coat(now)
    if before is None:
        return _from_one(now, coat, face)
    was = sample(before.pixels, before.corners_px, face)
    return _from_two(now, coat, was, tell_coat(was), face)


def _from_one(now: Samples, coat: Coat, face: Face) -> ContactMap:
    seen = seen_well(now, coat)
    left, doubt = coat.ink, np.full(seen.shape, 0.15)
    warnings = [*_of_light(now), *_of_coat(coat)]
    if coat.kind == "both":
        left, doubt = ink_left(coat.ink, seen, now.step_mm)
    elif coat.kind == "metal":
        warnings.append(
            "no ink is seen: all of it is rubbed off, or there was none; a photo taken "
            "before the strokes tells which"
        )
    else:
        warnings.append(
            "one colour all over is taken for ink of which nothing is rubbed off; a "
            "photo taken before the strokes would make sure"
        )
    return contact_map(
        face,
        ink=_mean_seen(left, seen),
        was=np.ones(to_squares(seen).shape),
        seen=to_squares(seen),
        u=_mean_seen(doubt, seen),
        baseline="estimated",
        warnings=warnings,
    )


def _from_two(
    now: Samples, coat: Coat, was: Samples, first: Coat, face: Face
) -> ContactMap:
    if first.kind != "both" and coat.kind == "both":
        # Nearly solid ink shows no gaps; the after photo knows what bare metal is like.
        first = _as_inked(was, coat)
    warnings = [*_of_light(now), *_of_coat(first)]
    seen_was = seen_well(was, first)
    if first.kind != "both":
        warnings.append(
            "the photo from before shows no scribble with lines and gaps to go by, so "
            "the after photo was judged by itself"
        )
        alone = _from_one(now, coat, face)
        return replace(alone, warnings=(*warnings, *alone.warnings))
    laid = Laid(shift=np.eye(2, 3), alike=0.0)
    if coat.kind == "both":
        laid = lay_over(coat.ink, first.ink, now.seen, now.step_mm)
        if laid.alike < ALIKE:
            warnings.append(
                "the photos from before and after do not match: their scribbles differ"
            )
    ink_was = over(first.ink, laid.shift)
    coat = _judge_by(now, coat, first, ink_was, laid)
    seen = seen_well(now, coat) * over(seen_was, laid.shift)
    return contact_map(
        face,
        ink=_mean_seen(coat.ink, seen),
        was=_mean_seen(ink_was, seen),
        seen=to_squares(seen),
        u=U_PAIR,
        baseline="before photo",
        warnings=warnings,
    )


def _as_inked(was: Samples, coat: Coat) -> Coat:
    """Measure a before photo that seems to be of one level by the after photo's step."""
    step = coat.levels.step
    levels = fit_levels(was.log, was.seen, np.ones(was.seen.shape), rounds=8, step=step)
    return replace(coat, ink=density(was.bright, levels), levels=levels)


def _judge_by(
    now: Samples, coat: Coat, first: Coat, ink_was: Array, laid: Laid
) -> Coat:
    """Measure the after photo's ink by the step to full ink of the one before.

    After the strokes there may be no full ink left to measure by; the pen and the
    metal are still the same.
    """
    step = np.stack([over(first.levels.step[:, :, c], laid.shift) for c in range(3)], 2)
    known = coat.kind == "both" and laid.alike >= ALIKE
    if known and _size(coat.levels.step) > _size(step):
        return coat
    # What the photo by itself took for full ink may be thin by that of the one before.
    by_step = density(now.bright, replace(coat.levels, step=step))
    start = np.zeros(now.seen.shape)
    metal = bare = None
    if known:
        start = (by_step > FULL).astype(float)
        metal = np.clip(1 - 3 * by_step, 0.02, 1.0)
        across = max(3, round(2 * MARGIN_MM / now.step_mm) | 1)
        smooth = cv2.blur(ink_was.astype(np.float32), (across, across))
        most = cv2.dilate(smooth, np.ones((across, across)))
        bare = (most < BARE).astype(float)
    levels = fit_levels(
        now.log, now.seen, start, rounds=8, start_metal=metal, bare=bare, step=step
    )
    ink = density(now.bright, levels)
    return replace(coat, kind="both", ink=ink, levels=levels)


def _size(step: Array) -> float:
    return float(np.linalg.norm(step.reshape(-1, 3).mean(axis=0)))


def _mean_seen(values: Array, seen: Array) -> Array:
    share = to_squares(seen)
    return to_squares(values * seen) / np.maximum(share, 1e-9)


def _of_light(now: Samples) -> list[str]:
    if now.clipped <= 0.15:
        return []
    return [
        f"glare covers {100 * now.clipped:.0f} % of the metal and hides what is under "
        "it; turn the plane or the lamp and take the photo again"
    ]


def _of_coat(coat: Coat) -> list[str]:
    if not coat.faint:
        return []
    return ["the ink is too faint to be told from the metal surely; scribble thicker"]
