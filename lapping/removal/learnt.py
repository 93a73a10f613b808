"""What the history of a face tells of removal: rates by grit, and strokes still to go.

Stages are the times between two looks. Each says something of the dose that came off
(`dose_seen`), a mouth or a thickness read twice says it outright, and `rates` adds it
all up. Until a stage has said something the rates are an assumption.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import radians, tan

import numpy as np
from numpy.typing import NDArray

from lapping.grits import Grit
from lapping.removal.changes import Change, change
from lapping.removal.dose_seen import DOSES_UM, DRAWN_UM, GIVES_UM, DoseSeen, dose_seen
from lapping.removal.glance import KEPT, Glance
from lapping.removal.heat import heats_of
from lapping.removal.job import Gauged, Job, Lap, Run
from lapping.removal.rates import (
    Beliefs,
    Expected,
    Prior,
    beliefs,
    carried_over,
    expected,
    extended,
    learn,
    on_another_lap,
    rate_on,
)
from lapping.wear.rate_prior import LOAD_N, prior_rate

Array = NDArray[np.float64]

NEWTON_PER_KG = 9.80665
MOST_STAGES = 20
"""Older stages are on sheets long gone; each costs some hundredths of a second."""
MOUTH_U_MM, THICKNESS_U_MM = 0.05, 0.02
"""Standard uncertainty of a mouth by leaves and a thickness by caliper. Assumptions."""
HEAT_U, HEAT_CHANGE_U = 0.2, 0.5
"""The crown that heat adds differs by so much from one warm look to the next, beside
this share of what differs by reckoning."""
LOCAL_SHARE = 0.35
"""Metal lost at one place differs by this share from that lost on the whole face."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stage:
    """The strokes between two looks, what was expected of them and what was seen.

    ``held`` is what was believed before them. ``changed`` and ``seen`` are None where
    the two looks cannot be compared. By ``flat_form_um`` (3,) a flat lap would have
    changed bows and twist.
    """

    before: Glance
    after: Glance
    runs: tuple[Run, ...]
    expected: Expected
    changed: Change | None
    seen: DoseSeen | None
    flat_form_um: Array
    held: Beliefs


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Removal:
    """What is known of removal on one face after all its looks."""

    held: Beliefs
    stages: tuple[Stage, ...]
    prior: Prior


@dataclass(frozen=True, slots=True, kw_only=True)
class GritRate:
    """The rate of a grit as it cuts now, in µm of dose per 100 strokes: 5, 50, 95 %.

    ``assumed`` says that nothing seen so far has told it.
    """

    grit: Grit
    low_um: float
    middle_um: float
    high_um: float
    assumed: bool


def assumed_rate(job: Job) -> Prior:
    """Give the assumed rates for a job's metal, load and size, per stroke."""
    area_mm2 = job.face.length_mm * job.face.width_mm
    body_n = NEWTON_PER_KG * (job.weight_g or 0.0) / 1000

    def rate(run: Run) -> float:
        load_n = LOAD_N
        if run.load_kg is not None:
            load_n = NEWTON_PER_KG * run.load_kg + body_n
        found = prior_rate(run.grit, job.metal, pressure_mpa=load_n / area_mm2)
        return found.um_per_100 / 100

    return rate


def learn_removal(
    job: Job, glances: Sequence[Glance], prior: Prior, held: Beliefs | None = None
) -> Removal:
    """Learn from every stage of a job, the oldest first.

    ``glances`` are of the job's looks that showed a surface. ``held`` are beliefs from
    other faces of the same bench, if there are any. What heat added to looks is taken
    out of them, with the doubt about it.
    """
    heat = {number: w.likely_um for number, w in heats_of(job, glances).items()}
    grits = [run.grit for run in job.runs] + list(job.papers)
    known = beliefs(grits) if held is None else extended(carried_over(held), grits)
    stages: list[Stage] = []
    pairs = list(pairwise(glances))
    last_way: tuple[Lap | None, str | None] | None = None
    for before, after in pairs[-MOST_STAGES:]:
        runs = job.runs_between(before.look.number, after.look.number)
        if not runs:
            continue
        hot = heat.get(before.look.number, 0.0), heat.get(after.look.number, 0.0)
        changed, seen = _compared(before, after, *hot)
        way = [(run.lap, run.hand) for run in runs]
        if last_way is not None and any(one != last_way for one in way):
            known = on_another_lap(known)
        last_way = way[-1]
        should = expected(known, runs, prior)
        flat = np.zeros(3) if seen is None else by_flat_lap(known, should, seen)
        stages.append(
            Stage(
                before=before,
                after=after,
                runs=runs,
                expected=should,
                changed=changed,
                seen=seen,
                flat_form_um=flat,
                held=known,
            )
        )
        if seen is not None:
            known = learn(known, runs, prior, seen.log_likelihood)
    for runs, likelihood in gauged_doses(job):
        known = learn(known, runs, prior, np.tile(likelihood, (GIVES_UM.size, 1)))
    return Removal(held=known, stages=tuple(stages), prior=prior)


