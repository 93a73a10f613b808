"""What heat may have added to a reading, from the clock, the strokes and what was felt.

How much a plane bends by rubbing is an assumption of an order of magnitude until the
face has been read warm and again cool with no stroke between; each such pair says how
much it was on this plane at this bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp

import numpy as np

from lapping.removal.changes import change
from lapping.removal.glance import Glance
from lapping.removal.job import COOLING_MINUTES, Job, Look, Run
from lapping.warmth import thermal_bow_um

FADES_MINUTES = 20.0
"""In so long the difference between sole and top falls to a third; an hour leaves a
twentieth of it. Ours, to agree with the hour."""
RUBBED_K = 2.0
"""How much warmer the sole gets than the top in long rubbing: of 8 W of friction (40
strokes of 0.5 m a minute, 50 N, friction 0.5) some 6 go into the plane, and half of
that flows past the middle of 50 mm high iron cheeks of a tenth of the sole's area. An
order of magnitude."""
RUBBED_STROKES = 100.0
"""Strokes after which two thirds of that are reached."""
SPREAD = 0.7
"""Log-standard deviation of the heat of a plane and a bench beside that."""
AT_MOST = 1.0
"""At most it is so many spreads more than likely."""
DEPTH_MM = 50.0
_SCALES = np.exp(np.linspace(-3.5, 2.5, 61))


@dataclass(frozen=True, slots=True, kw_only=True)
class Warm:
    """What heat may have added to the along-bow that was read: likely, and at most."""

    likely_um: float
    most_um: float
    says: str


def warmth_of(job: Job, look: Look, pairs: Sequence[Glance] = ()) -> Warm | None:
    """Give what heat may have added to one look; None where it was surely cool.

    From a thermometer's remark, else from what was felt and the time since the
    strokes. Where the clock says nothing, nothing is said. ``pairs`` are all glances
    of the job, for what was read warm and cool before.
    """
    found = _reckoned(job, look)
    if found is None or look.remark.warmer_k is not None:
        return found
    scale, most = _scale(job, pairs)
    return Warm(
        likely_um=scale * found.likely_um,
        most_um=most * found.likely_um,
        says=found.says,
    )


def heats_of(job: Job, glances: Sequence[Glance]) -> dict[int, Warm]:
    """Give what heat may have added to every look that was not surely cool."""
    found = {one.look.number: warmth_of(job, one.look, glances) for one in glances}
    return {number: warm for number, warm in found.items() if warm is not None}


def minutes_since(run: Run, look: Look) -> float | None:
    """Give the minutes from a run to a look; None where the clock does not say."""
    if run.at is None or look.at is None:
        return None
    minutes = (look.at - run.at).total_seconds() / 60
    return minutes if minutes >= 0 else None


def _reckoned(job: Job, look: Look) -> Warm | None:
    runs = [run for run in job.runs if run.number < look.number]
    if not runs or look.remark.warm is False:
        return None
    if look.remark.warmer_k is not None:
        bow = _bow(job, look.remark.warmer_k)
        said = f"the sole was {look.remark.warmer_k:.1f} K warmer than the top"
        return Warm(likely_um=bow, most_um=bow, says=said) if bow > 0 else None
    minutes = minutes_since(runs[-1], look)
    if minutes is None:
        if not look.remark.warm:
            return None
        minutes, said = 0.0, "the plane was still warm"
    elif minutes >= COOLING_MINUTES:
        return None
    else:
        said = f"it was read {minutes:.0f} min after the last strokes"
    rubbed = sum(_counts(run, look) for run in runs)
    kelvin = RUBBED_K * (1 - exp(-rubbed / RUBBED_STROKES))
    bow = _bow(job, kelvin * exp(-minutes / FADES_MINUTES))
    return Warm(likely_um=bow, most_um=bow, says=said)


def _scale(job: Job, glances: Sequence[Glance]) -> tuple[float, float]:
    """Give by how much heat bends this plane more than reckoned: likely, and at most.

    A log-normal belief, narrowed by every pair that was read warm and then cool.
    """
    log_share = -0.5 * (np.log(_SCALES) / SPREAD) ** 2
    for before, after in pairwise(glances):
        if job.runs_between(before.look.number, after.look.number):
            continue
        hot, cold = _reckoned(job, before.look), _reckoned(job, after.look)
        fell = 0.0 if cold is None else cold.likely_um
        moved = change(before, after)
        if hot is None or moved is None or hot.likely_um <= fell:
            continue
        expected = _SCALES * (hot.likely_um - fell)
        off = (-float(moved.form_um[0]) - expected) / float(moved.form_u_um[0])
        log_share = log_share - 0.5 * off**2
    share = np.exp(log_share - log_share.max())
    share /= share.sum()
    middle = float(share @ np.log(_SCALES))
    spread = float(np.sqrt(share @ (np.log(_SCALES) - middle) ** 2))
    return exp(middle), exp(middle + AT_MOST * spread)


def _bow(job: Job, kelvin: float) -> float:
    return thermal_bow_um(
        job.metal,
        warmer_k=kelvin,
        length_mm=job.face.length_mm,
        depth_mm=DEPTH_MM,
    )


def _counts(run: Run, look: Look) -> float:
    """Count a run's strokes as far as their heat was still there."""
    minutes = minutes_since(run, look)
    return run.strokes if minutes is None or minutes < COOLING_MINUTES else 0.0
