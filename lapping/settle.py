"""What to read next where the readings do not decide."""

from __future__ import annotations

import numpy as np

from lapping.answer import Answer
from lapping.gauge_words import beyond_leaves, finer_words, gauge_words, is_coarse
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
    if is_coarse(answer):
        said = gauge_words(answer)
        return f"a finer gauge: {said}; to help: {finer_words(answer)}."
    surface = answer.surface
    p = surface.places
    worst = int(np.argmax(surface.sd_um[p:]))
    at = float(surface.along_mm[p + worst]), float(surface.across_mm[p + worst])
    if beyond_leaves(answer, *at):
        return (
            "lay a straightedge along the centre or use a dial: leaves do not reach "
            "where there is most doubt."
        )
    where = place_words(answer.face, *at)
    return f"read more places, first of all at the {where}: there is most doubt."
