"""A reading set as typed and as understood, side by side."""

from __future__ import annotations

import csv
from collections.abc import Iterator

from lapping.errors import BadInput
from lapping.history import LoggedReading
from lapping.log.entering import opened
from lapping.log.entries import now_holding, past, root_of
from lapping.log.opening import Log
from lapping.log.sets import as_readings, readings_of, source_of, state_of, the_set
from lapping.readings import Reading
from lapping.units import format_um


def show_set(log: Log, number: int) -> Iterator[str]:
    """Give header lines, then every reading, with corrections below what they replace.

    The number in front of a reading is what 'lapping log correct' and 'back' take.
    """
    entry = the_set(log, number)
    yield f"{source_of(log, entry)}: {state_of(log, number) or 'begun'}"
    for key, value, _ in entry.fact.headers:
        yield f"  # {key}: {value}"
    yield f"        {','.join(entry.fact.columns)}"
    for one in readings_of(log, number):
        yield f"{one.id:>6}  {_typed(one.fact)}"
        for old in past(log, one.root):
            if old.id != one.id and isinstance(old.fact, LoggedReading):
                yield f"        (was {_typed(old.fact)}, entry {old.id})"
    yield from (f"  {warning}" for warning in _warnings(log, number))


def _warnings(log: Log, number: int) -> tuple[str, ...]:
    try:
        return as_readings(log, the_set(log, number)).warnings
    except BadInput as missing:
        # An open set shows nothing yet; that is no reason not to look at it.
        return missing.mistakes


def _typed(fact: LoggedReading) -> str:
    if fact.cells is None or fact.understood is None:
        return f"place {(fact.place or 0) + 1} skipped" + _note(fact)
    return f"{','.join(fact.cells)}  = {_meaning(fact.understood)}{_note(fact)}"


def _note(fact: LoggedReading) -> str:
    return f"  '{fact.note}'" if fact.note else ""


def _meaning(one: Reading) -> str:
    """Say a reading in micrometres, whatever it was typed in."""
    for name in ("value_um", "gap_um"):
        value = getattr(one, name, None)
        if value is not None:
            return format_um(value)
    slope = getattr(one, "slope_um_per_m", None)
    if slope is not None:
        return f"{slope:g} µm/m"
    stops = getattr(one, "stops_um", None)
    goes = f"goes {format_um(getattr(one, 'goes_um', 0.0))}"
    return (
        f"{goes}, nothing stops"
        if stops is None
        else f"{goes}, stops {format_um(stops)}"
    )


def correct_reading(log: Log, number: int, cells: str) -> Iterator[str]:
    """Replace a reading; one cell alone is the last of those typed, the value.

    Of a place that was passed over the cells that say where it is need not be typed.
    """
    found = now_holding(log, LoggedReading, root_of(log, number))
    if found is None or found.id != number:
        message = (
            f"entry {number} is no reading that holds; 'lapping log show' has them"
        )
        raise BadInput(message)
    begun = opened(log, the_set(log, found.fact.set))
    typed = next(csv.reader([cells], delimiter=begun.entry.fact.delimiter))
    if len(typed) == 1 and found.fact.cells is not None:
        old = list(found.fact.cells)
        last = max((at for at, cell in enumerate(old) if cell), default=0)
        typed = [*old[:last], cells, *old[last + 1 :]]
    fact, columns = begun.entry.fact, begun.entry.fact.columns
    if found.fact.skipped and found.fact.place is not None:
        where = fact.places[found.fact.place]
        if len(typed) <= len(columns) - len(where):
            typed = [*where, *typed]
            typed += [""] * (len(columns) - len(typed))
    if len(typed) != len(columns):
        message = (
            f"entry {number} has {len(columns)} cells, {fact.delimiter.join(columns)}: "
            f"write the last one alone or all of them, a blank one with its "
            f"'{fact.delimiter}' too; '{cells}' has {len(typed)}"
        )
        raise BadInput(message)
    begun.replace(found, typed)
    yield from show_set(log, begun.number)
