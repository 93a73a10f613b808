"""All signs of trouble on one face."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from lapping.advice.budgets import Spent, budget_signs, square_signs
from lapping.answer import Answer
from lapping.contact_map import ContactMap
from lapping.removal.glance import Glance
from lapping.removal.heat import heats_of
from lapping.removal.job import Job, Lap
from lapping.removal.learnt import Removal
from lapping.signs.contact import contact_signs
from lapping.signs.drawn import drawn_signs
from lapping.signs.form import Seen, form_signs
from lapping.signs.lap import lap_signs
from lapping.signs.paper import paper_signs
from lapping.signs.place import place_signs
from lapping.signs.sign import Sign
from lapping.signs.stuck import stuck_signs
from lapping.signs.warm import warm_signs
from lapping.words.gauge import gauge_words, is_coarse

STAGES_BACK = 4


def signs_read(
    job: Job,
    glances: Sequence[Glance],
    found: Answer,
    known: Removal,
    budget: Spent | None,
) -> list[Sign]:
    """Give every trouble that the readings show."""
    target = found.target_um
    lap = _lap(job)
    signs = [] if budget is None else budget_signs(job, budget)
    signs += warm_signs(job, glances, target)
    signs += lap_signs(job, target, lap)
    seen = _seen(job, glances, known)
    signs += form_signs(seen, lap, target)
    if not any(sign.name.endswith("growing") for sign in signs):
        stays = drawn_signs(seen, known.held, lap, target)
        signs += stays or stuck_signs(seen, known.prior, lap, target)
    if not changed_since(job, glances[-1]):
        signs += paper_signs(known)
    signs += place_signs(glances, known, target)
    if is_coarse(found):
        signs.append(
            Sign(
                name="coarse gauge",
                says=gauge_words(found),
                um=found.repeatability_um,
            )
        )
    return signs


def signs_seen(
    job: Job, contact: ContactMap | None, scratched: bool | None
) -> list[Sign]:
    """Give every trouble that square, photos and the eye show."""
    signs = square_signs(job)
    if contact is not None:
        signs += contact_signs(contact)
    if scratched:
        signs.append(
            Sign(name="scratches left", says="scratches of the grit before still show")
        )
    return signs


def changed_since(job: Job, last: Glance) -> bool:
    """Say whether another sheet was put on since a look."""
    runs = job.runs_between(last.look.number)
    before = [run.grit for run in job.runs if run.number < last.look.number]
    return any(run.fresh or [run.grit] != before[-1:] for run in runs)


def scratches_seen(job: Job, seen: Mapping[int, bool]) -> bool | None:
    """Give what was seen last of the scratches of the grit before, since that grit."""
    told = _scratches_told(job, seen)
    return told[max(told)] if told else None


def scratches_to_look_for(job: Job, seen: Mapping[int, bool]) -> list[Sign]:
    """Say where only reckoning tells whether scratches of a coarser paper are gone.

    Scratches that were seen are looked for again after more strokes.
    """
    if not job.runs:
        return []
    now = job.runs[-1].grit
    coarser = [run.grit for run in job.runs if run.grit.coarser_than(now)]
    told = _scratches_told(job, seen)
    if not coarser or (
        told and (not told[max(told)] or max(told) > job.runs[-1].number)
    ):
        return []
    return [
        Sign(
            name="look for scratches",
            says=(
                f"whether scratches of {coarser[-1].name} are left is reckoned, not "
                "seen: look in slanting light, or by lapping scratches, and say "
                "'scratches' or 'no scratches' in a remark"
            ),
        )
    ]


def _scratches_told(job: Job, seen: Mapping[int, bool]) -> dict[int, bool]:
    """Give by number whether scratches of the grit before were seen since then."""
    told = dict(seen)
    remarks = [*job.told, *((look.number, look.remark) for look in job.looks)]
    remarks += [(run.number, run.remark) for run in job.runs]
    for number, remark in remarks:
        if remark.scratches is not None:
            told[number] = remark.scratches
    other = max((r.number for r in job.runs if r.grit != job.runs[-1].grit), default=0)
    # What was seen before its first strokes was seen of another paper's scratches.
    since = min((r.number for r in job.runs if r.number > other), default=0)
    from_now = since if other else 0
    return {number: said for number, said in told.items() if number > from_now}


def _seen(job: Job, glances: Sequence[Glance], known: Removal) -> Seen:
    """Gather what tells of growth: the looks on this lap, slips, and heat."""
    return Seen(
        glances=tuple(_on_lap(job, glances)),
        slips=tuple(
            (along, across)
            for stage in known.stages[-STAGES_BACK:]
            if stage.seen is not None
            for along, across, _ in stage.seen.slips
        ),
        heat={n: one.likely_um for n, one in heats_of(job, glances).items()},
        stages=known.stages,
    )


def _lap(job: Job) -> Lap | None:
    return job.runs[-1].lap if job.runs else None


def _on_lap(job: Job, glances: Sequence[Glance]) -> list[Glance]:
    """Keep the looks between which all strokes were on one lap, in one way."""
    kept = [glances[-1]]
    last = job.runs[-1] if job.runs else None
    for before, after in reversed(list(pairwise(glances))):
        runs = job.runs_between(before.look.number, after.look.number)
        if last is None or any((r.lap, r.hand) != (last.lap, last.hand) for r in runs):
            break
        kept.insert(0, before)
    return kept
