"""Is the paper dead? Only a fresh sheet of the same grit can say."""

from __future__ import annotations

from lapping.removal import Removal
from lapping.sheet_worn import sheet_left
from lapping.signs import Sign

LIKELY = 0.65
"""A sheet is called dead when that is so likely: a new one costs less than strokes that
take nothing off."""


def paper_signs(known: Removal) -> list[Sign]:
    """Say that the sheet in use is dead, by what fresh ones of its grit took off."""
    lefts = sheet_left(known)
    dead = max(lefts, key=lambda left: left.dead, default=None)
    if dead is None or dead.dead < LIKELY:
        return []
    run = known.stages[-1].runs[-1]
    strokes = run.sheet_age + run.strokes
    return [
        Sign(
            name="dead paper",
            says=(
                f"this sheet of {run.grit.name} has done {strokes:.0f} strokes "
                f"and cuts at about {100 * dead.share:.0f} % of what a fresh one did "
                "here"
            ),
        )
    ]
