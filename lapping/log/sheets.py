"""The tables of a log as CSV, a blank cell being one that was not said.

No column of the log holds empty text, so nothing is lost by that. Numbers are written
as Python writes them, which reads back as the same number.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from math import isfinite
from pathlib import Path
from typing import Any

from lapping.errors import BadInput
from lapping.log.opening import Log

Rows = list[tuple[Any, ...]]
LONGEST_CELL = 50_000_000


def _whole_number(text: str) -> int:
    number = int(text)
    if not -(2**63) <= number < 2**63:
        message = f"{text[:20]}… is no number that a log can hold"
        raise ValueError(message)
    return number


def _number(text: str) -> float:
    number = float(text)
    if not isfinite(number):
        # SQLite would keep NaN as "not said".
        message = f"{text[:20]} is no number"
        raise ValueError(message)
    return number


_KINDS: Mapping[str, Callable[[str], Any]] = {
    "INTEGER": _whole_number,
    "REAL": _number,
    "TEXT": str,
}


def columns_of(log: Log, table: str) -> dict[str, str]:
    """Give the columns of a table and the kind of each."""
    return {row[1]: row[2] for row in log.db.execute(f"PRAGMA table_info({table})")}


def to_csv(log: Log, table: str) -> tuple[bytes, int]:
    """Give the whole table as CSV, and how many rows it has."""
    columns = columns_of(log, table)
    names = ", ".join(f'"{name}"' for name in columns)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(columns)
    count = 0
    for row in log.db.execute(f"SELECT {names} FROM {table} ORDER BY id"):
        writer.writerow(["" if cell is None else cell for cell in row])
        count += 1
    return text.getvalue().encode("utf-8"), count


def from_csv(log: Log, table: str, path: Path) -> Rows:
    """Read such a file; columns that a later version added are not said."""
    kinds = columns_of(log, table)
    # A readings file kept whole is longer than csv takes; others keep its limit.
    usual = csv.field_size_limit(LONGEST_CELL)
    try:
        text = path.read_bytes().decode("utf-8-sig")
        head, *rows = csv.reader(io.StringIO(text, newline=""), strict=True)
    except FileNotFoundError:
        message = f"{path} is missing; nothing was kept"
        raise BadInput(message) from None
    except (OSError, ValueError, csv.Error) as problem:
        message = f"{path} is no table of a log ({problem}); nothing was kept"
        raise BadInput(message) from problem
    finally:
        csv.field_size_limit(usual)
    unknown = [name for name in head if name not in kinds]
    if unknown or len(set(head)) < len(head):
        message = f"{path}: the columns {', '.join(head)} are not those of a log"
        raise BadInput(message)
    found = []
    for number, row in enumerate(rows, start=2):
        if len(row) != len(head):
            message = (
                f"{path}, row {number}: {len(row)} cells under {len(head)} columns"
            )
            raise BadInput(message)
        cells = dict(zip(head, row, strict=True))
        try:
            found.append(
                tuple(
                    _KINDS[kind](cells[name]) if cells.get(name) else None
                    for name, kind in kinds.items()
                )
            )
        except ValueError as problem:
            message = f"{path}, row {number}: {problem}; nothing was kept"
            raise BadInput(message) from problem
    return found
