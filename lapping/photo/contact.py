"""From the pixels of one photo, or of two, to the contact map of the face."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap, contact_map
from lapping.errors import BadInput
from lapping.face import Face, Zone
from lapping.photo.coats import tell_coat
from lapping.photo.compared import NOTHING_LEFT, UNLIKE, UNSURE, Before, from_two, lay
from lapping.photo.fields import Array
from lapping.photo.ink_doubts import of_ink, of_light
from lapping.photo.pairs import ALIKE
from lapping.photo.samples import Samples, sample, to_squares
from lapping.photo.unseen import seen_well
from lapping.photo.worn import ink_left

Pixels = NDArray[np.uint8]
U_ONE_LEVEL = 0.3
"""Uncertainty of the share rubbed off where there is no before photo and all looks
alike: worn off, thinned all over, or never there."""
MORE_DOUBT = 1.5
"""Glare, blur and faint ink make what is estimated so much less sure."""
LEAST_SEEN = 0.05
"""Less than this share of the metal shows too little to fit two levels to."""
LITTLE_GONE, ALIKE_IF_LITTLE = 25.0, 0.5
"""Two scribbles of which less than this share is gone, in percent, are alike by more
than this, or they are not one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """One photo of the face: its pixels and the face's corners in them (4, 2).

    ``covered`` are parts of the face that lie under something else in it.
    """

    pixels: Pixels
    corners_px: NDArray[np.float64]
    covered: tuple[Zone, ...] = ()

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
    now = _sampled(after, face, "after" if before else "")
    if before is None:
        return _from_one(now, face)
    first = lay(now, _sampled(before, face, "before"))
    if may_be_turned and first.laid.alike < ALIKE:
        turned = before.turned
        other = lay(now, sample(turned.pixels, turned.corners_px, face))
        if other.laid.alike > max(ALIKE, first.laid.alike):
            first = other
    return _by_both(now, first, face)


def _by_both(now: Samples, first: Before, face: Face) -> ContactMap:
    """Hold the photos against each other, unless they are of two scribbles."""
    both = from_two(now, first, face)
    told = both.contact_percent
    little = told is not None and told < LITTLE_GONE
    if first.laid.alike >= (ALIKE_IF_LITTLE if little else ALIKE):
        return both
    alone = _from_one(now, face)
    shares = [one.contact_percent or 0.0 for one in (both, alone)]
    if min(shares) >= NOTHING_LEFT or tell_coat(now).kind != "both":
        return replace(both, warnings=(UNSURE, *both.warnings))
    # Against another scribble nearly all of it would look rubbed off.
    return replace(alone, warnings=(UNLIKE, *alone.warnings))


def _sampled(view: View, face: Face, which: str) -> Samples:
    """Sample a photo of the face; BadInput where it shows next to nothing of it."""
    samples = sample(view.pixels, view.corners_px, face, view.covered)
    if samples.seen.sum() < LEAST_SEEN * samples.metal.sum():
        photo = f"photo from {which}" if which else "photo"
        message = (
            f"the {photo} shows next to nothing of the face: glare, black shadow, or "
            "outside the picture; take it again from straight above, and see where "
            "the corners are"
        )
        raise BadInput(message)
    return samples


def _from_one(now: Samples, face: Face) -> ContactMap:
    coat = tell_coat(now)
    seen = seen_well(now, coat.levels.metal, coat.step)
    left, doubt = coat.ink, np.full(seen.shape, U_ONE_LEVEL)
    warnings = of_light(now)
    if coat.kind == "both":
        warnings += of_ink(coat.ink, coat.faint, now)
        left, doubt = ink_left(coat.ink, seen, now.step_mm)
        doubt = doubt * (MORE_DOUBT if warnings else 1.0)
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


def _mean_seen(values: Array, seen: Array) -> NDArray[np.float64]:
    share = to_squares(seen)
    return np.asarray(to_squares(values * seen) / np.maximum(share, 1e-9))
