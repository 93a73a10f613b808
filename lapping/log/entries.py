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

if TYPE_CHECKING:
    from lapping.history import Fact

SESSION_PAUSE = timedelta(hours=6)
"""After a pause as long as this the next entry begins a session of its own."""
MOST_ENTRIES = 2**63 - 1
_STANDS_ON = {
    "plane": (("face", "plane"),),
    "face": (("strokes", "face"), ("reading_set", "face"), ("photo", "face")),
}
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
    """Say that an entry does not hold; of a correction, that the older one does."""
    with writing(log):
        before = _entry(log, entry)
        _refuse_if_replaced(log, entry)
        older = before["replaces"]
        if older is None:
            _refuse_if_stood_on(log, before)
            _insert(log, before["kind"], before["root"], entry, taken_back=True)
        else:
            _again(log, before, older)


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
        _refuse_if_replaced(log, replaces)
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
    """Give the entries of a kind that hold now, in the order they were first made."""
    table = table_of(record)
    rows = _rows(
        log,
        # The table of the kind first: there are far more entries than, say, planes.
        f"SELECT * FROM {table} CROSS JOIN entry USING (id) "
        f"WHERE {HOLDS} AND ({where}) ORDER BY root",
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


def _refuse_if_stood_on(log: Log, entry: sqlite3.Row) -> None:
    """Refuse to take back what would leave other entries without a name to find."""
    for table, column in _STANDS_ON.get(entry["kind"], ()):
        (count,) = log.db.execute(
            f"SELECT count(*) FROM {table} AS other WHERE {column} = ? AND NOT EXISTS "
            "(SELECT 1 FROM entry WHERE replaces = other.id)",
            (entry["root"],),
        ).fetchone()
        if count:
            message = (
                f"entry {entry['id']} is a {entry['kind']} that other entries belong "
                "to, and they could not be found without it; take those back first, "
                "or give it another name"
            )
            raise BadInput(message)


def _refuse_if_replaced(log: Log, number: int) -> None:
    later = log.db.execute(
        "SELECT id FROM entry WHERE replaces = ?", (number,)
    ).fetchone()
    if later is not None:
        message = (
            f"entry {number} was replaced or taken back already, by entry {later[0]}; "
            "correct that one"
        )
        raise BadInput(message)


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
