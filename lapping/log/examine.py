"""Is the log whole? Every page, every entry and every photo looked at."""

from __future__ import annotations

import sqlite3

from lapping.errors import LappingError
from lapping.history import LoggedReading, LoggedSet, Photo
from lapping.log.entering import opened
from lapping.log.entries import held
from lapping.log.opening import Log
from lapping.log.photos import is_whole, photo_folder, photo_path
from lapping.log.rows import record_of, to_fact
from lapping.log.schema import KINDS
from lapping.log.sheets import columns_of

MOST_SAID = 20


def troubles(log: Log) -> list[str]:
    """Give a sentence for everything that is wrong with the log's entries."""
    try:
        said = log.db.execute(f"PRAGMA integrity_check({MOST_SAID})").fetchall()
    except sqlite3.DatabaseError as problem:
        # So badly that looking at it does not come to an end.
        said = [(problem,)]
    found = [f"the file is damaged ({row[0]})" for row in said if row[0] != "ok"]
    if found:
        return found
    found += [
        f"{row[0]} {row[1]} names a number that no {row[2]} has"
        for row in log.db.execute("PRAGMA foreign_key_check")
    ]
    if found:
        return found
    for kind in KINDS:
        found += [
            f"entry {number} is a {kind} and has no content, or one it should not have"
            for (number,) in log.db.execute(
                "SELECT entry.id FROM entry LEFT JOIN "
                f"{kind} AS content ON content.id = entry.id "
                "WHERE (content.id IS NULL) = (entry.kind = ? AND NOT taken_back)",
                (kind,),
            )
        ]
        found += _unreadable(log, kind)
    return found or [*_photos_without_their_own(log), *_read_otherwise(log)]


def missing_photos(log: Log) -> list[str]:
    """Give a sentence for every photo that is not beside the log as it was kept."""
    return [
        f"{path}: this photo is missing or damaged"
        for entry in held(log, Photo)
        if not is_whole(
            path := photo_path(photo_folder(log.path), entry.fact), entry.fact
        )
    ]


def _photos_without_their_own(log: Log) -> list[str]:
    """Say which photos belong to one from before that is none, or of another face."""
    return [
        f"photo {number} goes with entry {before}, which is no photo from before "
        "strokes on the same face"
        for number, before in log.db.execute(
            "SELECT id, before FROM photo AS after WHERE before NOT NULL AND NOT "
            "EXISTS (SELECT 1 FROM photo WHERE id = after.before AND face = after.face "
            "AND shows = 'before')"
        )
    ]


def _unreadable(log: Log, kind: str) -> list[str]:
    found = []
    columns = list(columns_of(log, kind))
    for row in log.db.execute(f"SELECT * FROM {kind}"):
        values = dict(zip(columns, row, strict=True))
        try:
            to_fact(record_of(kind), values)
        except (
            LappingError,
            ValueError,
            TypeError,
            KeyError,
            AttributeError,
        ) as problem:
            found.append(f"{kind} {values['id']} cannot be understood ({problem})")
    return found


def _read_otherwise(log: Log) -> list[str]:
    """Say which readings mean something else now than when they were typed."""
    found = []
    for entry in held(log, LoggedSet):
        try:
            begun = opened(log, entry)
        except LappingError as problem:
            found.append(f"set {entry.root} cannot be read: {problem}")
            continue
        for one in held(log, LoggedReading, '"set" = ?', entry.root):
            if one.fact.cells is None:
                continue
            try:
                same = begun.understand(one.fact.cells, one.fact.line)
            except LappingError as problem:
                found.append(f"reading {one.id} is refused now: {problem}")
                continue
            if same != one.fact.understood:
                found.append(
                    f"reading {one.id} was typed as {one.fact.cells} and would now be "
                    f"read as {same}, not as {one.fact.understood}"
                )
    return found
