"""Gauges, laps, papers and strokes in the log, and what was said of them last time."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

from lapping.errors import BadInput
from lapping.kept import Entry, Gauge, Lap, Paper, Strokes
from lapping.log.entries import add, held
from lapping.log.opening import Log, writing
from lapping.log.planes import not_there

if TYPE_CHECKING:
    from lapping.history import Fact, Note

Named = TypeVar("Named", Gauge, Lap, Paper)
_WORDS: dict[type, str] = {Gauge: "gauge", Lap: "lap", Paper: "paper"}


def add_named(log: Log, fact: Named) -> Entry[Named]:
    """Add a gauge, lap or paper; its name must be free among its kind."""
    with writing(log):
        if find_named(log, type(fact), fact.name) is not None:
            what = _WORDS[type(fact)]
            message = f"there is a {what} '{fact.name}' already; choose another name"
            raise BadInput(message)
        return add(log, fact)


def correct_named(log: Log, entry: Entry[Named], fact: Named) -> Entry[Named]:
    """Replace what is said of a gauge, lap or paper; a new name must be free."""
    with writing(log):
        if fact.name != entry.fact.name and find_named(log, type(fact), fact.name):
            message = f"there is a {_WORDS[type(fact)]} '{fact.name}' already"
            raise BadInput(message)
        return add(log, fact, replaces=entry.id)


def all_named(log: Log, kind: type[Named]) -> list[Entry[Named]]:
    """Give all gauges, laps or papers that hold now."""
    return held(log, kind)


def find_named(log: Log, kind: type[Named], name: str) -> Entry[Named] | None:
    """Give the one of this name, or None."""
    return next(iter(held(log, kind, "name = ?", name)), None)


def the_named(log: Log, kind: type[Named], name: str) -> Entry[Named]:
    """Give the one of this name, or refuse with the names that are there."""
    found = find_named(log, kind, name)
    if found is None:
        known = [one.fact.name for one in all_named(log, kind)]
        raise BadInput(not_there(_WORDS[kind], name, known))
    return found


def strokes_of(log: Log, face: int) -> list[Entry[Strokes]]:
    """Give all strokes made on a face (the number of its first entry), in order."""
    return held(log, Strokes, "face = ?", face)


def last_strokes(log: Log, face: int | None = None) -> Entry[Strokes] | None:
    """Give the strokes entered last, on this face if it had any; None if on none."""
    where, values = ("face = ?", [face]) if face is not None else ("1", [])
    found = held(log, Strokes, where, *values)
    if not found and face is not None:
        return last_strokes(log)
    return found[-1] if found else None


def notes_about(log: Log, entry: int) -> list[Entry[Note]]:
    """Give the remarks about an entry."""
    from lapping.history import Note

    return held(log, Note, "about = ?", entry)


def add_note(log: Log, about: Entry[Fact], text: str) -> Entry[Note]:
    """Keep a remark about an entry."""
    from lapping.history import Note

    with writing(log):
        return add(log, Note(about=about.root, text=text))


def check_gauge(gauge: Gauge) -> None:
    """Refuse header lines that no set read with this gauge could have."""
    # Readers take time to load, and only a new gauge needs them here.
    from lapping.readings_file.headers import read_header
    from lapping.readings_file.text import HeaderLine, Mistakes, Sheet

    # A side, because every gauge may be used on one.
    face = (("face", "side"), ("length", "250 mm"), ("width", "60 mm"))
    said = (("method", gauge.method), *face, *gauge.settings)
    mistakes = Mistakes(f"the gauge '{gauge.name}'")
    headers = tuple(HeaderLine(k, v, i) for i, (k, v) in enumerate(said, start=1))
    sheet = Sheet(headers=headers, head=None, rows=(), late=(), delimiter=",")
    read_header(sheet, None, mistakes)
    mistakes.refuse()
