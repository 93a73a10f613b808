"""Does the face keep a bow that the same paper should have taken off by now?"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from lapping.removal.changes import change
from lapping.removal.job import Lap
from lapping.removal.learnt import Stage, by_flat_lap
from lapping.removal.rates import Beliefs, Prior, expected
from lapping.signs.drawn import DRAWN_SHARE
from lapping.signs.form import Seen, lap_or_hand
from lapping.signs.sign import Sign

ALONG = 0
"""Of bow along, bow across and twist, the one looked at."""
STAGES, FRESH_SHEETS = 6, 3
"""A shape stays if it did in so many stages on one grit, and fresh sheets of it made no
difference: in fewer it cannot be told from a slow sheet and a reading that is off."""
CAUTION = 1.0
"""Paper is taken to cut slower than was believed by so many standard deviations."""
CLEAR, LEFT = 4.0, 0.5
"""What should have come off is more than so many u, and less than this share of it
did, twice its own u counted."""


def stuck_signs(
    seen: Seen, prior: Prior, lap: Lap | None, target_um: float
) -> list[Sign]:
    """Say that the bow along stays where a flat lap would have brought it down.

    What it should have lost is reckoned by what the papers did before: later stages
    alone cannot tell paper that has stopped cutting from a lap that has this shape.
    Nothing is said of a twist, which a flat lap takes off slower than is reckoned.
    """
    last = seen.glances[-1]
    unit = last.look.shown_in
    um = float(last.form_um[ALONG]) - seen.heat_um(last)
    way = float(np.sign(um))
    if abs(um) - 2 * float(last.form_u_um[ALONG]) < DRAWN_SHARE * target_um:
        return []
    stages = _to_the_last(seen)
    for many in range(STAGES, len(stages) + 1):
        since = stages[-many:]
        due = -way * _due(since, prior)
        lost = _lost(seen, since[0], way)
        if lost is None or due < max(CLEAR * lost[1], DRAWN_SHARE * target_um):
            continue
        if lost[0] + 2 * lost[1] < LEFT * due:
            strokes = sum(run.strokes for stage in since for run in stage.runs)
            return [
                Sign(
                    name="shape stays",
                    says=(
                        f"the {'crown' if um > 0 else 'hollow'} of "
                        f"{unit.said(abs(um))} did not come down in the last "
                        f"{strokes:.0f} strokes, fresh sheets among them, and should "
                        f"have by about {unit.bare(due)}: the lap's own shape or a "
                        "rocking hand"
                    ),
                    um=abs(um),
                ),
                *lap_or_hand(seen, ALONG, um, lap),
            ]
    return []


def _to_the_last(seen: Seen) -> list[Stage]:
    """Give the stages on this lap and on the newest grit, up to the last look."""
    looks = {one.look.number for one in seen.glances}
    found: list[Stage] = []
    for stage in reversed(seen.stages):
        same_lap = {stage.before.look.number, stage.after.look.number} <= looks
        runs = (*stage.runs, *(run for one in found for run in one.runs))
        if not same_lap or len({run.grit for run in runs}) > 1:
            break
        found.insert(0, stage)
    return found


def _due(stages: list[Stage], prior: Prior) -> float:
    """Give how a flat lap would have changed the bow along in some stages.

    Nothing where no two sheets were fresh.
    """
    fresh = sum(run.fresh for stage in stages for run in stage.runs)
    if fresh < FRESH_SHEETS:
        return 0.0
    return sum(_flat_lap(stages[0].held, stage, prior) for stage in stages)


def _flat_lap(held: Beliefs, stage: Stage, prior: Prior) -> float:
    """Give what the strokes of a stage, as they cut before, would have done."""
    if stage.seen is None:
        return 0.0
    should = expected(held, stage.runs, prior)
    slow = replace(should, mean=should.mean - CAUTION * should.spread)
    return float(by_flat_lap(held, slow, stage.seen, as_seen=False)[ALONG])


def _lost(seen: Seen, first: Stage, way: float) -> tuple[float, float] | None:
    """Give by how much the bow along came down since a stage began, and its u."""
    before, last = first.before, seen.glances[-1]
    moved = change(before, last, seen.slips)
    if moved is None:
        return None
    warmer = seen.heat_um(last) - seen.heat_um(before)
    u = float(np.hypot(moved.form_u_um[ALONG], warmer / 2))
    return -way * (float(moved.form_um[ALONG]) - warmer), u
