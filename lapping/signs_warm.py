"""Was the plane still warm when it was read, and what could that have done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lapping.glance import Glance, change
from lapping.job import COOLING_MINUTES, Job, Look, Run
from lapping.signs import Sign
from lapping.warmth import thermal_bow_um

FADES_MINUTES = 20.0
"""In so long the difference between sole and top falls to a third; an hour leaves a
twentieth of it. Ours, to agree with the hour."""
RUBBED_K = 4.0
"""How much warmer the sole gets than the top in long rubbing, from 8 W of friction
(40 strokes of 0.5 m a minute, 50 N, friction 0.5) flowing up iron cheeks that are a
tenth of the area: 4 K over 50 mm. An order of magnitude."""
RUBBED_STROKES = 100.0
"""Strokes after which two thirds of that are reached."""
AT_MOST = 2.0
"""It may be this many times as much: pressure and pace differ that much."""
DEPTH_MM = 50.0
MATTERS_SHARE, MATTERS_U = 1 / 16, 2.0
"""A bow of less than this share of the target, or than so many u of the bow as it was
read, is no trouble worth a sign."""
SURE = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Warm:
    """What heat may have added to the along-bow that was read: likely, and at most."""

    likely_um: float
    most_um: float
    says: str


def warmth_of(job: Job, look: Look) -> Warm | None:
    """Give what heat may have added to one look; None where it was surely cool.

    From a thermometer's remark, else from what was felt and the time since the
    strokes. Where the clock says nothing, nothing is said.
    """
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
    kelvin = RUBBED_K * (1 - 2.718281828 ** (-rubbed / RUBBED_STROKES))
    kelvin *= 2.718281828 ** (-minutes / FADES_MINUTES)
    bow = _bow(job, kelvin)
    return Warm(likely_um=bow, most_um=AT_MOST * bow, says=said)


def minutes_since(run: Run, look: Look) -> float | None:
    """Give the minutes from a run to a look; None where the clock does not say."""
    if run.at is None or look.at is None:
        return None
    minutes = (look.at - run.at).total_seconds() / 60
    return minutes if minutes >= 0 else None


def warm_signs(job: Job, glances: Sequence[Glance], target_um: float) -> list[Sign]:
    """Say that the last look was warm, or that a crown went away as the face cooled."""
    found = []
    last = glances[-1]
    warm = warmth_of(job, last.look)
    least = max(MATTERS_SHARE * target_um, MATTERS_U * float(last.form_u_um[0]))
    if warm is not None and warm.likely_um >= least:
        found.append(
            Sign(
                name="read warm",
                says=(
                    f"{warm.says}; heat may have added a crown of about "
                    f"{warm.likely_um:.0f} µm, {warm.most_um:.0f} at most"
                ),
                um=warm.likely_um,
            )
        )
    elif len(glances) > 1:
        before = glances[-2]
        untouched = not job.runs_between(before.look.number, last.look.number)
        lapped = job.runs_between(0, before.look.number)
        moved = change(before, last) if untouched and lapped else None
        if moved is not None and moved.form_um[0] < -SURE * moved.form_u_um[0]:
            fell = -float(moved.form_um[0])
            found.append(
                Sign(
                    name="read warm",
                    says=(
                        f"a crown of {fell:.0f} µm went away without a stroke between "
                        "two readings: the first was read warm"
                    ),
                    um=fell,
                )
            )
    return found


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
