"""What to do next: one table of rows, and the first that fits is the advice.

Every row is a function of the case and gives an advice or None. Their order is that
of docs/advice.md. A row about doubt fits only where the doubt spans two different next
actions; where the face is known to be done, no row of trouble is asked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from lapping.advice import done_rows as end
from lapping.advice import first_rows as first
from lapping.advice import going_rows as going
from lapping.advice import trouble_rows as trouble
from lapping.advice.advised import Advice
from lapping.advice.between_row import read_again, read_between
from lapping.advice.case import Case, look_at
from lapping.contact_map import ContactMap
from lapping.removal.job import Job
from lapping.removal.rates import Beliefs
from lapping.words.doubt import doubt_words

Row = Callable[[Case], Advice | None]
UNREAD: tuple[Row, ...] = (first.nothing_known, first.from_photos)
HANDS: tuple[Row, ...] = (trouble.check_lap, trouble.press_evenly)
PLACES: tuple[Row, ...] = (trouble.press_aside, trouble.one_place)
TROUBLES: tuple[Row, ...] = (*HANDS, trouble.change_paper, *PLACES)
LEFT: tuple[Row, ...] = (trouble.drop_back, going.measure, going.keep_lapping)


def advise(
    job: Job,
    *,
    contacts: Mapping[int, ContactMap] | None = None,
    scratched: Mapping[int, bool] | None = None,
    held: Beliefs | None = None,
) -> Advice:
    """Say what to do next with a face, from its readings, strokes and photos.

    ``contacts`` are contact maps, and ``scratched`` whether scratches of the grit
    before show, by the number of their photo. Lengths in µm, strokes as few and many.
    """
    return advise_on(look_at(job, contacts=contacts, scratched=scratched, held=held))


def advise_on(case: Case) -> Advice:
    """Ask the rows in turn and give the first advice, with all signs and the doubt."""
    rows: tuple[Row, ...] = (
        *(*UNREAD, trouble.cool, read_between, *HANDS, read_again),
        *(trouble.change_paper, *PLACES, *LEFT),
    )
    if case.done and end.next_grit(case) is None:
        rows = UNREAD
    elif case.shaped:
        # Finer paper needs no proof once more, and heat decides nothing before it.
        rows = (*UNREAD, *TROUBLES, end.next_grit, trouble.cool, *LEFT)
    elif end.finer_already(case) is not None:
        # What is in doubt decides nothing where the next paper is the same either way.
        rows = (*UNREAD, *HANDS, *PLACES, end.finer_already)
    found = None
    for row in rows:
        found = row(case)
        if found is not None:
            break
    if found is None:
        found = end.done(case)
    warnings = case.warnings
    if (
        found.action != "done"
        and case.glances
        and not (case.job.runs or case.job.papers)
    ):
        warnings = (*warnings, _no_paper(case))
    return replace(found, doubt=doubt_words(case), signs=case.signs, warnings=warnings)


def _no_paper(case: Case) -> str:
    return (
        f"no paper is in the log, and {case.next_run.grit.name} is taken to be on "
        "hand: keep yours by lapping log paper, and lapping plan weighs them"
    )
