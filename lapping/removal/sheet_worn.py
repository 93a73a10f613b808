"""How a used sheet cuts beside a fresh one: by its strokes, and by what it took off.

How fast a sheet wears is the one unknown: of its first rate a sheet of some age has a
share left that falls with its strokes (`rates`). Before this sheet was put on, other
sheets and an assumption told something of that; every stage on it tells more, held
against what fresh sheets of its grit took off here.

All is done for each give of the paper and each shape that lap and hand may draw to, and
only the answers are weighed together. Where the whole face bears, a look shows only
dose over give; since both stages have one give, their ratio shows all the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import erf

import numpy as np
from numpy.typing import NDArray

from lapping.grits import Grit
from lapping.removal.dose_seen import DOSES_UM
from lapping.removal.job import Run
from lapping.removal.learnt import Removal, Stage
from lapping.removal.rates import (
    RUN_SPREAD,
    SHEET_SPREAD,
    Beliefs,
    expected,
    fresh_strokes,
)
from lapping.wear.rate_prior import LASTING_SHARE

Array = NDArray[np.float64]

DEAD_SHARE = 0.5
"""A sheet is dead when it cuts at less than half of a fresh one's rate. That paper is
changed too late rather than too soon is common practice, no source."""
LIKELY, EVEN = 0.65, 0.5
"""A sheet is taken for dead when that is so likely beside fresh ones, or even so by its
strokes alone: a new one costs less than strokes that take nothing off."""
LATELY = (1, 2, 4, 8)
"""The sheet is judged by its last stage, and by so many together."""
YARD_AGE = 200.0
"""A fresh sheet is a yardstick for so many of its first strokes."""
LEAST_WEAR = 0.02
"""Log loss in a hundred strokes of a sheet that hardly wears."""
FAILS = 0.1
"""So many sheets fail in a way of their own: swarf, glue, water."""
NEGLIGIBLE = 1e-3
_LOG_DOSES = np.log(DOSES_UM)
_RATES = np.linspace(np.log(1e-4), np.log(4.0), 100)
_WEARS = np.geomspace(LEAST_WEAR, 8.0, 40)
_FINE = np.linspace(_LOG_DOSES[0] - 1.0, _LOG_DOSES[-1] + 1.0, 100)
_BLUR = np.exp(-0.5 * ((_FINE[:, None] - _FINE) / RUN_SPREAD) ** 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLeft:
    """How a used sheet cuts beside fresh ones: the share, and the chance it is dead.

    ``fresh_um`` is the mean depth a fresh one would have taken off in the last stage.
    """

    share: float
    dead: float
    fresh_um: float


def sheet_left(known: Removal) -> list[SheetLeft]:
    """Judge the sheet in use by its last stage, and by more of them together.

    Empty without a fresh sheet of the same grit to go by.
    """
    if not known.stages:
        return []
    last = known.stages[-1]
    grit = last.runs[-1].grit
    if not _tells(last) or any(run.grit != grit for run in last.runs):
        return []
    yard = [s for s in known.stages[:-1] if _is_yard(s, grit)]
    if not yard or last.runs[0].sheet_age == 0:
        return []
    # A sheet that is dead stays dead: the more of it, the surer.
    on_sheet: list[Stage] = []
    for stage in reversed(known.stages):
        if not _same_sheet(stage, last) or stage in yard:
            break
        on_sheet.append(stage)
    if not on_sheet:
        return []
    held = on_sheet[-1].held
    first = last.runs[0].sheet_age
    runs = [replace(run, sheet_age=run.sheet_age - first) for run in last.runs]
    fresh = float(np.exp(held.weight @ expected(held, runs, known.prior).mean))
    lately = dict.fromkeys(min(n, len(on_sheet)) for n in LATELY)
    return [
        SheetLeft(share=share, dead=dead, fresh_um=fresh)
        for share, dead in (_share_left(held, yard, on_sheet[:n]) for n in lately)
    ]


def likely_dead(known: Removal, run: Run) -> bool:
    """Say whether the sheet of a run to come is to be changed.

    Beside fresh sheets that were read it is when that is likely, by its strokes alone
    when it is more likely than not.
    """
    found = sheet_left(known)
    if found:
        return max(left.dead for left in found) >= LIKELY
    return worn_out(known, run) > EVEN


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
    held: Beliefs, yard: Sequence[Stage], stages: Sequence[Stage]
) -> tuple[float, float]:
    """Give the share of a fresh sheet's rate that is left, and how surely it is low.

    ``held`` is what was believed before the stages on this sheet.
    """
    weight = held.weight
    likely = np.nonzero(weight > NEGLIGIBLE * weight.max())[0]
    weight = weight[likely] / weight[likely].sum()
    mean = np.maximum(held.mean[likely, 1], LEAST_WEAR)
    # (hypotheses, rates of a fresh sheet, wears of this one)
    logs = np.zeros((likely.size, _RATES.size, _WEARS.size))
    for stage in yard:
        logs += _of_rates(stage, likely, _worth(stage, mean)[:, None])
    for stage in stages:
        logs += _of_rates(stage, likely, np.tile(_worth(stage, _WEARS), (mean.size, 1)))
    said = np.exp(logs - logs.max()).sum(axis=1)
    newest = stages[0].runs[-1]
    before = _wears_beforehand(mean, held.cov[likely, 1, 1])
    if not newest.aged_surely:
        before = np.ones_like(before)  # its strokes are not known, and say nothing
    after = weight @ (before * said)
    after = after / after.sum()
    used = newest.sheet_age + newest.strokes
    shares = LASTING_SHARE + (1 - LASTING_SHARE) * np.exp(-_WEARS / 100 * used)
    dead = float(after[shares < DEAD_SHARE].sum())
    return float(np.exp(after @ np.log(shares))), dead


def _wears_beforehand(mean: Array, variance: Array) -> Array:
    """Give the belief in each wear of a new sheet (hypotheses, wears)."""
    wide = np.hypot(np.sqrt(variance) / mean, SHEET_SPREAD)
    off = (np.log(_WEARS) - np.log(mean)[:, None]) / wide[:, None]
    found = np.exp(-0.5 * off**2)
    found /= found.sum(axis=1, keepdims=True)
    return np.asarray((1 - FAILS) * found + FAILS / _WEARS.size)


def _of_rates(stage: Stage, likely: NDArray[np.intp], log_worth: Array) -> Array:
    """Give log likelihoods (hypotheses, rates, wears) of first rates of a sheet.

    ``log_worth`` (hypotheses, wears) is the log of how many strokes on a fresh sheet
    the stage was worth.
    """
    assert stage.seen is not None, "stages without are left out"
    found = np.empty((likely.size, _RATES.size, log_worth.shape[1]))
    for i, one in enumerate(likely):
        laid = np.interp(
            (_RATES[:, None] + log_worth[i]).ravel(),
            _FINE,
            _blurred(stage.seen.log_likelihood[one]),
        )
        found[i] = laid.reshape(found[i].shape)
    return found


def _blurred(log_likelihood: Array) -> Array:
    """Give the log likelihood of log doses, as rates differ from run to run."""
    fine = np.interp(_FINE, _LOG_DOSES, log_likelihood)
    top = fine.max()
    blurred = _BLUR @ np.exp(fine - top) / _BLUR.sum(axis=1)
    return np.asarray(top + np.log(np.maximum(blurred, 1e-12)))


def _worth(stage: Stage, wear: Array) -> Array:
    """Give the log of how many strokes on a fresh sheet a stage was worth."""
    logs = [fresh_strokes(wear / 100, run)[0] for run in stage.runs]
    return np.asarray(np.logaddexp.reduce(logs, axis=0))


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
