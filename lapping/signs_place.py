"""Single places that stand proud, and single readings that cannot be right."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lapping.glance import SAME_MM, Glance
from lapping.observations import form_terms, plane_terms
from lapping.places import place_words
from lapping.removal import Removal
from lapping.signs import Sign

Array = NDArray[np.float64]

SURE = 5.0
"""A place stands out when it does by so many u, in each of two looks."""
SHARE = 0.2
"""And by this share of the target, or it is no trouble."""
ALONE = 0.4
"""Its neighbours stand out by no more than this share of what it does: a bow is no
proud place."""
ROUNDS = 10


def place_signs(
    glances: Sequence[Glance], known: Removal, target_um: float
) -> list[Sign]:
    """Name proud places that two looks show, and readings that no wear explains."""
    found = []
    last = glances[-1]
    if len(glances) > 1 and not last.unseen:
        before = stands_out(glances[-2], target_um)
        for along, across, um in stands_out(last, target_um):
            if any(np.hypot(a - along, c - across) <= SAME_MM for a, c, _ in before):
                where = place_words(last.surface.face, along, across)
                found.append(
                    Sign(
                        name="proud place",
                        says=f"{where} stands {um:.0f} µm proud of all round it",
                        um=um,
                        where=(where,),
                        places_mm=((along, across),),
                    )
                )
    return found + _slips(last, known)


def stands_out(one: Glance, target_um: float) -> list[tuple[float, float, float]]:
    """Give single places that stand proud of a smooth face: along, across, µm."""
    heights = one.heights
    left = smooth_residual(one)
    u = np.maximum(heights.u_um, 1e-9)
    found = []
    for i in np.nonzero((left > SURE * u) & (left > SHARE * target_um))[0]:
        off = np.hypot(
            heights.along_mm - heights.along_mm[i],
            heights.across_mm - heights.across_mm[i],
        )
        near = np.argsort(off, kind="stable")[1:4]
        if (left[near] < np.maximum(ALONE * left[i], 2 * u[near])).all():
            found.append(
                (
                    float(heights.along_mm[i]),
                    float(heights.across_mm[i]),
                    float(left[i]),
                )
            )
    return found


def smooth_residual(one: Glance) -> Array:
    """Give the heights less a second-degree face that single places do not pull.

    Least squares with the weights of Tukey's biweight (Beaton and Tukey,
    Technometrics 16, 1974), in ten rounds.
    """
    heights = one.heights
    face = one.surface.face
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
    return [
        Sign(
            name="reading in doubt",
            says=(
                f"{place_words(last.surface.face, along, across)} "
                f"{'fell' if off > 0 else 'rose'} by {abs(off):.0f} u beside the rest "
                "of the face between two readings, and no stroke does that: one of "
                "the two is a slip"
            ),
            where=(place_words(last.surface.face, along, across),),
            places_mm=((along, across),),
        )
        for along, across, off in stage.seen.slips
    ]
