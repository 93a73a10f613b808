"""Rows of the table of advice where no reading is at hand: nothing known, or photos."""

from __future__ import annotations

from dataclasses import replace

from lapping.advice.advised import Advice
from lapping.advice.case import Case
from lapping.advice.next_grit import finer_choice
from lapping.contact_map import ContactMap
from lapping.removal.strokes_left import as_counted
from lapping.signs.contact import EVEN_PERCENT, Bearing, bearing_of


def nothing_known(case: Case) -> Advice | None:
    """Measure, where there is neither a reading nor a photo."""
    if case.answer is not None or case.contact is not None:
        return None
    why = "no reading of heights is finished on this face yet"
    if case.since > 0:
        why = f"{case.since:.0f} strokes were made, and {why}"
    return Advice(
        action="measure",
        why=f"{why}: read it, or look at a scribble after a few light strokes",
    )


def from_photos(case: Case) -> Advice | None:
    """Say what contact alone can say: it bears here and not there, never how flat."""
    if case.answer is not None or case.contact is None:
        return None
    bears = bearing_of(case.contact)
    said = _said(bears)
    if case.since_contact > 0:
        return Advice(
            action="measure",
            why=(
                f"flatness not measured; {case.since_contact:.0f} strokes were made "
                f"since the newest photo, which showed ink rubbed off ({said}) as it "
                "was then: scribble again, make a few light strokes, take a new photo"
            ),
        )
    if not bears.even:
        return replace(by_contact(case.contact), grit=case.next_run.grit)
    if case.scratched:
        return Advice(
            action="keep lapping",
            why=(
                "flatness not measured; it bears all over, and scratches of the grit "
                "before still show: they must go before a finer paper"
            ),
            grit=case.next_run.grit,
        )
    finer = finer_choice(case)
    if finer is not None and case.job.runs:
        return Advice(
            action="next grit",
            why=f"flatness not measured; it bears all over ({said})",
            grit=finer.grit,
            strokes=as_counted(finer.strokes),
        )
    return by_contact(case.contact)


def by_contact(contact: ContactMap) -> Advice:
    """Say what one photo says by itself, whatever was done to the face before."""
    bears = bearing_of(contact)
    said = _said(bears)
    if not bears.even:
        return Advice(
            action="keep lapping" if bears.lagging else "measure",
            why=f"flatness not measured; ink rubbed off: {said}; {_lags(bears)}",
            where=bears.places,
        )
    return Advice(
        action="measure",
        why=(
            f"flatness not measured; it bears all over ({said}), which a face does "
            "that is as crowned as its lap is hollow: read it once"
        ),
    )


def _said(bears: Bearing) -> str:
    return ", ".join(
        f"{_called(name)} {'not seen' if percent is None else f'{percent:.0f} %'}"
        for name, percent in bears.zones
    )


def _lags(bears: Bearing) -> str:
    """Say which zones do not bear yet, and which were not seen."""
    parts = []
    if bears.lagging:
        what = "no zone bears"
        if len(bears.lagging) < len(bears.zones):
            *most, last = map(_called, bears.lagging)
            named = f"{', '.join(most)} and {last}" if most else last
            what = f"{named} {'do' if most else 'does'} not bear"
        parts.append(f"{what} yet: a zone does with {EVEN_PERCENT:.0f} % rubbed off")
    if bears.unseen:
        parts.append(f"the photo does not show {', '.join(map(_called, bears.unseen))}")
    return "; ".join(parts)


def _called(zone: str) -> str:
    return "land ahead of the mouth" if zone == "mouth" else zone
