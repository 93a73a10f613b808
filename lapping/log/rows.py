"""Facts as rows of their tables, and rows as facts again."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, TypeVar, cast

if TYPE_CHECKING:
    import sqlite3

    from lapping.readings import Method, Reading

TABLES: Mapping[str, str] = {
    "Plane": "plane",
    "PlaneFace": "face",
    "Gauge": "gauge",
    "Lap": "lap",
    "Paper": "paper",
    "Strokes": "strokes",
    "LoggedSet": "reading_set",
    "LoggedReading": "reading",
    "SetMark": "set_mark",
    "Note": "note",
    "Photo": "photo",
}
"""Records and the tables of their kind; by name, so that only those used are loaded."""
_COLUMNS: dict[type, tuple[str, ...]] = {}
_INSERTIONS: dict[type, str] = {}
# Worked out once each: a reading must be saved before the hand is at the next place.
_AS_JSON = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode
_LISTS: Mapping[str, tuple[type, ...] | type] = {
    "settings": (str, str),
    "headers": (str, str, int),
    "zones": str,
    "columns": str,
    "cells": str,
    "places": tuple,
}
"""What each list holds; it is JSON, which the database does not look into."""
_YES_OR_NO = {"fresh_sheet", "turned", "iron_in"}
_Fact = TypeVar("_Fact")


def table_of(record: type) -> str:
    """Give the table that keeps these records."""
    return TABLES[record.__name__]


def record_of(table: str) -> type:
    """Give the record that a row of the table is."""
    from lapping import history

    name = next(name for name, one in TABLES.items() if one == table)
    found: type = getattr(history, name)
    return found


def columns_of_record(record: type[Any]) -> tuple[str, ...]:
    """Give the columns of the record's table, without its number."""
    if record not in _COLUMNS:
        _COLUMNS[record] = tuple(field.name for field in fields(record))
    return _COLUMNS[record]


def insertion_of(record: type[Any]) -> str:
    """Give the statement that adds a row under a number."""
    if record not in _INSERTIONS:
        names = ", ".join(f'"{name}"' for name in columns_of_record(record))
        marks = ", ".join("?" * len(columns_of_record(record)))
        _INSERTIONS[record] = (
            f"INSERT INTO {table_of(record)} (id, {names}) VALUES (?, {marks})"
        )
    return _INSERTIONS[record]


def to_row(fact: Any) -> list[str | int | float | None]:
    """Give the fact's columns as SQLite keeps them."""
    row: list[Any] = []
    for name in columns_of_record(type(fact)):
        value = getattr(fact, name)
        if name == "understood" and value is not None:
            value = _AS_JSON(_understood_as(value))
        elif name in _LISTS and value is not None:
            value = _AS_JSON(value)
        elif name in _YES_OR_NO:
            value = int(value)
        row.append(value)
    return row


def to_fact(record: type[_Fact], row: sqlite3.Row | Mapping[str, Any]) -> _Fact:
    """Give the fact that the row was made of."""
    values = {}
    for name in columns_of_record(record):
        value = row[name]
        if value is not None and name == "understood":
            value = _understood(json.loads(value))
        elif value is not None and name in _LISTS:
            value = to_list(name, value)
        elif name in _YES_OR_NO:
            value = bool(value)
        values[name] = value
    return record(**values)


# Session after session the same cells come again.
@lru_cache(maxsize=1000)
def to_list(name: str, text: str) -> tuple[Any, ...]:
    """Give the list that a column of this name keeps as JSON; ValueError if none."""
    value: tuple[Any, ...] = _tuples(json.loads(text))
    _check_list(name, value)
    return value


def _tuples(value: Any) -> Any:
    return tuple(map(_tuples, value)) if isinstance(value, list) else value


def _check_list(name: str, value: Any) -> None:
    """Refuse a list that does not hold what it should; ValueError says which."""
    holds = _LISTS[name]
    if not isinstance(value, tuple) or not all(_is(one, holds) for one in value):
        message = f"{name} is no list of what it should hold"
        raise ValueError(message)


def _is(value: Any, holds: tuple[type, ...] | type) -> bool:
    if holds is tuple:
        return isinstance(value, tuple) and all(isinstance(one, str) for one in value)
    if isinstance(holds, tuple):
        return isinstance(value, tuple) and tuple(map(type, value)) == holds
    return isinstance(value, holds)


def _understood_as(reading: Reading) -> dict[str, Any]:
    # Not the name of a class, which may change while the log stays.
    kind = type(reading)
    method = next(m for m, one in _readings().items() if one is kind)
    return {"method": method} | {
        name: getattr(reading, name) for name in columns_of_record(kind)
    }


def _understood(kept: dict[str, Any]) -> Reading:
    kind = _readings()[kept.pop("method")]
    return cast("Reading", kind(**kept))


@cache
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
