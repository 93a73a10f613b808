"""From the pixels of one photo, or of two, to the contact map of the face."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap, contact_map
from lapping.face import Face
from lapping.photo.coats import Coat, starts, tell_coat
from lapping.photo.fields import Array
from lapping.photo.ink import density, fit_levels
from lapping.photo.pairs import ALIKE, Laid, lay_over, over, scale_of
from lapping.photo.samples import Samples, sample, to_squares
from lapping.photo.unseen import seen_well
from lapping.photo.worn import ink_left

Pixels = NDArray[np.uint8]

SHARP, STEEPEST = 0.6, 0.98
"""Ink to metal within 1.7 mm, at this quantile of all samples, is a sharp line's edge;
a pen's own edge is sharper than a sample."""
U_PAIR = 0.08
"""Uncertainty of the share rubbed off a small square where a before photo was there."""
BARE = 0.25
"""Less ink than this before, with a margin about it, was bare metal."""
FULL = 0.8
MARGIN_MM = 0.8
TRACE = 0.12
"""Correlation with the ink of before from which what little is left is ink."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """One photo of the face: its pixels and the face's corners in them (4, 2)."""

    pixels: Pixels
    corners_px: NDArray[np.float64]

    @property
    def turned(self) -> View:
        """Give the same photo with the face in it taken end for end."""
        return replace(self, corners_px=np.roll(self.corners_px, 2, axis=0))


def contact_of(
    after: View,
    face: Face,
    before: View | None = None,
    *,
    may_be_turned: bool = False,
) -> ContactMap:
    """Work out where the face bore; without ``before`` the usual ink is estimated.

    ``may_be_turned`` says that the toe may lie at the other end in ``before``.
    """
    now = sample(after.pixels, after.corners_px, face)
    coat = tell_coat(now)
    if before is None:
        return _from_one(now, coat, face)
    first = _lay(now, coat, before, face)
    if may_be_turned and coat.kind == "both" and first.laid.alike < ALIKE:
        other = _lay(now, coat, before.turned, face)
        if other.laid.alike > max(ALIKE, first.laid.alike):
            first = other
    return _from_two(now, coat, first, face)


def _from_one(now: Samples, coat: Coat, face: Face) -> ContactMap:
    seen = seen_well(now, coat)
    left, doubt = coat.ink, np.full(seen.shape, 0.15)
    warnings = [*_of_light(now), *_of_coat(coat, now)]
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Before:
    """The before photo's samples and ink, and how it lies over the after photo."""

    samples: Samples
    coat: Coat
    laid: Laid


def _lay(now: Samples, coat: Coat, before: View, face: Face) -> _Before:
    was = sample(before.pixels, before.corners_px, face)
    first = tell_coat(was, scribbled=True)
    if first.kind != "both" and coat.kind == "both":
        first = _as_inked(was, coat)
    laid = Laid(shift=np.eye(2, 3), alike=0.0)
    if coat.kind == "both":
        laid = lay_over(coat.ink, first.ink, now.seen, now.step_mm)
    return _Before(samples=was, coat=first, laid=laid)


def _from_two(now: Samples, coat: Coat, before: _Before, face: Face) -> ContactMap:
    first, laid = before.coat, before.laid
    warnings = [*_of_light(now), *_of_coat(coat if coat.kind == "both" else first, now)]
    if first.kind != "both":
        nothing = np.zeros(to_squares(now.seen).shape)
        return contact_map(
            face,
            ink=nothing,
            was=nothing,
            seen=nothing,
            u=U_PAIR,
            baseline="before photo",
            warnings=(
                *warnings,
                "no scribble is seen in either photo, so nothing can be told from "
                "them: scribble thicker, or with a colour that the metal has not",
            ),
        )
    if coat.kind == "both" and laid.alike < ALIKE:
        warnings.append(
            "the photos from before and after do not match: their scribbles differ"
        )
    ink_was = over(first.ink, laid.shift)
    coat = _judge_by(now, coat, first, ink_was, laid)
    seen = seen_well(now, coat) * over(seen_well(before.samples, first), laid.shift)
    left, there = _mean_seen(coat.ink, seen), _mean_seen(ink_was, seen)
    return contact_map(
        face,
        ink=left / scale_of(left, there, to_squares(seen)),
        was=there,
        seen=to_squares(seen),
        u=U_PAIR,
        baseline="before photo",
        warnings=warnings,
    )


def _as_inked(was: Samples, coat: Coat) -> Coat:
    """Measure a before photo without gaps by the after photo's step."""
    step = coat.levels.step
    levels = fit_levels(was.log, was.seen, np.ones_like(was.seen), rounds=8, step=step)
    return replace(coat, ink=density(was.log, levels), levels=levels)


def _judge_by(
    now: Samples, coat: Coat, first: Coat, ink_was: Array, laid: Laid
) -> Coat:
    """Measure the after photo's ink by the step to full ink of the one before.

    After the strokes there may be no full ink left to measure by; the pen and the
    metal are still the same.
    """
    step = np.stack([over(one, laid.shift) for one in first.levels.step])
    known = coat.kind == "both" and laid.alike >= ALIKE
    if known and _size(coat.levels.step) > _size(step):
        step = coat.levels.step
    # What the photo by itself took for full ink may be thin by that of the one before.
    by_step = density(now.log, replace(coat.levels, step=step))
    guesses = [np.zeros_like(now.seen)]
    metal = bare = None
    if known:
        guesses = [(by_step > FULL).astype(np.float32)]
        metal = np.clip(1 - 3 * by_step, 0.02, 1.0)
        across = max(3, round(2 * MARGIN_MM / now.step_mm) | 1)
        smooth = cv2.blur(ink_was.astype(np.float32), (across, across))
        most = cv2.dilate(smooth, np.ones((across, across)))
        bare = (most < BARE).astype(np.float32)
    else:
        guesses += starts(now)
    tried = [
        fit_levels(
            now.log, now.seen, one, rounds=4, start_metal=metal, bare=bare, step=step
        )
        for one in guesses
    ]
    levels = max(tried, key=lambda one: one.fit)
    ink = density(now.log, levels)
    judged = replace(coat, kind="both", ink=ink, levels=levels)
    if coat.kind == "both":
        return judged
    # Nothing but metal was seen at first. What is found now is ink if it lies where
    # ink lay before, and else the fall of light.
    left = lay_over(ink, ink_was, now.seen, now.step_mm)
    return judged if left.alike >= TRACE else replace(judged, ink=np.zeros_like(ink))


def _size(step: Array) -> float:
    return float(np.linalg.norm(step.mean(axis=(1, 2))))


def _mean_seen(values: Array, seen: Array) -> NDArray[np.float64]:
    share = to_squares(seen)
    return np.asarray(to_squares(values * seen) / np.maximum(share, 1e-9))


def _of_light(now: Samples) -> list[str]:
    if now.clipped <= 0.15:
        return []
    return [
        f"glare covers {100 * now.clipped:.0f} % of the metal and hides what is under "
        "it; turn the plane or the lamp and take the photo again"
    ]


def _of_coat(coat: Coat, samples: Samples) -> list[str]:
    if coat.kind != "both":
        return []
    said = []
    if coat.faint:
        said.append(
            "the ink is too faint to be told from the metal surely; scribble thicker"
        )
    steep = np.hypot(*np.gradient(coat.ink))[samples.seen > 0.5] / samples.step_mm
    if steep.size and float(np.quantile(steep, STEEPEST)) < SHARP:
        said.append(
            "the photo is blurred: the scribble's lines have no sharp edges; hold the "
            "phone still and let it focus on the metal"
        )
    return said
