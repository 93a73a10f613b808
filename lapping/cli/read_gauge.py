"""The gauge that `lapping read` reads with: known, or asked for once."""

from __future__ import annotations

from dataclasses import dataclass

from lapping.cli.asking import Bench
from lapping.history import Entry, Gauge
from lapping.log.bench import add_named, all_named, the_named
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry
from lapping.log.sets import sets_of
from lapping.readings import Method


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was said on the command line; None where it is to be found out."""

    face: str | None = None
    length: str | None = None
    width: str | None = None
    mouth: str | None = None
    kind: str = "sole"
    gauge: str | None = None
    method: Method | None = None
    stick: str | None = None
    base: str | None = None
    turned: bool = False
    new: bool = False


def the_gauge(log: Log, face: FaceEntry, wanted: Wanted, bench: Bench) -> Entry[Gauge]:
    """Give the gauge asked for, the one used last on this face, or a new one."""
    if wanted.gauge is not None:
        return the_named(log, Gauge, wanted.gauge)
    known = [
        one for one in all_named(log, Gauge) if wanted.method in (None, one.fact.method)
    ]
    if not known:
        return _new_gauge(log, wanted.method, bench)
    if len(known) == 1:
        return known[0]
    used = [one.fact.gauge for one in sets_of(log, face)]
    by_use = sorted(known, key=lambda one: _last_use(used, one.root))
    names = ", ".join(one.fact.name for one in known)
    bench.say(f"gauges: {names}; --gauge NAME takes another than the one used last")
    return by_use[-1]


def _last_use(used: list[int | None], number: int) -> int:
    return max((i for i, one in enumerate(used) if one == number), default=-1)


def _new_gauge(log: Log, said: Method | None, bench: Bench) -> Entry[Gauge]:
    from lapping.prompt_gauge import WHICH, WORD_OF, describe, parse_method, questions

    method = bench.ask_until(f"{WHICH} >", parse_method) if said is None else said
    settings: tuple[tuple[str, str], ...] = ()
    for question in questions(method):
        settings += bench.ask_until(f"{question.text} >", question.answer)
    taken = {one.fact.name for one in all_named(log, Gauge)}
    name, number = WORD_OF[method], 2
    while name in taken:
        name, number = f"{WORD_OF[method]} {number}", number + 1
    entry = add_named(log, Gauge(name=name, method=method, settings=settings))
    bench.say(f"gauge '{name}' is kept: {describe(method, settings)}")
    return entry


def the_stick(
    log: Log, face: FaceEntry, gauge: Entry[Gauge], wanted: Wanted, bench: Bench
) -> str:
    """Give the length over which a gap is seen: said, as last time, or asked."""
    from lapping.prompt_gauge import STICK, stick_cell

    if wanted.stick is not None:
        return stick_cell(wanted.stick)
    for one in reversed(sets_of(log, face)):
        if one.fact.gauge == gauge.root and one.fact.places:
            return one.fact.places[0][-1]
    return bench.ask_until(f"{STICK} >", stick_cell)
