"""Entries: keep a fact, replace it by another, take it back, find what holds now."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, TypeVar

from lapping.errors import BadInput
from lapping.kept import Entry
from lapping.log.opening import Log, writing
from lapping.log.rows import insertion_of, record_of, table_of, to_fact, to_row
from lapping.log.stood_on import refuse_if_stood_on

if TYPE_CHECKING:
    from lapping.history import Fact

SESSION_PAUSE = timedelta(hours=6)
"""After a pause as long as this the next entry begins a session of its own."""
MOST_ENTRIES = 2**63 - 1
_Fact = TypeVar("_Fact", bound="Fact")
HOLDS = "NOT EXISTS (SELECT 1 FROM entry AS later WHERE later.replaces = entry.id)"


def keep(log: Log, fact: _Fact) -> Entry[_Fact]:
    """Add a fact; it is on disk when this returns."""
    with writing(log):
        return add(log, fact)


def replace(log: Log, entry: int, fact: _Fact) -> Entry[_Fact]:
    """Correct an entry by a fact in its place; the old one is kept below it."""
    with writing(log):
        return add(log, fact, replaces=entry)


def take_back(log: Log, entry: int) -> None:
    """Say that an entry does not hold; of a correction, that the older one does.

    An entry that was let hold again is named by its own number as well. What it was
    let hold in place of is not what came before it, or two versions would go on
    giving way to each other and neither could ever be taken back.
    """
    with writing(log):
        before = _entry(log, entry)
        last = _entry(log, _last(log, before["root"]))
        if not _says_the_same(log, before, last):
            raise BadInput(_not_holding(before, last))
        first = _first_such(log, last)
        if first["replaces"] is None:
            refuse_if_stood_on(log, first)
            _insert(log, last["kind"], last["root"], last["id"], taken_back=True)
        else:
            _again(log, last, first["replaces"])


def bring_back(log: Log, entry: int) -> None:
    """Let an entry hold again that was replaced or taken back."""
    with writing(log):
        wanted = _entry(log, entry)
        last = _last(log, wanted["root"])
        if last == entry:
            message = f"entry {entry} holds as it is; there is nothing to bring back"
            raise BadInput(message)
        _again(log, _entry(log, last), entry)


def add(log: Log, fact: _Fact, *, replaces: int | None = None) -> Entry[_Fact]:
    """Add a fact inside a transaction that is already open."""
    kind = table_of(type(fact))
    root = None
    if replaces is not None:
        before = _entry(log, replaces)
        last = _last(log, before["root"])
        if last != replaces:
            raise BadInput(_not_holding(before, _entry(log, last)))
        if before["kind"] != kind:
            message = f"entry {replaces} is a {before['kind']}, not a {kind}"
            raise BadInput(message)
        root = before["root"]
    number, root, session, at = _insert(log, kind, root, replaces)
    log.db.execute(insertion_of(type(fact)), [number, *to_row(fact)])
    return Entry(
        id=number,
        root=root,
        replaces=replaces,
        session=session,
        entered_at=at,
        fact=fact,
    )


def held(
    log: Log, record: type[_Fact], where: str = "1", *values: str | int | None
) -> list[Entry[_Fact]]:
    """Give the entries of a kind that hold now, in the order they were first made.

    Session and time are those of the first entry, when it was done.
    """
    table = table_of(record)
    rows = _rows(
        log,
        # The table of the kind first: there are far more entries than, say, planes.
        f"SELECT {table}.*, entry.id, entry.root, entry.replaces, made.session, "
        f"made.entered_at FROM {table} CROSS JOIN entry USING (id) JOIN entry AS made "
        f"ON made.id = entry.root WHERE {HOLDS} AND ({where}) ORDER BY entry.root",
        *values,
    )
    return [_to_entry(record, row) for row in rows]


def now_holding(log: Log, record: type[_Fact], root: int) -> Entry[_Fact] | None:
    """Give what holds now of an entry once made, or None if it was taken back."""
    last = _last(log, root)
    rows = held(log, record, f"{table_of(record)}.id = ?", last)
    return rows[0] if rows else None


def root_of(log: Log, number: int) -> int:
    """Give the entry that this one corrects in the end, or refuse."""
    return int(_entry(log, number)["root"])


def past(log: Log, root: int) -> list[Entry[Fact | None]]:
    """Give an entry and all that replaced it; the fact is None where taken back."""
    found: list[Entry[Fact | None]] = []
    for row in _rows(
        log, "SELECT * FROM entry WHERE id = ? OR root = ? ORDER BY id", root, root
    ):
        fact = None
        if not row["taken_back"]:
            fact = _content(log, row["kind"], row["id"])
        found.append(_with_fact(row, fact))
    return found


def _first_such(log: Log, last: sqlite3.Row) -> sqlite3.Row:
    """Give the first version of an entry that says what the last one says."""
    versions = _rows(
        log,
        "SELECT * FROM entry WHERE id = ? OR root = ? ORDER BY id",
        last["root"],
        last["root"],
    )
    return next(one for one in versions if _says_the_same(log, one, last))


def _again(log: Log, last: sqlite3.Row, older: int) -> None:
    """Let the content of an older entry hold again, as a new entry."""
    kind = last["kind"]
    if _entry(log, older)["taken_back"]:
        _insert(log, kind, last["root"], last["id"], taken_back=True)
    else:
        add(log, _content(log, kind, older), replaces=last["id"])


def _content(log: Log, kind: str, number: int) -> Fact:
    rows = _rows(log, f"SELECT * FROM {kind} WHERE id = ?", number)
    fact: Fact = to_fact(record_of(kind), next(rows))
    return fact


def _insert(
    log: Log,
    kind: str,
    root: int | None,
    replaces: int | None,
    *,
    taken_back: bool = False,
) -> tuple[int, int, int, str]:
    at = log.clock().isoformat(timespec="seconds")
    session = _session(log, at)
    (last,) = log.db.execute("SELECT coalesce(max(id), 0) FROM entry").fetchone()
    number = last + 1
    root = number if root is None else root
    log.db.execute(
        "INSERT INTO entry (id, root, replaces, kind, taken_back, session, entered_at, "
        "sent_as) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
        (number, root, replaces, kind, int(taken_back), session, at, log.sending),
    )
    log.sending = None
    return number, root, session, at


def _session(log: Log, at: str) -> int:
    """Give the session going on, or begin one after a long pause.

    A clock that was put back makes no pause: order and sessions do not hang on it.
    """
    if log.session is not None:
        return log.session
    last = log.db.execute(
        "SELECT session, entered_at FROM entry ORDER BY id DESC LIMIT 1"
    ).fetchone()
    if last is not None:
        pause = datetime.fromisoformat(at) - datetime.fromisoformat(last[1])
        if pause < SESSION_PAUSE:
            log.session = int(last[0])
            return log.session
    begun = log.db.execute("INSERT INTO session (started_at) VALUES (?)", (at,))
    log.session = int(begun.lastrowid or 0)
    return log.session


def _last(log: Log, root: int) -> int:
    row = log.db.execute(
        "SELECT max(id) FROM entry WHERE root = ? AND replaces NOT NULL", (root,)
    )
    (found,) = row.fetchone()
    return root if found is None else int(found)


def _entry(log: Log, number: int) -> sqlite3.Row:
    found = None
    if 0 < number <= MOST_ENTRIES:
        found = next(_rows(log, "SELECT * FROM entry WHERE id = ?", number), None)
    if found is None:
        message = f"there is no entry {number} in {log.path}"
        raise BadInput(message)
    return found


def _not_holding(before: sqlite3.Row, last: sqlite3.Row) -> str:
    said = f"entry {before['id']}"
    if last["taken_back"]:
        again = f"'lapping log again {before['id']}' lets it hold"
        return f"{said} is taken back already; {again}"
    return f"{said} was replaced, and entry {last['id']} holds in its place"


def _says_the_same(log: Log, one: sqlite3.Row, other: sqlite3.Row) -> bool:
    if one["taken_back"] or other["taken_back"]:
        return bool(one["taken_back"] and other["taken_back"])
    kind = one["kind"]
    return _content(log, kind, one["id"]) == _content(log, kind, other["id"])


def _rows(log: Log, sql: str, *values: str | int | None) -> Iterator[sqlite3.Row]:
    cursor = log.db.cursor()
    cursor.row_factory = sqlite3.Row
    return iter(cursor.execute(sql, values))


def _to_entry(record: type[_Fact], row: sqlite3.Row) -> Entry[_Fact]:
    return _with_fact(row, to_fact(record, row))


_Any = TypeVar("_Any")


def _with_fact(row: sqlite3.Row, fact: _Any) -> Entry[_Any]:
    return Entry(
        id=row["id"],
        root=row["root"],
        replaces=row["replaces"],
        session=row["session"],
        entered_at=row["entered_at"],
        fact=fact,
    )
