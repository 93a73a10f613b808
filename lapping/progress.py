"""How a face came along: look by look, grit by grit, and what is left."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from lapping.advice.advised import Action
from lapping.advice.budgets import Spent, spent
from lapping.advice.case import Case
from lapping.contact_map import ContactMap
from lapping.grits import Grit
from lapping.removal.glance import Glance
from lapping.removal.job import Run, Squared
from lapping.removal.learnt import GritRate, rate_of
from lapping.surface.form import Bow, Twist, form_of
from lapping.surface.uncertainty import Likely
from lapping.units import MICROMETRES, HeightUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Came:
    """A face at one time: what was read and what bore, None where not known.

    ``strokes`` are those since the time before, by grit. ``twist_um`` and
    ``along_bow_um`` are with their standard uncertainties, those of the whole answer.
    ``advised`` is what was to be done next, ``entered_at`` when readings came into the
    log, and ``remarks`` what was said of the face, its strokes and readings.
    """

    number: int
    at: datetime | None
    strokes: tuple[tuple[Grit, float], ...]
    likely_um: float | None = None
    interval_um: tuple[float, float] | None = None
    twist_um: tuple[float, float] | None = None
    along_bow_um: tuple[float, float] | None = None
    contact_percent: float | None = None
    advised: Action | None = None
    entered_at: datetime | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class GritUsed:
    """All that was done on one grit, and its rate as it is believed now."""

    grit: Grit
    strokes: float
    sheets: int
    rate: GritRate


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """The history of a face on one screen; ``strokes_left`` are few and many.

    ``spent`` is what the plane has paid so far and will yet, ``squares`` every reading
    of its sides against the face, and ``shown_in`` the unit of the last readings.
    """

    label: str
    target_um: float
    times: tuple[Came, ...]
    grits: tuple[GritUsed, ...]
    since: float
    chance: float | None
    strokes_left: tuple[int, int] | None
    spent: Spent | None = None
    squares: tuple[Squared, ...] = ()
    shown_in: HeightUnit = MICROMETRES


def progress_of(
    case: Case,
    contacts: Mapping[int, ContactMap] | None = None,
    advised: Mapping[int, Action] | None = None,
) -> Progress:
    """Give the history of a face.

    ``contacts`` by the number of their photo, ``advised`` by that of their look.
    """
    left = case.left
    to_go = None if left is None else (left.few, left.many)
    return Progress(
        label=case.job.label,
        target_um=case.target_um,
        times=_times(case, contacts or {}, advised or {}),
        grits=_grits(case),
        since=case.since,
        chance=case.chance,
        strokes_left=(0, 0) if case.done else to_go,
        spent=spent(case.job, case.removal, 0.0) if case.done else case.spent,
        squares=case.job.squares,
        shown_in=MICROMETRES if case.answer is None else case.answer.shown_in,
    )


def _times(
    case: Case,
    contacts: Mapping[int, ContactMap],
    advised: Mapping[int, Action],
) -> tuple[Came, ...]:
    """Join each look with the photos taken at the same time: no strokes between."""
    found: list[Came] = []
    marks: list[tuple[int, Glance | None]] = [
        (one.look.number, one) for one in case.glances
    ]
    marks += [(number, None) for number in contacts]
    before = 0
    for number, one in sorted(marks, key=lambda mark: mark[0]):
        runs = case.job.runs_between(before, number)
        percent = contacts[number].contact_percent if number in contacts else None
        if found and not runs:
            came = found.pop()
        else:
            came = Came(number=number, at=None, strokes=_by_grit(runs))
        told = _told(case, before, number, one)
        came = replace(came, remarks=tuple(dict.fromkeys((*came.remarks, *told))))
        if one is not None:
            last = one.look.number == case.glances[-1].look.number
            known = case.answer.likely if last and case.answer else None
            came = _read(came, one, known, advised.get(number))
        if percent is not None:
            came = replace(came, contact_percent=percent)
        found.append(came)
        before = number
    if found:
        later = [said.said for number, said in case.job.told if number > before]
        remarks = (*found[-1].remarks, *(one for one in later if one))
        found[-1] = replace(found[-1], remarks=tuple(dict.fromkeys(remarks)))
    return tuple(found)


def _told(case: Case, after: int, upto: int, one: Glance | None) -> list[str]:
    """Give the remarks made since the time before, and those about this one."""
    marks = [(run.number, run.remark) for run in case.job.runs]
    found = [r for number, r in (*case.job.told, *marks) if after < number <= upto]
    found += [] if one is None else [one.look.remark]
    return [remark.said for remark in found if remark.said]


def _read(
    came: Came, one: Glance, known: Likely | None, advised: Action | None
) -> Came:
    """Add what a look showed; ``known`` is what its whole answer says of flatness."""
    form = form_of(one.surface, one.unseen)
    return replace(
        came,
        at=one.look.at or came.at,
        entered_at=one.look.entered_at or came.entered_at,
        likely_um=one.likely_um if known is None else known.likely_um,
        interval_um=one.interval_um if known is None else _closed(known),
        twist_um=_with_u(form.twist),
        along_bow_um=_with_u(form.along_bow),
        advised=advised,
    )


def _closed(known: Likely) -> tuple[float, float] | None:
    low, high = known.interval_um
    return None if high is None else (low, high)


def _with_u(found: Bow | Twist | None) -> tuple[float, float] | None:
    return None if found is None else (found.um, found.u_um)


def _by_grit(runs: Sequence[Run]) -> tuple[tuple[Grit, float], ...]:
    grits = dict.fromkeys(run.grit for run in runs)
    return tuple(
        (grit, sum(run.strokes for run in runs if run.grit == grit)) for grit in grits
    )


def _grits(case: Case) -> tuple[GritUsed, ...]:
    found = []
    for grit, strokes in _by_grit(case.job.runs):
        runs = [run for run in case.job.runs if run.grit == grit]
        last = runs[-1]
        found.append(
            GritUsed(
                grit=grit,
                strokes=strokes,
                sheets=max(1, sum(run.fresh for run in runs)),
                rate=rate_of(case.removal, last),
            )
        )
    return tuple(found)
