"""The gauge and the sticks that `lapping read` reads with: known, or asked for once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lapping.bench.reading_begun import Wanted, keep_gauge, known_gauges, stick_before
from lapping.cli.asking import Bench
from lapping.history import Entry, Gauge
from lapping.log.bench import all_named
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry
from lapping.readings import Method

if TYPE_CHECKING:
    from lapping.prompt.gauge import Question


def the_gauge(log: Log, face: FaceEntry, wanted: Wanted, bench: Bench) -> Entry[Gauge]:
    """Give the gauge asked for, the one used last on this face, or a new one."""
    known = known_gauges(log, face, wanted)
    if not known:
        return _new_gauge(log, wanted.method, bench)
    if len(known) > 1:
        names = ", ".join(one.fact.name for one in sorted(known, key=_number))
        bench.say(f"gauges: {names}; --gauge NAME takes another than the one used last")
    return known[-1]


def _number(one: Entry[Gauge]) -> int:
    return one.root


def _new_gauge(log: Log, said: Method | None, bench: Bench) -> Entry[Gauge]:
    from lapping.prompt.gauge import (
        WHICH,
        describe,
        flatness_question,
        parse_method,
        questions,
    )

    method = bench.ask_until(f"{WHICH} >", parse_method) if said is None else said
    settings: tuple[tuple[str, str], ...] = ()
    asked = list(questions(method))
    if method in ("feeler", "straightedge"):
        asked = [_with_leaves(log, one) for one in asked]
    against = flatness_question(method)
    for question in asked if against is None else (*asked, against):
        settings += bench.ask_until(f"{question.text} >", question.answer)
    entry = keep_gauge(log, method, settings)
    bench.say(f"gauge '{entry.fact.name}' is kept: {describe(method, settings)}")
    return entry


def _with_leaves(log: Log, question: Question) -> Question:
    """Offer the leaves said last, so that one set of them is listed once."""
    from lapping.prompt.gauge import offered

    known = [one.fact for one in all_named(log, Gauge)]
    sets = [one for one in known if "leaves" in dict(one.settings)]
    if not sets:
        return question
    said = dict(sets[-1].settings)
    last = tuple((key, said[key]) for key in ("unit", "leaves") if key in said)
    return offered(question, last, sets[-1].name)


def the_stick(
    log: Log, face: FaceEntry, gauge: Entry[Gauge], wanted: Wanted, bench: Bench
) -> str:
    """Give the length over which a gap is seen: said, as last time, or asked."""
    from lapping.prompt.gauge import STICK, stick_cell

    if wanted.stick is not None:
        return stick_cell(wanted.stick)
    known = stick_before(log, face, gauge)
    return known or bench.ask_until(f"{STICK} >", stick_cell)
