"""Facts as rows of their tables, and rows as facts again."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import asdict, fields
from typing import TYPE_CHECKING, Any, TypeVar, cast

from lapping import history

if TYPE_CHECKING:
    from lapping.readings import Method, Reading

TABLES: Mapping[type, str] = {
    history.Plane: "plane",
    history.PlaneFace: "face",
    history.Gauge: "gauge",
    history.Lap: "lap",
    history.Paper: "paper",
    history.Strokes: "strokes",
    history.LoggedSet: "reading_set",
    history.LoggedReading: "reading",
    history.SetMark: "set_mark",
    history.Note: "note",
    history.Photo: "photo",
}
RECORDS: Mapping[str, type] = {table: record for record, table in TABLES.items()}
COLUMNS: Mapping[type, tuple[str, ...]] = {
    record: tuple(field.name for field in fields(record)) for record in TABLES
}
_LISTS = {"settings", "zones", "headers", "columns", "places", "cells"}
_YES_OR_NO = {"fresh_sheet", "turned", "iron_in"}
_Fact = TypeVar("_Fact")


def to_row(fact: object) -> list[str | int | float | None]:
    """Give the fact's columns as SQLite keeps them."""
    row: list[Any] = []
    for name in COLUMNS[type(fact)]:
        value = getattr(fact, name)
        if name == "understood" and value is not None:
            value = _json(_understood_as(value))
        elif name in _LISTS and value is not None:
            value = _json(value)
        elif name in _YES_OR_NO:
            value = int(value)
        row.append(value)
    return row


def to_fact(record: type[_Fact], row: sqlite3.Row | Mapping[str, Any]) -> _Fact:
    """Give the fact that the row was made of."""
    values = {}
    for name in COLUMNS[record]:
        value = row[name]
        if value is not None and name == "understood":
            value = _understood(json.loads(value))
        elif value is not None and name in _LISTS:
            value = _tuples(json.loads(value))
        elif name in _YES_OR_NO:
            value = bool(value)
        values[name] = value
    return record(**values)


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


def _tuples(value: Any) -> Any:
    return tuple(map(_tuples, value)) if isinstance(value, list) else value


def _understood_as(reading: Reading) -> dict[str, Any]:
    # Not the name of a class, which may change while the log stays.
    method = next(m for m, kind in _readings().items() if isinstance(reading, kind))
    return {"method": method, **asdict(reading)}


def _understood(kept: dict[str, Any]) -> Reading:
    kind = _readings()[kept.pop("method")]
    return cast("Reading", kind(**kept))


def _readings() -> dict[Method, type]:
    from lapping import readings

    return {
        "dial": readings.DialReading,
        "feeler": readings.FeelerReading,
        "straightedge": readings.EdgeReading,
        "level": readings.LevelReading,
        "winding": readings.WindingReading,
        "square": readings.SquareReading,
    }
