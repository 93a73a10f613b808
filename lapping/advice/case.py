"""All that advice on a face stands on, worked out once from its job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lapping.advice.budgets import Spent, spent
from lapping.advice.chances import (
    chance_within,
    cool_chance,
    decided_by,
    is_proved,
    is_sure,
    share_within,
)
from lapping.answer import BS_3623_UM, Answer, answer
from lapping.contact_map import ContactMap
from lapping.errors import LappingError
from lapping.removal.glance import Glance, glance
from lapping.removal.heat import Warm, warmth_of
from lapping.removal.job import Job, Run
from lapping.removal.learnt import Removal, assumed_rate, learn_removal
from lapping.removal.next_run import next_run_of
from lapping.removal.rates import Beliefs
from lapping.removal.sets_that_count import most_places, sets_that_count
from lapping.removal.slips import read_again, slipped
from lapping.removal.strokes_left import Left, strokes_left
from lapping.removal.worn_between import worn_at
from lapping.signs.all_signs import (
    scratches_seen,
    scratches_to_look_for,
    signs_read,
    signs_seen,
)
from lapping.signs.lap import lap_warnings
from lapping.signs.sign import Name, Sign

Array = NDArray[np.float64]

LIKELY, PROVED = 0.5, 0.97
"""A face that was proved done and lapped on finer paper since is taken for done while
that is more likely than not; a glance proves it with so few surfaces drawn."""
ENOUGH_SETS = 2
"""A second set read at the same time, a third where it is nearly proved, has said what
reading again can say; and what leans on the strokes as well is proved by two."""
BY_STROKES = 0.99
"""So sure must be what leans on the strokes: the model of wear is believed less than
readings, and who reads again and again until it is proved has many chances to err;
unless the look before the last strokes was sure of it too."""
LEAST_HEAT_SHARE = 0.04
"""Heat that can have added no more than this share of the target decides nothing."""
LOOKS_BACK = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Case:
    """One face as it is known now; what was not measured is None.

    ``chance`` is that of being within what is allowed, and ``cool_chance`` the same
    if heat added as much crown as it may have. ``left`` are strokes like ``next_run``
    from the last look on; ``since`` counts those made since, ``since_contact`` those
    since the photo of ``contact``. ``slip_decides`` says that without the readings in
    doubt the next action would be another. ``shaped`` says that the face was proved
    done, now or before finer paper went over it.
    """

    job: Job
    target_um: float
    glances: tuple[Glance, ...]
    answer: Answer | None
    warm: Warm | None
    chance: float | None
    cool_chance: float | None
    done: bool
    shaped: bool
    removal: Removal
    next_run: Run
    left: Left | None
    spent: Spent | None
    since: float
    contact: ContactMap | None
    since_contact: float
    scratched: bool | None
    slip_decides: bool
    signs: tuple[Sign, ...]
    warnings: tuple[str, ...]

    def sign(self, *names: Name) -> Sign | None:
        """Give the first sign of any of these names, or None."""
        return next((s for s in self.signs if s.name in names), None)


def look_at(
    job: Job,
    *,
    contacts: Mapping[int, ContactMap] | None = None,
    scratched: Mapping[int, bool] | None = None,
    held: Beliefs | None = None,
    glanced: Sequence[Glance] | None = None,
) -> Case:
    """Work out all that is known of a face.

    ``contacts`` are contact maps and ``scratched`` what was seen of the scratches of
    the grit before, by the number of their photo in the log. ``held`` are beliefs
    about rates from other faces. Looks that show no surface are told and left out.
    ``glanced`` are glances at the job's looks that are there already.
    """
    glances, warnings = glances_of(job) if glanced is None else ([*glanced], [])
    known = learn_removal(job, glances, assumed_rate(job), held)
    again = read_again(glances[-1], slipped(known)) if glances else None
    if again is not None:
        glances[-1] = again
        known = learn_removal(job, glances, assumed_rate(job), held)
    next_run = next_run_of(job)
    newest = max(contacts or {}, default=0)
    contact = (contacts or {}).get(newest)
    since_contact = sum(run.strokes for run in job.runs_between(newest))
    seen = scratches_seen(job, scratched or {})
    # What a photo showed before the last strokes is no sign any more.
    signs = signs_seen(job, None if since_contact else contact, seen)
    stated = lap_warnings(job, target_of(job), next_run.lap)
    bare = Case(
        job=job,
        target_um=target_of(job),
        glances=tuple(glances),
        answer=None,
        warm=None,
        chance=None,
        cool_chance=None,
        done=False,
        shaped=False,
        removal=known,
        next_run=next_run,
        left=None,
        spent=None,
        since=sum(run.strokes for run in job.runs),
        contact=contact,
        since_contact=since_contact,
        scratched=seen,
        slip_decides=False,
        signs=tuple(signs),
        warnings=tuple(dict.fromkeys((*job.warnings, *warnings, *stated))),
    )
    if not glances:
        return bare
    case = _with_readings(bare)
    if case.since > 0 or (case.chance or 0.0) < LIKELY:
        return case  # more strokes come anyway
    look = scratches_to_look_for(job, scratched or {})
    return replace(case, signs=(*case.signs, *look))


def target_of(job: Job) -> float:
    """Give a job's target in µm, that of BS 3623 where none was set."""
    return BS_3623_UM if job.target_um is None else job.target_um


