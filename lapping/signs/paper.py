"""Is the paper dead? Only a fresh sheet of the same grit can say."""

from __future__ import annotations

import numpy as np

from lapping.removal.learnt import Removal
from lapping.removal.sheet_worn import LIKELY, sheet_left
from lapping.signs.sign import Sign

WORTH_U = 1.0
"""A dead sheet is a trouble where it left so many u of a reading undone, as mean depth;
what is less no reading of that gauge can show."""


def paper_signs(known: Removal) -> list[Sign]:
    """Say that the sheet in use is dead, by what fresh ones of its grit took off."""
    lefts = sheet_left(known)
    dead = max(lefts, key=lambda left: left.dead, default=None)
    if dead is None or dead.dead < LIKELY:
        return []
    u = float(np.median(known.stages[-1].after.heights.u_um))
    if (1 - dead.share) * dead.fresh_um < WORTH_U * u:
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
