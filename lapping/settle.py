"""What to read next where the readings do not decide."""

from __future__ import annotations

import numpy as np

from lapping.answer import Answer
from lapping.places import place_words

EDGE_PATTERN = (
    "With a straightedge alone: both edges, the centre, three across and both "
    "diagonals, through common stations, the edge on two equal leaves, each line again "
    "with the edge turned end for end (docs/measuring.md)."
)


def to_settle(answer: Answer) -> str:
    """Say which line, gauge or place would decide; nothing where all is decided."""
    if answer.unseen:
        said = f"read {answer.next_line}." if answer.next_line else ""
        if any(s.method == "straightedge" for s in answer.sets):
            said = f"{said} {EDGE_PATTERN}"
        return said.strip()
    if "cannot tell" not in (answer.verdict, answer.working_verdict):
        return ""
    if 4 * answer.repeatability_um > answer.target_um:
        unit = answer.shown_in
        gauge, allowed = unit.said(answer.repeatability_um), answer.target_um
        return (
            f"a finer gauge: one that repeats to {gauge} cannot show "
            f"{unit.limit(allowed)} {unit.name}, whatever the face is."
        )
    surface = answer.surface
    p = surface.places
    worst = int(np.argmax(surface.sd_um[p:]))
    where = place_words(
        answer.face,
        float(surface.along_mm[p + worst]),
        float(surface.across_mm[p + worst]),
    )
    return f"read more places, first of all at the {where}: there is most doubt."