def glances_of(job: Job) -> tuple[list[Glance], list[str]]:
    """Glance at every look; those that show no surface are left out with a sentence."""
    glances, warnings = [], []
    for look in job.looks:
        try:
            glances.append(glance(look))
        except LappingError as trouble:
            warnings.append(f"reading {look.number} was left out: {trouble}")
    return glances, warnings


def _with_readings(bare: Case) -> Case:
    """Add to a case what its last look says."""
    job, known, target = bare.job, bare.removal, bare.target_um
    last = bare.glances[-1].look
    sets = sets_that_count(job, bare.glances, known)
    found = answer(sets, target_um=target, unit=job.shown_in)
    warm = warmth_of(job, last, bare.glances)
    if warm is not None and warm.most_um < LEAST_HEAT_SHARE * target:
        warm = None
    drawn = worn_at(found.surface, bare.glances, last.number, job, known)
    chance = chance_within(found, drawn)
    cool = chance
    if warm is not None and not found.unseen:
        cool = cool_chance(found, warm.most_um, target, drawn)
    since = sum(run.strokes for run in job.runs_between(last.number))
    left: Left | None = None
    budget: Spent | None = None
    if not found.unseen:
        left = strokes_left(found.face, drawn, target, known, bare.next_run)
        budget = spent(job, known, float(np.median(left.dose_um)))
    signs = signs_read(job, bare.glances, found, known, budget)
    slips = [s for s in signs if s.name == "reading in doubt"]
    grows = any(sign.name.endswith("growing") for sign in signs)
    twice = job.times_read >= ENOUGH_SETS
    sure = is_sure(chance) and not grows and _was_as_sure(bare)
    sure = sure or (chance or 0.0) >= BY_STROKES
    by_strokes = twice and sure and not (found.at_odds or found.unread)
    # Fewer places than before must not overlook what those before have shown.
    enough = twice or found.points >= most_places(bare.glances)
    proved = by_strokes or (enough and is_proved(found))
    done = proved and since == 0 and (warm is None or is_sure(cool))
    return replace(
        bare,
        answer=found,
        warm=warm,
        chance=chance,
        cool_chance=cool,
        done=done,
        shaped=done
        or (
            chance is not None and chance >= LIKELY and not grows and _was_proved(bare)
        ),
        left=left,
        spent=budget,
        since=since,
        slip_decides=decided_by(
            found, [place for slip in slips for place in slip.places_mm], target
        ),
        signs=(*signs, *bare.signs),
    )


def _was_as_sure(bare: Case) -> bool:
    """Say whether the look before the last strokes, not warm, was as sure already.

    Two looks with metal taken off between them hardly err alike.
    """
    return any(
        is_sure(share_within(one.face, _worn(bare, one), bare.target_um))
        for one in bare.glances[-2:-1]
        if not one.unseen and warmth_of(bare.job, one.look) is None
    )


def _was_proved(bare: Case) -> bool:
    """Say whether an earlier look, not warm, proved the face done before this paper."""
    runs = bare.job.runs
    changed = [run.number for run in runs if run.grit != runs[-1].grit]
    if not changed:
        return False
    before = [one for one in bare.glances if one.look.number < runs[-1].number]
    return any(
        share_within(one.face, _worn(bare, one), bare.target_um) >= PROVED
        for one in before[-LOOKS_BACK:]
        if not one.unseen and warmth_of(bare.job, one.look) is None
    )


def _worn(bare: Case, one: Glance) -> Array:
    number = one.look.number
    return worn_at(one.surface, bare.glances, number, bare.job, bare.removal)
