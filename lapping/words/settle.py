"""What to read next where the readings do not decide."""

from __future__ import annotations

import numpy as np

from lapping.answer import Answer
from lapping.places import place_words
from lapping.words.figures import listed
from lapping.words.gauge import beyond_leaves, finer_words, gauge_words, is_coarse

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
    if answer.at_odds:
        return (
            "check each set by itself, and together only sets of one state of the "
            "face; if both are of one state, read again where they disagree."
        )
    if "cannot tell" not in (answer.verdict, answer.working_verdict):
        return ""
    if answer.unread:
        return f"read the {listed(answer.unread)} too."
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
    return (
        f"read more places, first of all here: {_most_doubtful(answer)}, where there "
        "is most doubt."
    )


def words_read(answer: Answer) -> frozenset[str]:
    """Name the places where readings were taken."""
    return frozenset(
        place_words(answer.face, along_mm, across_mm)
        for along_mm, across_mm in zip(
            *(column.tolist() for column in answer.places_mm), strict=True
        )
    )


def _most_doubtful(answer: Answer) -> str:
    """Name the place of most doubt that was not read, or of all where all were."""
    surface = answer.surface
    p, read = surface.places, words_read(answer)
    names = [
        place_words(
            answer.face, float(surface.along_mm[i]), float(surface.across_mm[i])
        )
        for i in p + np.argsort(-surface.sd_um[p:], kind="stable")
    ]
    return next((one for one in names if one not in read), names[0])
