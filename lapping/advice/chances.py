"""What a face's chance of being done proves, and what would change it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.answer import Answer, answer
from lapping.errors import LappingError
from lapping.face import Face
from lapping.observations import scaled
from lapping.removal.excess import excess
from lapping.removal.slips import without
from lapping.surface.uncertainty import COVER

Array = NDArray[np.float64]
MATERIAL = 2.0
"""Flatness that readings in doubt make so many times larger is not worth acting on."""
Standing = Literal["done", "not done", "in doubt"]


def chance_within(found: Answer, drawn_um: Array | None = None) -> float | None:
    """Give the chance that a face is done; of a sole the zones that matter may do.

    That of the surfaces the readings leave possible. The verdict's own is higher where
    it is small, because what may lie between readings must not prove a face bad; the
    next action has to be right more often than not. ``drawn_um`` (draws, metal grid)
    are surfaces of which more is known, as `worn_between` gives them.
    """
    if found.unseen:
        return found.probability
    return cool_chance(found, 0.0, found.target_um, drawn_um)


def is_proved(found: Answer) -> bool:
    """Say whether the verdicts of the answer itself prove the face done."""
    if found.verdict == "flat":
        return True
    return found.face.kind == "sole" and found.working_verdict == "flat"


def is_sure(chance: float | None) -> bool:
    """Say whether a chance proves a face done (ISO 14253-1 in spirit)."""
    return chance is not None and chance >= COVER


def standing(chance: float | None) -> Standing:
    """Say what a chance of being done proves: either, or neither."""
    if chance is None:
        return "in doubt"
    if is_sure(chance):
        return "done"
    # Rounding of 1 - 0.95 must not decide a case on the border.
    return "not done" if chance <= 1 - COVER + 1e-12 else "in doubt"


def cool_chance(
    found: Answer, crown_um: float, target_um: float, drawn_um: Array | None = None
) -> float:
    """Give the chance if the face had so much less crown along than was read."""
    p = found.surface.places
    a, _ = scaled(found.face, found.surface.along_mm[p:], found.surface.across_mm[p:])
    drawn = found.surface.draws_um[:, p:] if drawn_um is None else drawn_um
    drawn = drawn + crown_um * a**2
    return share_within(found.face, drawn, target_um)


def share_within(face: Face, drawn_um: Array, target_um: float) -> float:
    """Give the share of surfaces (draws, metal grid) that are done."""
    return float(np.mean(excess(face, drawn_um, target_um) <= 1.0))


def decided_by(
    found: Answer, places: Sequence[tuple[float, float]], target_um: float
) -> bool:
    """Say whether the next action would be another without the readings of places.

    So it is where the face would be so much flatter that the strokes are not worth
    telling.
    """
    if not places:
        return False
    try:
        other = answer([without(s, places) for s in found.sets], target_um=target_um)
    except (LappingError, ValueError):
        return True
    if standing(chance_within(other)) != standing(chance_within(found)):
        return True
    likely, without_um = found.likely.likely_um, other.likely.likely_um
    if likely is None or without_um is None:
        return False
    return not 1 / MATERIAL < likely / max(without_um, 1e-9) < MATERIAL


def surface_without(
    found: Answer, places: Sequence[tuple[float, float]], count: int = 40
) -> Array | None:
    """Give surfaces on the metal grid as they would be without the readings of places.

    None where too little is left to tell.
    """
    try:
        other = answer([without(s, places) for s in found.sets])
    except (LappingError, ValueError):
        return None
    if other.unseen:
        return None
    every = max(1, len(other.surface.draws_um) // count)
    return np.asarray(other.surface.draws_um[::every, other.surface.places :])
