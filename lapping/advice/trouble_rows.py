"""Rows of the table of advice for troubles: something is to be put right first."""

from __future__ import annotations

import numpy as np

from lapping.advice.advised import Advice
from lapping.advice.budgets import still_leans
from lapping.advice.case import Case
from lapping.advice.chances import standing, surface_without
from lapping.advice.next_grit import coarser_choice, scratches_to_go
from lapping.removal.sheet_worn import likely_dead
from lapping.removal.strokes_left import as_counted, doses_to_go, rounded
from lapping.signs.all_signs import changed_since
from lapping.signs.sign import Sign
from lapping.wear.flattening import GIVE_UM

EVEN = 0.5
HIGH_SHARE = 0.5
"""A place that stands proud by this share of the target alone is worked first."""
WORTH_SHARE, WORTH_STROKES = 0.2, 50.0
"""So is one that saves this share of the metal still to come off everywhere else, and
so many strokes. That proud heads come down first is common practice, no source."""


def cool(case: Case) -> Advice | None:
    """Let it cool, where what heat may have added leads to another next action."""
    if case.warm is None or case.since > 0:
        return None
    hot, cold, unit = case.chance, case.cool_chance, case.job.shown_in
    same = standing(hot) == standing(cold)
    # In doubt either way, more likely done than not leads on otherwise than less.
    if same and (hot is None or cold is None or (hot >= EVEN) == (cold >= EVEN)):
        return None
    return Advice(
        action="cool",
        why=(
            f"{case.warm.says}, and heat may have added "
            f"{unit.bare(case.warm.likely_um)} to {unit.said(case.warm.most_um)} of "
            f"crown: as read the chance of being done is {_share(case.chance)}, and "
            f"without that crown {_share(case.cool_chance)}; let it cool and read it "
            "again before another stroke"
        ),
    )


def check_lap(case: Case) -> Advice | None:
    """Check the lap, where it cannot give the target or may be what bends the face."""
    known = case.sign("lap not flat")
    if known is not None:
        return Advice(action="check lap", why=f"{known.says}; take a flatter one")
    if case.sign("rocking") is not None:
        return None
    grows = case.sign("crown growing", "hollow growing", "twist growing", "shape stays")
    if grows is None:
        return None
    if "hollow" in grows.says and case.sign("read warm") is not None:
        if case.warm is None:
            return None  # it has cooled, and waiting longer changes nothing
        return Advice(
            action="cool",
            why=(
                f"{grows.says}; what is lapped while heat crowns it cools hollow: make "
                "shorter runs, let it cool between them, and read it cold"
            ),
        )
    return Advice(
        action="check lap",
        why=(
            f"{grows.says}; a lap that is not flat and a hand that rocks look alike, "
            "and only readings of the lap tell them apart: read it as a face of kind "
            "lap, and press in the middle, evenly, the whole stroke long"
        ),
    )


def change_paper(case: Case) -> Advice | None:
    """Change the paper that more likely than not cuts at less than half of its first.

    Beside a fresh sheet by what was read, with its strokes; else by its strokes alone.
    """
    if case.glances and changed_since(case.job, case.glances[-1]):
        return None
    if case.shaped and scratches_to_go(case) is None and not case.scratched:
        return None  # this paper has done its work
    dead = case.sign("dead paper")
    name = case.next_run.grit.name
    if dead is not None:
        why = dead.says
    elif (
        case.since == 0
        # A hand that leans has its turn after every fresh sheet.
        and not (_on_fresh(case) and _leaning(case) is not None)
        and (case.chance is None or case.chance < EVEN or case.shaped)
        and likely_dead(case.removal, case.next_run)
    ):
        why = (
            f"after {case.next_run.sheet_age:.0f} strokes a sheet of {name} more "
            "likely than not cuts at less than half of its first rate"
        )
    else:
        return None
    return Advice(
        action="change paper",
        why=f"{why}; take a fresh sheet",
        grit=case.next_run.grit,
        strokes=_left(case),
    )


def press_evenly(case: Case) -> Advice | None:
    """Press evenly where the lap's map shows that it is the hand that rocks."""
    rocks = case.sign("rocking")
    if rocks is None:
        return None
    return Advice(
        action="press differently",
        why=(
            f"{rocks.says}: keep the load inside the middle third the whole stroke "
            "long, lighter, with shorter strokes"
        ),
        where=("middle",),
        grit=case.next_run.grit,
        strokes=_left(case),
    )


def press_aside(case: Case) -> Advice | None:
    """Move the hand over where one side edge loses more than the other."""
    leans = _leaning(case)
    if leans is None:
        return None
    return Advice(
        action="press differently",
        why=f"{leans.says}; move the hand over until the square agrees again",
        where=leans.where,
        grit=case.next_run.grit,
        strokes=_left(case),
    )


def _leaning(case: Case) -> Sign | None:
    """Give the sign of a side that moves still; said once it needs no repeating."""
    leans = case.sign("out of square")
    return leans if leans is not None and still_leans(case.job) else None


def _on_fresh(case: Case) -> bool:
    return any(run.fresh for run in case.job.runs[-1:])


def one_place(case: Case) -> Advice | None:
    """Take down a proud place alone, before all the rest has to come down to it."""
    proud = case.sign("proud place")
    if proud is None or not _worth_it(case, proud):
        return None
    return Advice(
        action="one place first",
        why=(
            f"{proud.says}: bring it down by file or on the edge of the lap, a little "
            "and often, and read it again before the whole face is lapped to it"
        ),
        where=proud.where,
    )


def drop_back(case: Case) -> Advice | None:
    """Take a coarser paper where this one would take far too long."""
    choice = coarser_choice(case)
    if choice is None:
        return None
    few, many = choice.strokes
    return Advice(
        action="drop back",
        why=(
            f"about {rounded(choice.instead_of, up=True)} strokes are left on "
            f"{case.next_run.grit.name}; {choice.grit.name} takes far fewer, its "
            "scratches and the finer papers after it counted"
        ),
        where=(),
        grit=choice.grit,
        strokes=(rounded(few, up=False), rounded(many, up=True)),
    )


def _worth_it(case: Case, proud: Sign) -> bool:
    """Say whether a place holds up the rest, and nobody has been at it just now."""
    found, left = case.answer, case.left
    if found is None or left is None or _read_twice(case):
        return False
    if (proud.um or 0.0) > HIGH_SHARE * case.target_um:
        return True
    without = surface_without(found, proud.places_mm)
    if without is None:
        return False
    give = np.full(len(without), GIVE_UM)
    to_go = float(doses_to_go(found.face, without, give, case.target_um).mean())
    spared = 1 - to_go / max(float(left.dose_um.mean()), 1e-9)
    saves = spared * float(np.median(left.strokes))
    return spared > WORTH_SHARE and saves > WORTH_STROKES


def _read_twice(case: Case) -> bool:
    """Say whether the face was read twice running with no strokes between."""
    if len(case.glances) < 2:
        return False
    if len(case.glances[-1].look.sets) > 1:
        return True
    before, last = (one.look.number for one in case.glances[-2:])
    return not case.job.runs_between(before, last)


def _share(chance: float | None) -> str:
    return "not known" if chance is None else f"{100 * chance:.0f} %"


def _left(case: Case) -> tuple[int, int] | None:
    """Give the strokes left: for the shape, or for the scratches once that is done."""
    rough = scratches_to_go(case) if case.shaped else None
    if rough is not None:
        return as_counted(rough)
    return None if case.left is None else (case.left.few, case.left.many)
