"""All that advice on a face stands on, worked out once from its job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, cast

import numpy as np
from numpy.typing import NDArray

from lapping.answer import BS_3623_UM, Answer, answer
from lapping.budgets import Spent, budget_signs, spent, square_signs
from lapping.contact_map import ContactMap
from lapping.errors import LappingError
from lapping.excess import excess
from lapping.glance import SAME_MM, Glance, glance
from lapping.grits import Grit, parse_grit
from lapping.job import Job, Run
from lapping.observations import scaled
from lapping.rates import Beliefs
from lapping.readings import Readings, ReadingSet
from lapping.removal import Removal, assumed_rate, learn_removal
from lapping.signs import Name, Sign
from lapping.signs_contact import contact_signs
from lapping.signs_form import form_signs, lap_signs, stays_sign
from lapping.signs_paper import paper_signs
from lapping.signs_place import place_signs
from lapping.signs_warm import Warm, warm_signs, warmth_of
from lapping.strokes_left import Left, strokes_left
from lapping.uncertainty import COVER

Array = NDArray[np.float64]
Standing = Literal["done", "not done", "in doubt"]

COARSE = 4.0
"""A gauge whose repeatability is over a quarter of the target cannot show it: a flat
face reads three to four times the repeatability (noise floor of 9 to 45 places)."""
FIRST_GRIT = "P120"
"""Where nothing is said of any paper. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """One face as it is known now; what was not measured is None.

    ``chance`` is that of being within what is allowed, and ``cool_chance`` the same
    if heat added as much crown as it may have. ``left`` are strokes like ``next_run``
    from the last look on, ``done_since`` those made since.
    """

    job: Job
    target_um: float
    glances: tuple[Glance, ...]
    answer: Answer | None
    warm: Warm | None
    chance: float | None
    cool_chance: float | None
    done: bool
    removal: Removal
    next_run: Run
    left: Left | None
    spent: Spent | None
    contact: ContactMap | None
    scratched: bool | None
    slip_decides: bool
    signs: tuple[Sign, ...]
    warnings: tuple[str, ...]

    def sign(self, *names: Name) -> Sign | None:
        """Give the first sign of any of these names, or None."""
        return next((s for s in self.signs if s.name in names), None)

    @property
    def since(self) -> float:
        """Give how many strokes were made since the face was last read."""
        return sum(run.strokes for run in self.job.since_read)


def look_at(
    job: Job,
    *,
    contacts: Mapping[int, ContactMap] | None = None,
    scratched: Mapping[int, bool] | None = None,
    held: Beliefs | None = None,
) -> Case:
    """Work out all that is known of a face.

    ``contacts`` are contact maps and ``scratched`` what was seen of the scratches of
    the grit before, by the number of their photo in the log. ``held`` are beliefs
    about rates from other faces. Looks that show no surface are told and left out.
    """
    warnings = list(job.warnings)
    glances: list[Glance] = []
    for look in job.looks:
        try:
            glances.append(glance(look))
        except LappingError as trouble:
            warnings.append(f"reading {look.number} was left out: {trouble}")
    target = BS_3623_UM if job.target_um is None else job.target_um
    known = learn_removal(job, glances, assumed_rate(job), held)
    next_run = _next_run(job)
    maps = contacts or {}
    last_run = job.runs[-1].number if job.runs else 0
    newest = max((n for n in maps if n > last_run), default=None)
    contact = maps[max(maps)] if maps and newest is None else maps.get(newest or -1)
    found: Answer | None = None
    warm: Warm | None = None
    chance = cool = None
    left: Left | None = None
    budget: Spent | None = None
    signs: list[Sign] = []
    if glances:
        last = glances[-1]
        lines = [s for s in last.look.sets if s.method != "square"]
        found = answer(lines, target_um=target)
        warm = warmth_of(job, last.look)
        chance = chance_within(found)
        cool = chance if warm is None else _cool_chance(found, warm.most_um, target)
        if not found.unseen:
            left = strokes_left(
                job.face,
                found.surface.draws_um[:, found.surface.places :],
                target,
                known,
                next_run,
            )
            budget = spent(job, known, float(np.median(left.dose_um)))
            signs += budget_signs(job, budget)
        signs += warm_signs(job, glances, target)
        signs += lap_signs(job.face, target, next_run.lap)
        heat = 0.0 if warm is None else warm.most_um
        signs += form_signs(_on_lap(job, glances), next_run.lap, heat)
        signs += stays_sign(known)
        signs += paper_signs(known)
        signs += place_signs(glances, known, target)
        if COARSE * found.repeatability_um > target:
            signs.append(_coarse(found, target))
    slip_decides = found is not None and _slip_decides(found, signs, target)
    signs += square_signs(job)
    if contact is not None:
        signs += contact_signs(contact)
    seen = _scratched(job, scratched or {})
    if seen:
        signs.append(
            Sign(name="scratches left", says="scratches of the grit before still show")
        )
    return Case(
        job=job,
        target_um=target,
        glances=tuple(glances),
        answer=found,
        warm=warm,
        chance=chance,
        cool_chance=cool,
        done=(
            found is not None
            and _is_done(found)
            and not job.since_read
            and (warm is None or is_sure(cool))
        ),
        removal=known,
        next_run=next_run,
        left=left,
        spent=budget,
        contact=contact,
        scratched=seen,
        slip_decides=slip_decides,
        signs=tuple(signs),
        warnings=tuple(dict.fromkeys(warnings)),
    )


