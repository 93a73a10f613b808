"""A folder of tables written by hand or by another program: its gaps filled in.

An exported folder says in its manifest how many rows each table has, and nothing may be
missing from it. One without those counts was written elsewhere, and need say only what
cannot be worked out from the rest.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from lapping.errors import BadInput
from lapping.history import Entry, LoggedReading, LoggedSet
from lapping.log.entering import OpenSet
from lapping.log.entries import SESSION_PAUSE
from lapping.log.opening import Log
from lapping.log.rows import columns_of_record, to_fact, to_row
from lapping.log.schema import KINDS
from lapping.log.sets import as_sheet, read_setup
from lapping.log.sheets import Rows, columns_of, from_csv

_Row = dict[str, Any]
_USUAL: Mapping[str, Mapping[str, Any]] = {
    "entry": {"taken_back": 0},
    "plane": {"kind": "bench plane", "metal": "cast iron"},
    "face": {"zones": "[]"},
    "strokes": {"fresh_sheet": 0, "turned": 0, "iron_in": 1},
    "reading_set": {"places": "[]", "delimiter": ","},
}
"""What is taken for said where a cell is blank or its column is not there."""


def tables_by_hand(log: Log, folder: Path) -> dict[str, Rows]:
    """Read the tables of such a folder, with all that follows from them filled in.

    A missing table is an empty one. BadInput says what cannot be done without.
    """
    names = ("session", "entry", *KINDS)
    if not (folder / "entry.csv").exists():
        message = f"{folder / 'entry.csv'} is missing: it numbers all that was entered"
        raise BadInput(message)
    read = {table: _with_usual(log, table, folder / f"{table}.csv") for table in names}
    _entries(read, folder)
    _readings(log, read, folder)
    return {
        table: [tuple(row[name] for name in columns_of(log, table)) for row in rows]
        for table, rows in read.items()
    }


def _with_usual(log: Log, table: str, path: Path) -> list[_Row]:
    if not path.exists():
        return []
    columns = list(columns_of(log, table))
    usual = _USUAL.get(table, {})
    found = []
    for cells in from_csv(log, table, path):
        row = dict(zip(columns, cells, strict=True))
        found.append(row | {k: v for k, v in usual.items() if row[k] is None})
    return found


def _entries(read: dict[str, list[_Row]], folder: Path) -> None:
    """Say what an entry corrects, of what kind it is, and to which session it belongs.

    An entry corrects nothing unless it says so. Without any session, a pause of hours
    begins a new one, as it does in a log.
    """
    path = folder / "entry.csv"
    kinds = {row["id"]: table for table in KINDS for row in read[table]}
    roots: dict[int, int] = {}
    session, before = 0, None
    rows = sorted(read["entry"], key=lambda row: row["id"] or 0)
    for row in rows:
        number = row["id"]
        if number is None or row["entered_at"] is None:
            message = f"{path}: every entry needs its id and when it was entered_at"
            raise BadInput(message)
        try:
            at = datetime.fromisoformat(row["entered_at"])
        except ValueError:
            message = (
                f"{path}, entry {number}: '{row['entered_at']}' is no time; write it "
                "as 2031-03-01T20:15:00+00:00"
            )
            raise BadInput(message) from None
        at = at if at.tzinfo is not None else at.astimezone()
        if row["root"] is None:
            row["root"] = roots.get(row["replaces"] or number, number)
        roots[number] = row["root"]
        row["kind"] = row["kind"] or kinds.get(number)
        if before is None or at - before >= SESSION_PAUSE:
            session += 1
        before = at
        row["session"] = row["session"] or session
    # As they were entered, whatever the order of lines in the file.
    read["entry"] = rows
    there = {row["id"] for row in read["session"]}
    for row in rows:
        if row["session"] not in there:
            there.add(row["session"])
            read["session"].append(
                {"id": row["session"], "started_at": row["entered_at"]}
            )


def _readings(log: Log, read: dict[str, list[_Row]], folder: Path) -> None:
    """Understand cells as typed, by the header lines of their set."""
    sets: dict[int, OpenSet] = {}
    lines: dict[int, int] = {}
    for row in read["reading"]:
        number = row["set"]
        lines[number] = row["line"] or lines.get(number, 0) + 1
        row["line"] = lines[number]
        if row["cells"] is None or row["understood"] is not None:
            continue
        where = f"{folder / 'reading.csv'}, reading {row['id']}"
        if number not in sets:
            sets[number] = _opened(log, read, number, where)
        try:
            cells = json.loads(row["cells"])
        except ValueError:
            cells = None
        if not isinstance(cells, list) or not all(isinstance(c, str) for c in cells):
            message = (
                f'{where}: the cells are a JSON list of texts, as ["5","30","-12"]'
            )
            raise BadInput(message)
        fact = LoggedReading(
            set=number,
            line=row["line"],
            cells=tuple(cells),
            understood=sets[number].understand(cells, row["line"]),
        )
        kept = dict(zip(columns_of_record(LoggedReading), to_row(fact), strict=True))
        row["understood"] = kept["understood"]


def _opened(
    log: Log, read: Mapping[str, list[_Row]], number: int, where: str
) -> OpenSet:
    found = next((row for row in read["reading_set"] if row["id"] == number), None)
    if found is None:
        message = f"{where}: there is no set {number} in reading_set.csv"
        raise BadInput(message)
    try:
        fact = to_fact(LoggedSet, found)
        source = f"set {number}"
        header = read_setup(fact, source)
    except (ValueError, TypeError) as problem:
        message = (
            f"{where}: the header lines of set {number} cannot be read ({problem}); "
            'headers are a JSON list as [["method","dial",1],["unit","um",2]] and '
            'columns one as ["along","across","reading"]'
        )
        raise BadInput(message) from problem
    entry = Entry(
        id=number, root=number, replaces=None, session=0, entered_at="", fact=fact
    )
    return OpenSet(
        log=log, entry=entry, source=source, header=header, sheet=as_sheet(fact, ())
    )
