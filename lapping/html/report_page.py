"""The report on a face: the verdict and what to do first, then all it stands on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from lapping.advice.advised import Advice
from lapping.advice.case import Case
from lapping.answer import Answer
from lapping.cautions import FIRST, cautions_for, circumstances_of
from lapping.html.document import (
    document,
    entries,
    figure,
    heading,
    listed_items,
    paragraph,
)
from lapping.html.figures import as_svg
from lapping.html.history import history
from lapping.html.lengths import Lengths, Units
from lapping.html.measured import DOUBT, measured, sources
from lapping.html.tables import numbers_table, spots_table
from lapping.pictures.face_map import face_map
from lapping.pictures.sections import sections
from lapping.progress import Progress
from lapping.words.advice import advice_entries, order_words
from lapping.words.answer import report_entries
from lapping.words.figures import listed, sentences
from lapping.words.verdict import but_words, chance_words, unread_words

IN_SENTENCES = ("Rests", "Square", "Agree", "Turned", "Not seen", "To settle")
"""What the tables do not say."""
WORKS = {"flat": "It should work", "not flat": "It should not work yet",
         "cannot tell": "Whether it works cannot be told"}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Told:
    """What a report is made of; ``bears`` is the part on photos, ready made.

    ``advice`` is None for a lap, which nobody laps; ``metal`` is where no plane is
    set up.
    """

    case: Case
    answer: Answer
    progress: Progress
    advice: Advice | None
    metal: str | None = None
    bears: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def report_page(told: Told, units: Units) -> str:
    """Give the whole page, with lengths in these units first."""
    lengths = Lengths(first=units)
    told = replace(told, answer=replace(told.answer, shown_in=lengths.unit))
    label = told.case.job.label
    return document(f"{label}: how flat, how sure", _body(told, lengths))


def _body(told: Told, lengths: Lengths) -> Iterator[str]:
    answer, case = told.answer, told.case
    face, look = answer.face, case.glances[-1].look
    yield heading(1, case.job.label)
    said = [f"{face.kind.capitalize()} {lengths.size(face.length_mm, face.width_mm)}"]
    said += [] if told.metal is None else [told.metal]
    said += [] if look.at is None else [f"read {look.at.astimezone():%Y-%m-%d}"]
    yield paragraph(", ".join(said))
    yield '<div class="first">'
    yield from _first(told, lengths)
    yield "</div>"
    minding = sentences(dict.fromkeys((*told.warnings, *answer.warnings)))
    mind = [("Mind", minding)] if minding else []
    if told.advice is not None:
        yield heading(2, "What to do next")
        yield entries([p for p in advice_entries(told.advice) if p[0] != "Mind"] + mind)
    elif mind:
        yield entries(mind)
    yield heading(2, "The face")
    yield figure(
        as_svg(face_map(answer), "map", _map_words(answer)),
        "Red stands proud, blue is hollow; hollow lines are dashed. Toe at the left, "
        "across counted from below."
        if face.kind != "lap"
        else "Red stands proud, blue is hollow; hollow lines are dashed.",
    )
    spots = spots_table(answer, lengths)
    if spots:
        yield spots
    if not answer.unseen:
        yield figure(
            as_svg(sections(answer), "sections", "Cross-sections of the face."),
            "How it runs along both edges and the centre, and across; the band is the "
            "doubt. Heights are drawn far larger than lengths.",
        )
    yield heading(2, "The figures")
    yield numbers_table(answer, lengths)
    yield entries(pair for pair in report_entries(answer) if pair[0] in IN_SENTENCES)
    yield from told.bears
    yield from history(told.progress, case.glances, lengths)
    yield heading(2, "How it was measured")
    yield entries([*measured(answer, look, lengths), ("From", sources(answer))])
    yield heading(3, "How sure, and why")
    yield listed_items(DOUBT, "small")
    yield heading(2, "Cautions")
    said_of = circumstances_of(metal=told.metal or "", lap_kind="machine table")
    cautions = [FIRST, *(one.text for one in cautions_for("report", said_of))]
    yield listed_items(cautions, "small")


def _first(told: Told, lengths: Lengths) -> Iterator[str]:
    """Give what a person wants to know in ten seconds."""
    answer = told.answer
    likely, (low, high) = answer.likely.likely_um, answer.likely.interval_um
    allowed = lengths.said(answer.target_um)
    if answer.target_is_default:
        allowed += ", as BS 3623 does"
    word = answer.verdict.capitalize()
    if likely is None or high is None:
        said = f"at least {lengths.said(low)}, no upper limit known"
    else:
        said = f"likely {lengths.range_said(likely, low, high)}"
    flat = f"<p><strong>{word}:</strong> {said}. Allowed: {allowed}.</p>"
    if answer.face.kind != "lap":
        works = f"<strong>{WORKS[answer.working_verdict]}:</strong>"
        if answer.unseen:
            unseen = listed(answer.unseen)
            yield f"<p>{works} {unseen} not seen, so toe and heel are not compared.</p>"
        elif answer.unread and answer.working_verdict == "cannot tell":
            yield f"<p>{works} {unread_words(answer)}.</p>"
        else:
            together = lengths.said(answer.working.together_um)
            sure = chance_words(answer.working.probability)
            ends = "toe, mouth and heel" if answer.face.mouth else "toe and heel"
            said = f"{ends} lie within {together}, {sure}{but_words(answer)}"
            yield f"<p>{works} {said}.</p>"
    yield flat
    if told.advice is not None:
        yield f"<p><strong>Next:</strong> {order_words(told.advice)}</p>"


def _map_words(answer: Answer) -> str:
    return (
        f"Map of heights over the best-fit plane of a {answer.face.kind}, "
        f"{len(answer.high_spots)} high and {len(answer.low_spots)} low spots marked; "
        "the table of spots below says where."
    )
