"""How sure an answer is, and where the face stands high, in words for advice."""

from __future__ import annotations

import numpy as np

from lapping.advice.case import Case
from lapping.places import place_words
from lapping.words.gauge import beyond_leaves

PLACES = 3
BEYOND_LEAVES = ("the centre line, by straightedge or dial",)


def doubt_words(case: Case) -> str:
    """Say what is known of the flatness, with its doubt, in one sentence."""
    found = case.answer
    if found is None:
        return "flatness not measured"
    parts, unit = [], found.shown_in
    low, high = found.likely.interval_um
    if found.likely.likely_um is None or high is None:
        parts.append(
            f"at least {unit.said(low)}, upper limit not known: "
            f"{' and '.join(found.unseen)} not measured"
        )
    else:
        parts.append(
            f"whole face likely {unit.range(found.likely.likely_um, low, high)}"
        )
    if found.face.kind == "sole" and not found.unseen:
        together = found.working.together_um, *found.working.interval_um
        parts.append(f"the zones that matter {unit.range(*together)}")
    if case.chance is not None:
        parts.append(f"chance of being done {_percent(case.chance)}")
    if case.removal.held.learnt == 0 and case.left is not None and not case.done:
        parts.append(
            "the rate of removal is an assumption so far, an order of magnitude"
        )
    return "; ".join(parts)


def _percent(chance: float) -> str:
    if chance >= 0.99:
        return "over 99 %"
    if chance <= 0.01:
        return "under 1 %"
    return f"{int(100 * chance)} %"


def where_high(case: Case) -> tuple[str, ...]:
    """Name the places that stand high and should bear, the surest first."""
    found = case.answer
    if found is None or found.unseen:
        return ()
    spots = sorted(found.high_spots, key=lambda s: (not s.sure, -s.height_um))
    words = [
        place_words(found.face, s.along_mm, s.across_mm)
        for s in spots
        if not beyond_leaves(found, s.along_mm, s.across_mm)
    ]
    return tuple(dict.fromkeys(words))[:PLACES]


def most_doubted(case: Case) -> tuple[str, ...]:
    """Name the place of which least is known, or what reaches it if leaves do not."""
    found = case.answer
    if found is None:
        return ()
    surface = found.surface
    p = surface.places
    worst = p + int(np.argmax(surface.sd_um[p:]))
    at = float(surface.along_mm[worst]), float(surface.across_mm[worst])
    if beyond_leaves(found, *at):
        return BEYOND_LEAVES
    return (place_words(found.face, *at),)