def chance_within(found: Answer) -> float | None:
    """Give the chance that a face is done; of a sole the zones that matter may do."""
    whole = found.probability
    if found.face.kind != "sole":
        return whole
    works = None if found.unseen else found.working.probability
    both = [one for one in (whole, works) if one is not None]
    return max(both) if both else None


def _is_done(found: Answer) -> bool:
    if found.verdict == "flat":
        return True
    return found.face.kind == "sole" and found.working_verdict == "flat"


def _slip_decides(found: Answer, signs: list[Sign], target_um: float) -> bool:
    """Say whether the next action would be another without the readings in doubt."""
    slips = [s for s in signs if s.name == "reading in doubt"]
    places = [place for s in slips for place in s.places_mm]
    if not places:
        return False
    try:
        other = answer([without(s, places) for s in found.sets], target_um=target_um)
    except (LappingError, ValueError):
        return True
    return standing(chance_within(other)) != standing(chance_within(found))


def without(readings: ReadingSet, places: Sequence[tuple[float, float]]) -> ReadingSet:
    """Give a set without the readings of some places (along, across in mm)."""
    kept = [
        one
        for one in readings.readings
        if not any(
            np.hypot(
                getattr(one, "along_mm", np.inf) - along,
                getattr(one, "across_mm", np.inf) - across,
            )
            <= SAME_MM
            for along, across in places
        )
    ]
    return replace(readings, readings=cast("Readings", tuple(kept)))


def standing(chance: float | None) -> Standing:
    """Say what a chance of being done proves: either, or neither."""
    if chance is None:
        return "in doubt"
    if is_sure(chance):
        return "done"
    # Rounding of 1 - 0.95 must not decide a case on the border.
    return "not done" if chance <= 1 - COVER + 1e-12 else "in doubt"


def _cool_chance(found: Answer, crown_um: float, target_um: float) -> float | None:
    """Give the chance if the face had so much less crown than was read."""
    if found.unseen:
        return None
    p = found.surface.places
    a, _ = scaled(found.face, found.surface.along_mm[p:], found.surface.across_mm[p:])
    drawn = found.surface.draws_um[::4, p:] + crown_um * a**2
    return float(np.mean(excess(found.face, drawn, target_um) <= 1.0))


def _next_run(job: Job) -> Run:
    """Give a run as the next one would be if nothing was changed."""
    if job.runs:
        last = job.runs[-1]
        return replace(
            last,
            sheet_age=last.sheet_age + last.strokes,
            fresh=False,
            strokes=100.0,
        )
    return Run(
        number=1, grit=_first_grit(job), strokes=100.0, aged_surely=True, fresh=True
    )


def _on_lap(job: Job, glances: list[Glance]) -> list[Glance]:
    """Keep the looks between which all strokes were on one lap, in one way."""
    kept = glances[-1:]
    last = job.runs[-1] if job.runs else None
    for before, after in reversed(list(pairwise(glances))):
        runs = job.runs_between(before.look.number, after.look.number)
        if last is None or any((r.lap, r.hand) != (last.lap, last.hand) for r in runs):
            break
        kept.insert(0, before)
    return kept


def _first_grit(job: Job) -> Grit:
    if job.papers:
        return max(job.papers, key=lambda one: one.grain_um)
    return parse_grit(FIRST_GRIT)


def _coarse(found: Answer, target_um: float) -> Sign:
    return Sign(
        name="coarse gauge",
        says=(
            f"the gauge repeats to {found.repeatability_um:.1f} µm, and {target_um:g} "
            f"µm cannot be shown by one that repeats to more than "
            f"{target_um / COARSE:.0f}"
        ),
        um=found.repeatability_um,
    )


def _scratched(job: Job, seen: Mapping[int, bool]) -> bool | None:
    """Give what was seen last of the scratches of the grit before, since that grit."""
    told = dict(seen)
    for look in job.looks:
        if look.remark.scratches is not None:
            told[look.number] = look.remark.scratches
    for run in job.runs:
        if run.remark.scratches is not None:
            told[run.number] = run.remark.scratches
    grits = [run for run in job.runs if run.grit != job.runs[-1].grit]
    since = grits[-1].number if grits else 0
    later = [number for number in told if number > since]
    return told[max(later)] if later else None


def is_sure(chance: float | None) -> bool:
    """Say whether a chance proves a face done (ISO 14253-1 in spirit)."""
    return chance is not None and chance >= COVER
