"""The commands `log gauge`, `log lap` and `log paper`: said once, used by name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from lapping.bench.entry_words import lap_words
from lapping.errors import BadInput
from lapping.kept import LAP_KINDS, Gauge, Lap, Paper, Settings
from lapping.log.bench import (
    add_named,
    all_named,
    check_gauge,
    correct_named,
    find_named,
)
from lapping.log.opening import Log, writing
from lapping.log.planes import the_face
from lapping.prompt.gauge import WORDS, parse_method
from lapping.sayings import check_number
from lapping.units import parse_length_um


def gauges(log: Log) -> Iterator[str]:
    """Give a line for each gauge."""
    for one in all_named(log, Gauge):
        said = [f"{key} {value}" for key, value in one.fact.settings]
        yield f"{one.fact.name}: {', '.join([one.fact.method, *said])}"


def set_gauge(
    log: Log, name: str, method: str | None, said: Mapping[str, str | None]
) -> Iterator[str]:
    """Add a gauge, or correct what is said of it; what is not said stays."""
    with writing(log):
        there = find_named(log, Gauge, name)
        known = dict(there.fact.settings) if there else {}
        known |= {key: value for key, value in said.items() if value is not None}
        if method is not None:
            meant = parse_method(method)
        elif there is not None:
            meant = there.fact.method
        else:
            message = f"say what the gauge is: --method {' or '.join(WORDS)}"
            raise BadInput(message)
        settings: Settings = tuple(known.items())
        gauge = Gauge(name=name, method=meant, settings=settings)
        check_gauge(gauge)
        if there is None:
            add_named(log, gauge)
        else:
            correct_named(log, there, gauge)
    yield from gauges(log)


def laps(log: Log) -> Iterator[str]:
    """Give a line for each lap."""
    for one in all_named(log, Lap):
        yield f"{one.fact.name}: {lap_words(one.fact)}"


def set_lap(
    log: Log, name: str, kind: str, flatness: str | None, measured: str | None
) -> Iterator[str]:
    """Add a lap, stated or measured as a face of its own, or correct it."""
    if kind not in LAP_KINDS:
        message = f"'{kind}' is no lap; it is {', '.join(LAP_KINDS)}"
        raise BadInput(message)
    with writing(log):
        there = find_named(log, Lap, name)
        lap = Lap(
            name=name,
            kind=kind,
            flatness=flatness,
            flatness_um=None if flatness is None else parse_length_um(flatness),
            face=None if measured is None else the_face(log, measured).root,
        )
        if there is None:
            add_named(log, lap)
        else:
            correct_named(log, there, lap)
    yield from laps(log)


def papers(log: Log) -> Iterator[str]:
    """Give a line for each paper on hand."""
    for one in all_named(log, Paper):
        sheet = f", {one.fact.sheet}" if one.fact.sheet else ""
        yield f"{one.fact.name}: {one.fact.grade}{sheet}"


def set_paper(log: Log, name: str, grade: str, sheet: str | None) -> Iterator[str]:
    """Add a paper on hand, or correct it."""
    check_number(grade)
    with writing(log):
        there = find_named(log, Paper, name)
        paper = Paper(name=name, grade=grade, sheet=sheet)
        if there is None:
            add_named(log, paper)
        else:
            correct_named(log, there, paper)
    yield from papers(log)
