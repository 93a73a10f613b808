"""What was done to a face and measured on it, in the order it was entered."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.errors import BadInput
from lapping.history import Entry, LoggedSet, Note, Photo, Strokes
from lapping.log.bench import notes_about, strokes_of
from lapping.log.entries import held
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, face_label
from lapping.log.sets import SetEntry, sets_of, state_of

Happened = Entry[Strokes] | Entry[LoggedSet] | Entry[Photo] | Entry[Note]


def face_history(log: Log, face: FaceEntry) -> list[Happened]:
    """Give strokes, sets and photos of a face, and remarks on any of them."""
    found: list[Happened] = [
        *strokes_of(log, face.root),
        *sets_of(log, face),
        *held(log, Photo, "face = ?", face.root),
    ]
    for root in (face.root, *(one.root for one in found)):
        found += notes_about(log, root)
    # By number: the clock may have been put back.
    return sorted(found, key=lambda one: one.root)


def readings_held(log: Log, number: int) -> int:
    """Count the readings of a set that hold now, without the places skipped."""
    (count,) = log.db.execute(
        'SELECT count(*) FROM reading WHERE "set" = ? AND cells NOT NULL AND NOT '
        "EXISTS (SELECT 1 FROM entry WHERE replaces = reading.id)",
        (number,),
    ).fetchone()
    return int(count)


def last_entries(log: Log) -> dict[int, int]:
    """Give the newest strokes, set or photo of every face that has any."""
    tables = ("strokes", "reading_set", "photo")
    each = " UNION ALL ".join(
        f"SELECT face, max(id) AS newest FROM {table} GROUP BY face" for table in tables
    )
    return dict(log.db.execute(f"SELECT face, max(newest) FROM ({each}) GROUP BY face"))


def newest_entry(log: Log) -> int:
    """Give the number of the newest entry, by which a change of the log is seen."""
    (newest,) = log.db.execute("SELECT coalesce(max(id), 0) FROM entry").fetchone()
    return int(newest)


def newest_sets(log: Log, face: FaceEntry) -> list[SetEntry]:
    """Give the finished sets that show the face as it is, the oldest first.

    They are those of the session that has the newest, made since the last strokes.
    """
    finished = [
        one for one in sets_of(log, face) if state_of(log, one.root) == "finished"
    ]
    if not finished:
        begun = len(sets_of(log, face))
        message = f"{face_label(log, face)}: no finished reading set is in the log yet"
        if begun:
            message += f"; {begun} begun, 'lapping read' goes on with one"
        raise BadInput(message)
    newest = finished[-1]
    strokes = strokes_of(log, face.root)
    before = [one.root for one in strokes if one.root < newest.root]
    return [
        one
        for one in finished
        if one.session == newest.session and one.root > max(before, default=0)
    ]


def runs_since(log: Log, face: FaceEntry, sets: Sequence[SetEntry]) -> int:
    """Count the runs of strokes made on a face since it was last read."""
    last = max(one.root for one in sets)
    return sum(one.root > last for one in strokes_of(log, face.root))
