"""Is the paper dead? Only a fresh sheet of the same grit can say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import erf

import numpy as np
from numpy.typing import NDArray

from lapping.dose_seen import DOSES_UM
from lapping.grits import Grit
from lapping.job import Run
from lapping.rate_prior import LASTING_SHARE
from lapping.rates import RUN_SPREAD
from lapping.removal import Removal, Stage
from lapping.signs import Sign

Array = NDArray[np.float64]

DEAD_SHARE = 0.5
"""A sheet is dead when it cuts at less than half of a fresh one's rate. That paper is
changed too late rather than too soon is common practice, no source."""
LEAST_SHARE = 0.02
SURE, TOLD = 0.75, 3.0
"""How sure that must be, and by what factor the readings must have raised its odds."""
LATELY = (1, 2, 4, 8)
"""The sheet is judged by its last stage, and by so many together."""
YARD_MIDDLE = 50.0
"""About so old is a fresh sheet in the middle of a stage that is a yardstick."""
YARD_AGE = 200.0
"""A fresh sheet is a yardstick for so many of its first strokes."""
_LOG_DOSES = np.log(DOSES_UM)
_RATES = np.linspace(np.log(1e-4), np.log(2.0), 80)
_SHARES = np.linspace(np.log(LEAST_SHARE), 0.3, 60)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLeft:
    """How a used sheet cuts beside fresh ones: the share, and the chance it is dead.

    ``odds`` is by what factor the readings raised the odds of that.
    """

    share: float
    dead: float
    odds: float


def paper_signs(known: Removal) -> list[Sign]:
    """Say that the sheet in use is dead, by what fresh ones of its grit took off."""
    for left in sheet_left(known):
        if left.dead >= SURE and left.odds >= TOLD:
            run = known.stages[-1].runs[-1]
            strokes = run.sheet_age + run.strokes
            return [
                Sign(
                    name="dead paper",
                    says=(
                        f"this sheet of {run.grit.name} has done {strokes:.0f} strokes "
                        f"and cuts at about {100 * left.share:.0f} % of what a fresh "
                        "one did here"
                    ),
                )
            ]
    return []


def sheet_left(known: Removal) -> list[SheetLeft]:
    """Judge the sheet in use by its last stage, and by more of them together.

    Empty without a fresh sheet of the same grit to go by.
    """
    if not known.stages:
        return []
    last = known.stages[-1]
    run = last.runs[-1]
    if not _tells(last) or any(r.grit != run.grit for r in last.runs):
        return []
    yard = [s for s in known.stages[:-1] if _is_yard(s, run.grit)]
    if not yard or last.runs[0].sheet_age == 0:
        return []
    # A sheet that is dead stays dead: the more of it, the surer.
    on_sheet: list[Stage] = []
    for stage in reversed(known.stages):
        if not _same_sheet(stage, last) or stage in yard:
            break
        on_sheet.append(stage)
    lately = dict.fromkeys(min(n, len(on_sheet)) for n in LATELY)
    return [_share_left(known, yard, on_sheet[:n]) for n in lately if n]


def worn_out(known: Removal, run: Run) -> float:
    """Give the chance that a sheet cuts at less than half by its strokes alone.

    By how sheets have worn here, and by what is assumed of that before any was read.
    0 for a sheet that nobody said was fresh: its strokes are not known.
    """
    if run.sheet_age <= 0 or not run.aged_surely:
        return 0.0
    held = known.held
    share = (DEAD_SHARE - LASTING_SHARE) / (1 - LASTING_SHARE)
    needed = 100 * np.log(1 / share) / run.sheet_age
    u = np.sqrt(held.cov[:, 1, 1])
    over = (held.mean[:, 1] - needed) / (2**0.5 * u)
    return float(held.weight @ [(1 + erf(x)) / 2 for x in over])


def _share_left(
    known: Removal, yard: Sequence[Stage], stages: Sequence[Stage]
) -> SheetLeft:
    """Give the share of a fresh sheet's rate that is left, and how surely it is low."""
    fresh = np.zeros(_RATES.size)
    for stage in yard:
        fresh += np.log(_blurred(np.exp(_of_rate(known, stage))))
    fresh -= fresh.max()
    now = np.zeros((_RATES.size, _SHARES.size))
    age = 0.0
    for stage in stages:
        one = np.exp(_of_rate(known, stage))
        laid = np.interp((_RATES[:, None] + _SHARES).ravel(), _RATES, _blurred(one))
        now += np.log(np.maximum(laid.reshape(now.shape), 1e-300))
        age += stage.runs[0].sheet_age + sum(r.strokes for r in stage.runs) / 2
    worn = float(known.held.weight @ known.held.mean[:, 1])
    fades = np.exp(-max(worn, 0.0) * max(age / len(stages) - YARD_MIDDLE, 0.0) / 100)
    usual = np.log(LASTING_SHARE + (1 - LASTING_SHARE) * fades)
    beforehand = np.exp(-0.5 * ((_SHARES - usual) / RUN_SPREAD) ** 2)
    beforehand = beforehand / beforehand.sum() + 1 / _SHARES.size
    beforehand /= beforehand.sum()
    both = np.exp(fresh[:, None] + now - now.max()) * beforehand
    share = both.sum(axis=0) / both.sum()
    low = np.log(DEAD_SHARE) > _SHARES
    after, before = float(share[low].sum()), float(beforehand[low].sum())
    odds = (after / max(1 - after, 1e-9)) / (before / max(1 - before, 1e-9))
    return SheetLeft(share=float(np.exp(share @ _SHARES)), dead=after, odds=odds)


def _of_rate(known: Removal, stage: Stage) -> Array:
    """Give the log likelihood of each log rate, all gives of the paper together."""
    assert stage.seen is not None, "stages without are left out"
    mixed = known.held.weight @ np.exp(stage.seen.log_likelihood)
    strokes = sum(run.strokes for run in stage.runs)
    log_rate = _LOG_DOSES - np.log(strokes)
    return np.log(np.maximum(np.interp(_RATES, log_rate, mixed), 1e-12))


def _blurred(likelihood: Array) -> Array:
    """Let a rate differ from run to run as rates do."""
    apart = _RATES[:, None] - _RATES
    kernel = np.exp(-0.5 * (apart / RUN_SPREAD) ** 2)
    return np.asarray(kernel @ likelihood / kernel.sum(axis=1))


def _tells(stage: Stage) -> bool:
    return stage.seen is not None


def _is_yard(stage: Stage, grit: Grit) -> bool:
    first = stage.runs[0]
    return (
        _tells(stage)
        and all(r.grit == grit for r in stage.runs)
        and first.sheet_age == 0
        and first.aged_surely
        and stage.runs[-1].sheet_age + stage.runs[-1].strokes / 2 <= YARD_AGE
    )


def _same_sheet(stage: Stage, last: Stage) -> bool:
    """Say whether a stage was all on the sheet that is in use still."""
    ages = [r.sheet_age for r in (*stage.runs, *last.runs)]
    grits = {r.grit for r in (*stage.runs, *last.runs)}
    return _tells(stage) and len(grits) == 1 and all(a <= b for a, b in pairwise(ages))
