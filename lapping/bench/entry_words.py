"""What one entry of any kind says, in one line."""

from __future__ import annotations

from typing import assert_never

from lapping.bench.log_words import photo_in_words
from lapping.bench.plane import face_words, plane_words
from lapping.bench.strokes import in_words
from lapping.history import (
    Entry,
    Fact,
    Gauge,
    Lap,
    LoggedReading,
    LoggedSet,
    Note,
    Paper,
    Photo,
    Plane,
    PlaneFace,
    SetMark,
    Strokes,
)
from lapping.log.look_back import readings_held
from lapping.log.opening import Log


def entry_words(log: Log, entry: Entry[Fact | None]) -> str:
    """Say what an entry says, or that it takes one back."""
    fact = entry.fact
    match fact:
        case None:
            return "taken back"
        case Plane():
            note = f", '{fact.note}'" if fact.note else ""
            return f"plane {fact.name}: {plane_words(fact)}{note}"
        case PlaneFace():
            return f"face {fact.name}: {face_words(fact)}"
        case Gauge():
            said = [f"{key} {value}" for key, value in fact.settings]
            return f"gauge {fact.name}: {', '.join([fact.method, *said])}"
        case Lap():
            return f"lap {fact.name}: {lap_words(fact)}"
        case Paper():
            sheet = f", {fact.sheet}" if fact.sheet else ""
            return f"paper {fact.name}: {fact.grade}{sheet}"
        case Strokes():
            return in_words(log, fact)
        case LoggedSet():
            source = f" from {fact.source}" if fact.source else ""
            many = readings_held(log, entry.root)
            return f"{many} readings by {fact.method}{source}"
        case LoggedReading():
            typed = "skipped" if fact.cells is None else ",".join(fact.cells)
            return f"reading {typed} of set {fact.set}"
        case SetMark():
            return f"set {fact.set} {fact.state}"
        case Note():
            return f"note: {fact.text}"
        case Photo():
            return photo_in_words(log, fact)
    assert_never(fact)


def lap_words(lap: Lap) -> str:
    """Say what a lap is and how its flatness is known."""
    if lap.face is not None:
        return f"{lap.kind}, measured"
    if lap.flatness is not None:
        return f"{lap.kind}, stated flat to {lap.flatness}"
    return f"{lap.kind}, its flatness is not known"
