"""The after photo held against the one before: what was rubbed off in between."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap, contact_map
from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.coats import Coat, tell_coat
from lapping.photo.fields import Array
from lapping.photo.ink import channel_weights, density, fit_levels, mean_of
from lapping.photo.ink_doubts import of_ink, of_light
from lapping.photo.kept import Kept, darkness, kept_ink
from lapping.photo.pairs import ALIKE, Laid, darker, lay_over, over
from lapping.photo.samples import TO_LIGHT, Samples, to_squares
from lapping.photo.unseen import seen_well

U_PAIR, U_DOUBTED = 0.07, 0.14
"""Uncertainty of the share rubbed off a small square where a before photo was there,
and where glare, blur or faint ink is warned of besides."""
FEWEST = 500
"""Fewer samples than this that both photos show tell nothing."""
HIDDEN = 0.01
"""Share of samples found to be hidden from which the comparison is made once more."""
SAME = 0.02
"""Photos that differ nowhere by more than this, in log brightness, are one photo."""
GAINED, SOME_GAINED = 0.02, 0.009
"""Ink never grows: from this mean gain over the cells, as a share of a full coat, the
photos are swapped, and from less they are doubted."""
NOTHING_LEFT = 90.0
"""Contact in percent from which two scribbles need not be alike: hardly any of the one
after is left to know it by."""
UNSURE = (
    "too little of the scribble is seen in the photo from after to tell whether the "
    "one from before belongs to it"
)
UNLIKE = (
    "the photos from before and after do not match: their scribbles differ, so the one "
    "after was judged by itself"
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Before:
    """The before photo's samples and ink, and how it lies over the after photo.

    ``ink`` is how dark each sample of the after photo is, 1 being full ink.
    """

    samples: Samples
    coat: Coat
    weights: NDArray[np.float64]
    laid: Laid
    ink: Array


def lay(now: Samples, was: Samples) -> Before:
    """Find the ink of the before photo, and lay it over the after photo."""
    first = tell_coat(was, scribbled=True)
    if first.kind != "both":
        coat = tell_coat(now)
        first = _as_inked(was, coat) if coat.kind == "both" else first
    weights = channel_weights(first.levels, was.seen)
    laid, ink = Laid(shift=np.eye(2, 3), alike=0.0), np.zeros_like(now.seen)
    if first.kind == "both":
        metal = np.exp(TO_LIGHT * first.levels.metal)
        full = 1 - np.exp(TO_LIGHT * mean_of(first.levels.step, was.seen))
        whole = float(weights @ full / weights.sum())
        ink = darkness(now.light / metal, weights, now.seen) / whole
        lines, lines_was = (
            darker(one.light, weights, one.seen, now.step_mm) for one in (now, was)
        )
        laid = lay_over(lines, lines_was, now.seen, now.step_mm)
    return Before(samples=was, coat=first, weights=weights, laid=laid, ink=ink)


def from_two(now: Samples, before: Before, face: Face) -> ContactMap:
    """Work out where the face bore from what became of the ink.

    BadInput where both photos are one, or swapped, or neither shows a scribble.
    """
    _refuse_one_photo(now, before.samples)
    if before.coat.kind != "both":
        message = (
            "no scribble is seen in either photo, so nothing can be told from them: "
            "scribble thicker, or with a colour that the metal has not"
        )
        raise BadInput(message)
    warnings = of_light(now)
    alike = before.laid.alike >= ALIKE
    edges = before.ink if alike else before.coat.ink
    warnings += of_ink(edges, before.coat.faint, now)
    seen, kept = _compare(now, before)
    if kept is None:
        # Glare and shadow hide nearly all of it in one of the two.
        seen = np.zeros_like(seen)
        nothing = to_squares(seen)
        kept = Kept(kept=nothing, was=nothing, bare=now.light, gained=0.0)
    elif alike and kept.gained > GAINED:
        message = (
            "the two photos look swapped, there is more ink in the one after than in "
            "the one before: give them the other way round"
        )
        raise BadInput(message)
    if alike and kept.gained > SOME_GAINED:
        warnings.append(
            "in places there is more ink in the photo after than in the one before: "
            "see whether they are swapped, and whether both are of the same scribble"
        )
    return contact_map(
        face,
        ink=kept.was * kept.kept,
        was=kept.was,
        seen=to_squares(seen),
        u=U_DOUBTED if warnings else U_PAIR,
        baseline="before photo",
        warnings=warnings,
    )


def _compare(now: Samples, before: Before) -> tuple[Array, Kept | None]:
    """Compare what both photos show; None where that is too little."""
    shift, levels = before.laid.shift, before.coat.levels
    well = seen_well(before.samples, levels.metal, levels.step)
    seen = now.seen * over(well, shift)
    if (seen > 0.5).sum() < FEWEST:
        return seen, None
    metal = np.exp(TO_LIGHT * _all_over(levels.metal, shift))
    after = now.light / metal
    first = _all_over(before.samples.light, shift) / metal
    kept = kept_ink(after, first, seen, before.weights)
    step = _all_over(levels.step, shift)
    light = np.log(np.maximum(kept.bare * metal, 1e-6)) / TO_LIGHT
    clear = np.where(seen_well(now, light, step) > 0, seen, np.float32(0))
    if (clear > 0.5).sum() < FEWEST:
        return clear, None
    if (clear > 0).sum() < (1 - HIDDEN) * (seen > 0).sum():
        kept = kept_ink(after, first, clear, before.weights)
    return clear, kept


def _refuse_one_photo(now: Samples, was: Samples) -> None:
    if np.abs(now.log - was.log).max() >= SAME:
        return
    message = (
        "both photos are the same picture: give the one from before the strokes, and "
        "the one from after"
    )
    raise BadInput(message)


def _as_inked(was: Samples, coat: Coat) -> Coat:
    """Measure a before photo without gaps by the after photo's step."""
    step = coat.levels.step
    levels = fit_levels(was.log, was.seen, np.ones_like(was.seen), rounds=8, step=step)
    return replace(coat, ink=density(was.log, levels), levels=levels)


def _all_over(fields: Array, shift: Array) -> Array:
    return np.stack([over(one, shift) for one in fields])
