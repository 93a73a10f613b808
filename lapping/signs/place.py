"""Single places that stand proud, and single readings that cannot be right."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lapping.observations import form_terms, plane_terms
from lapping.places import place_words
from lapping.removal.changes import SAME_MM
from lapping.removal.glance import Glance
from lapping.removal.learnt import Removal
from lapping.signs.sign import Sign
from lapping.surface.kriging import matern52

Array = NDArray[np.float64]

CLEAR, SURE = 3.0, 7.0
"""A place stands out when it does by so many u in each of two looks, and by so many in
both together."""
SHARE = 0.1
"""And by this share of the target, or it is no trouble."""
IN_LINE = 0.3
"""A place is in line with another when it is off to the side by less than this share of
how far it is ahead."""
LENGTH_SHARE = 0.3
"""Over this share of the length a face is about as high as beside it."""
ROUNDS = 10


def place_signs(
    glances: Sequence[Glance], known: Removal, target_um: float
) -> list[Sign]:
    """Name proud places that two looks show, and readings that no wear explains."""
    found = []
    last = glances[-1]
    if len(glances) > 1 and not last.unseen:
        before = stands_out(glances[-2], target_um)
        for along, across, um, u in stands_out(last, target_um):
            if any(
                np.hypot(a - along, c - across) <= SAME_MM
                and um / u + then / u_then > SURE
                # No place grows: one that seems to was a slip in one of the two.
                and um - then < CLEAR * np.hypot(u, u_then)
                for a, c, then, u_then in before
            ):
                where = place_words(last.face, along, across)
                size = last.look.shown_in.said(um)
                found.append(
                    Sign(
                        name="proud place",
                        says=f"{where} stands {size} proud of all round it",
                        um=um,
                        where=(where,),
                        places_mm=((along, across),),
                    )
                )
    return found + _slips(last, known)


def stands_out(
    one: Glance, target_um: float
) -> list[tuple[float, float, float, float]]:
    """Give single places that stand proud of all round them: along, across, µm, u.

    Each place is held against what the others say of it, for a face as uneven as this
    one is in the middle of its places (leave-one-out residuals of a normal model:
    Rasmussen and Williams 2006, section 5.4.2).
    """
    heights = one.heights
    left = smooth_residual(one)
    uneven = 1.4826 * float(np.median(np.abs(left)))
    length = LENGTH_SHARE * one.face.length_mm
    cov = uneven**2 * matern52(heights.along_mm, heights.across_mm, length)
    inverse = np.linalg.inv(cov + np.diag(heights.u_um**2))
    u = 1 / np.sqrt(np.diagonal(inverse))
    proud = (inverse @ left) * u**2
    clear = np.maximum(CLEAR * u, SHARE * target_um)
    for axis in (0, 1):
        over, noise = _over_line(one, left, axis)
        least = np.maximum(CLEAR * noise * heights.u_um, SHARE * target_um)
        proud = np.where(over > least, np.minimum(proud, over), 0.0)
    return [
        (
            float(heights.along_mm[i]),
            float(heights.across_mm[i]),
            float(proud[i]),
            float(u[i]),
        )
        for i in np.nonzero((proud > clear) & (left > clear))[0]
    ]


def _over_line(one: Glance, left: Array, axis: int) -> tuple[Array, Array]:
    """Give how far each place stands over the line through its neighbours, one way.

    With it the noise of that, as a factor of the noise of one reading. On the edge of
    a land that was lapped flat one of the two ways shows nothing. Where there are no
    two neighbours in line there is nothing to go by: infinity.
    """
    places = np.stack([one.heights.along_mm, one.heights.across_mm])
    here, beside = places[axis], places[1 - axis]
    found = np.full(left.size, np.inf)
    noise = np.ones(left.size)
    for i in range(left.size):
        off = here - here[i]
        in_line = np.abs(beside - beside[i]) <= IN_LINE * np.abs(off)
        near = np.nonzero(in_line & (np.abs(off) > SAME_MM))[0]
        near = near[np.argsort(np.abs(off[near]), kind="stable")]
        if near.size < 2:
            continue
        # One to each side, else the two next to it on one side.
        first = near[0]
        others = near[off[near] * off[first] < 0]
        second = others[0] if others.size else near[1]
        if off[second] == off[first]:
            continue
        share = off[first] / (off[first] - off[second])
        found[i] = left[i] - (left[first] * (1 - share) + left[second] * share)
        noise[i] = np.sqrt(1 + (1 - share) ** 2 + share**2)
    return found, noise


def smooth_residual(one: Glance) -> Array:
    """Give the heights less a second-degree face that single places do not pull.

    Least squares with the weights of Tukey's biweight (Beaton and Tukey,
    Technometrics 16, 1974), in ten rounds.
    """
    heights = one.heights
    face = one.face
    columns = np.column_stack(
        [
            plane_terms(face, heights.along_mm, heights.across_mm),
            form_terms(face, heights.along_mm, heights.across_mm),
        ]
    )
    weight = np.ones(len(heights))
    left = heights.height_um
    for _ in range(ROUNDS):
        root = np.sqrt(weight)
        fit = np.linalg.lstsq(
            columns * root[:, None], heights.height_um * root, rcond=None
        )[0]
        left = heights.height_um - columns @ fit
        scale = max(1.4826 * float(np.median(np.abs(left))), 1e-9)
        weight = np.square(np.clip(1 - (left / (4.685 * scale)) ** 2, 0.0, None))
    return left


def _slips(last: Glance, known: Removal) -> list[Sign]:
    stage = known.stages[-1] if known.stages else None
    if stage is None or stage.seen is None or stage.after is not last:
        return []
    if len(last.look.sets) > 1:
        # Read again, and still so: it was the reading before that was a slip.
        return []
    return [
        Sign(
            name="reading in doubt",
            says=(
                f"{place_words(last.face, along, across)} "
                f"{'fell' if off > 0 else 'rose'} by {abs(off):.0f} u beside the rest "
                "of the face between two readings, and no stroke does that: one of "
                "the two is a slip"
            ),
            where=(place_words(last.face, along, across),),
            places_mm=((along, across),),
        )
        for along, across, off in stage.seen.slips
    ]
