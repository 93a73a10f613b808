"""Is the face drawn to a shape of its own by the lap or the hand?"""

from __future__ import annotations

import numpy as np

from lapping.changes import change
from lapping.dose_seen import DRAWN_UM
from lapping.job import Lap
from lapping.rates import Beliefs
from lapping.signs import Sign
from lapping.signs_form import Seen, lap_or_hand

FEWEST_LOOKS = 3
BELOW = 2.0
"""A face that is less than that by so many u is past being drawn to it."""
DRAWN_SHARE, DRAWN_SURE = 0.25, 0.8
"""Lap and hand draw the face to a shape of this share of the target and more, when the
looks make that so sure."""

STUCK_LOOKS, STUCK_TIMES, STUCK_STROKES = 3, 1.5, 200.0
"""A form is stuck when after so many looks, and so many times the strokes that are
said to be enough, and no fewer than these, it is what it was."""
STILL = 1.5
"""It is what it was when it changed by less than so many u."""


def stuck_signs(
    seen: Seen, enough: float, lap: Lap | None, target_um: float
) -> list[Sign]:
    """Say that a bow or the twist stays, whatever strokes are made.

    ``enough`` is the most strokes that should be left. A face so slow that nobody
    could tell is not stuck: the strokes said to be left are many then.
    """
    last = seen.glances[-1]
    form = last.form_um - [seen.heat_um(last), 0.0, 0.0]
    for back in range(STUCK_LOOKS, len(seen.glances)):
        before = seen.glances[-1 - back]
        runs = [
            run
            for stage in seen.stages
            if before.look.number <= stage.before.look.number
            for run in stage.runs
        ]
        strokes = sum(run.strokes for run in runs)
        if strokes < max(STUCK_TIMES * enough, STUCK_STROKES):
            continue
        moved = change(before, last, seen.slips)
        if moved is None or not any(run.fresh for run in runs):
            continue
        large = np.abs(form) >= DRAWN_SHARE * target_um
        still = np.abs(moved.form_um) < STILL * moved.form_u_um
        for part in np.nonzero(large & still)[0]:
            um = float(form[part])
            what = "twist" if part == 2 else "crown" if um > 0 else "hollow"
            sign = Sign(
                name="shape stays",
                says=(
                    f"{strokes:.0f} strokes left a {what} of {abs(um):.0f} µm as it "
                    "was, and on a flat lap under a steady hand they had been enough"
                ),
                um=abs(um),
            )
            return [sign, *lap_or_hand(seen, int(part), um, lap)]
        return []
    return []


def drawn_signs(
    seen: Seen, held: Beliefs, lap: Lap | None, target_um: float
) -> list[Sign]:
    """Say to which bow or twist lap and hand draw the face, once the stages show it.

    A face that comes down to a shape and stays there never grows, and is never done.
    """
    if len(seen.glances) < FEWEST_LOOKS:
        return []
    weight = held.weight
    last = seen.glances[-1]
    form = last.form_um - [seen.heat_um(last), 0.0, 0.0]
    for part in range(3):
        way = float(np.sign(form[part]))
        drawn = way * DRAWN_UM[:, part]
        large = drawn >= DRAWN_SHARE * target_um
        likely = float(weight[large].sum())
        if likely < DRAWN_SURE or abs(form[part]) < DRAWN_SHARE * target_um / 2:
            continue
        um = float(weight[large] @ drawn[large]) / likely
        if way * form[part] < um - BELOW * float(last.form_u_um[part]):
            continue  # it has come down below that already
        what = "twist" if part == 2 else f"{'crown' if way > 0 else 'hollow'}"
        found = [
            Sign(
                name="shape stays",
                says=(
                    f"all looks together say that the face is drawn to a {what} of "
                    f"about {um:.0f} µm, and will stay there: the lap's own shape or a "
                    "rocking hand"
                ),
                um=um,
            )
        ]
        return found + lap_or_hand(seen, part, way * um, lap)
    return []