@lru_cache(maxsize=KEPT)
def _compared(
    before: Glance, after: Glance, hot_before_um: float, hot_after_um: float
) -> tuple[Change | None, DoseSeen | None]:
    """Compare two looks without what heat added; None where they cannot be."""
    changed = change(before, after)
    if changed is None:
        return None, None
    warmer, most = hot_after_um - hot_before_um, max(hot_before_um, hot_after_um)
    u = float(np.hypot(HEAT_CHANGE_U * warmer, HEAT_U * most))
    changed = changed.cooled(before.face, warmer, u)
    return changed, dose_seen(before, changed, hot_before_um)


def by_flat_lap(
    held: Beliefs, should: Expected, seen: DoseSeen, *, as_seen: bool = True
) -> Array:
    """Give how a flat lap changes the form (3,), for the doses that are believed.

    Those that the strokes should have made; where ``as_seen`` by what the looks say of
    them as well.
    """
    off = (np.log(DOSES_UM) - should.mean[:, None]) / should.spread[:, None]
    straight = ~DRAWN_UM.any(axis=1)
    share = np.exp((seen.log_likelihood if as_seen else 0.0) - 0.5 * off**2)
    share *= (held.weight * straight)[:, None]
    return np.asarray(np.tensordot(share, seen.form_um, 2) / max(share.sum(), 1e-300))


def opens_by(bed_deg: float, front_deg: float) -> float:
    """Give how far a mouth opens per metal taken off the sole.

    Angles are from the sole through the metal; an iron reset along an unmoved bed
    meets the new sole by cot(bed) further back, and a square front (90°) stays.

    >>> round(opens_by(45, 90), 6)
    1.0
    """
    return 1 / tan(radians(bed_deg)) + 1 / tan(radians(front_deg))


def gauged_doses(job: Job) -> list[tuple[tuple[Run, ...], Array]]:
    """Give what mouth and thickness readings say of the dose between each two."""
    found = []
    if job.bed_deg is not None:
        opens = opens_by(job.bed_deg, job.front_deg or 90.0)
        if opens > 0:
            found += _between(job, job.mouths, 1 / opens, MOUTH_U_MM / opens)
    found += _between(job, job.thicknesses, -1.0, THICKNESS_U_MM)
    return found


def rate_of(known: Removal, run: Run) -> GritRate:
    """Give the rate of a run like this one, on the sheet as it is now."""
    here = rate_on(known.held, run, known.prior)
    weight = known.held.weight
    grid = np.linspace(-3.0, 3.0, 61)
    values = (here.mean[:, None] + here.spread[:, None] * grid).ravel()
    share = (weight[:, None] * np.exp(-0.5 * grid**2)).ravel()
    order = np.argsort(values)
    total = np.cumsum(share[order]) / share.sum()
    low, middle, high = np.exp(np.interp([0.05, 0.5, 0.95], total, values[order]))
    return GritRate(
        grit=run.grit,
        low_um=100 * float(low),
        middle_um=100 * float(middle),
        high_um=100 * float(high),
        assumed=known.held.learnt == 0,
    )


def _between(
    job: Job, gauged: Sequence[Gauged], per_mm: float, u_mm: float
) -> list[tuple[tuple[Run, ...], Array]]:
    found = []
    for first, second in pairwise(gauged):
        runs = job.runs_between(first.number, second.number)
        if not runs:
            continue
        came_off = 1e3 * per_mm * (second.mm - first.mm)
        u = np.hypot(1e3 * 2**0.5 * u_mm, LOCAL_SHARE * DOSES_UM)
        found.append((runs, -0.5 * ((DOSES_UM - came_off) / u) ** 2 - np.log(u)))
    return found
