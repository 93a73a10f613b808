"""Reading sets in the log: begun, read one place after another, read back whole."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from lapping.errors import BadInput
from lapping.history import (
    Entry,
    Header,
    LoggedReading,
    LoggedSet,
    PlaneFace,
    SetMark,
    SetState,
)
from lapping.log.entries import HOLDS, MOST_ENTRIES, held, now_holding
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, face_label
from lapping.log.rows import to_list

if TYPE_CHECKING:
    from lapping.readings import ReadingSet
    from lapping.readings_file.headers import Header as SetHeader
    from lapping.readings_file.text import Row, Sheet

KEPT_SETS = 256
"""Sets read back that are kept, for who asks again after every reading."""
SetEntry = Entry[LoggedSet]
ReadingEntry = Entry[LoggedReading]


# Asked of the log itself, because there are many sets and few of them open.
_OPEN = """coalesce((SELECT state FROM set_mark JOIN entry AS mark USING (id)
    WHERE "set" = entry.root
    AND NOT EXISTS (SELECT 1 FROM entry AS later WHERE later.replaces = mark.id)
    ORDER BY mark.id DESC LIMIT 1), 'begun') NOT IN ('finished', 'set aside')"""


def open_sets(log: Log, face: FaceEntry | None = None) -> list[SetEntry]:
    """Give the sets that were begun and not closed, the newest first."""
    where, values = ("face = ?", [face.root]) if face is not None else ("1", [])
    return held(log, LoggedSet, f"{where} AND {_OPEN}", *values)[::-1]


def sets_of(log: Log, face: FaceEntry) -> list[SetEntry]:
    """Give all sets of a face, the oldest first."""
    return held(log, LoggedSet, "face = ?", face.root)


def the_set(log: Log, number: int) -> SetEntry:
    """Give the set of this number, or refuse."""
    found = None
    if 0 < number <= MOST_ENTRIES:
        found = now_holding(log, LoggedSet, number)
    if found is None:
        message = f"there is no set {number} in {log.path}"
        raise BadInput(message)
    return found


def state_of(log: Log, number: int) -> SetState | None:
    """Give the last mark of a set, None if it was only begun."""
    marks = held(log, SetMark, '"set" = ?', number)
    return max(marks, key=lambda one: one.id).fact.state if marks else None


def is_closed(log: Log, number: int) -> bool:
    """Say whether a set is finished or set aside."""
    return state_of(log, number) in ("finished", "set aside")


def readings_of(log: Log, number: int) -> list[ReadingEntry]:
    """Give the readings of a set that hold now, in the order they were first made."""
    return held(log, LoggedReading, '"set" = ?', number)


def as_readings(log: Log, entry: SetEntry) -> ReadingSet:
    """Read a set back as its file would be read, or refuse it with every mistake."""
    # The readers take time to load, and to list sets nothing is read.
    from lapping.readings_file.text import Row

    # The cells alone: what they were understood as is worked out again.
    kept = log.db.execute(
        'SELECT cells, line FROM reading CROSS JOIN entry USING (id) WHERE "set" = ? '
        f"AND cells NOT NULL AND {HOLDS} ORDER BY root",
        (entry.root,),
    )
    rows = tuple(Row(to_list("cells", cells), line) for cells, line in kept)
    return _read_back(entry.fact, rows, source_of(log, entry))


def times_of(log: Log, number: int) -> list[str]:
    """Give when each reading of a set that holds now was entered."""
    kept = log.db.execute(
        'SELECT entered_at FROM reading CROSS JOIN entry USING (id) WHERE "set" = ? '
        f"AND {HOLDS} ORDER BY root",
        (number,),
    )
    return [at for (at,) in kept]


@lru_cache(maxsize=KEPT_SETS)
def _read_back(fact: LoggedSet, rows: tuple[Row, ...], source: str) -> ReadingSet:
    from lapping.readings_file.reading import read_sheet
    from lapping.readings_file.text import Mistakes

    return read_sheet(as_sheet(fact, rows), fact.units, Mistakes(source))


def source_of(log: Log, entry: SetEntry) -> str:
    """Give what sentences call the set: its file, or its face and number."""
    if entry.fact.source is not None:
        return entry.fact.source
    face = the_face_of(log, entry)
    return f"{face_label(log, face)}, set {entry.root}" if face else f"set {entry.root}"


def the_face_of(log: Log, entry: SetEntry) -> FaceEntry | None:
    """Give the face a set was read of, None if it was taken back."""
    return now_holding(log, PlaneFace, entry.fact.face)


def read_setup(fact: LoggedSet, source: str) -> SetHeader:
    """Check the header lines and the columns of a set."""
    from lapping.readings_file.headers import read_header
    from lapping.readings_file.reading import read_rows
    from lapping.readings_file.table import Table
    from lapping.readings_file.text import Mistakes

    mistakes = Mistakes(source)
    sheet = as_sheet(fact, ())
    header = read_header(sheet, fact.units, mistakes)
    # Only what the heading lacks; that there are no rows yet is no mistake.
    read_rows(Table(sheet, header, mistakes, unfinished=True))
    mistakes.refuse()
    return header


def as_sheet(fact: LoggedSet, rows: tuple[Row, ...]) -> Sheet:
    """Give the set as a readings file taken apart, with these rows."""
    from lapping.readings_file.text import HeaderLine, Row, Sheet

    headers: tuple[Header, ...] = fact.headers
    return Sheet(
        headers=tuple(HeaderLine(*one) for one in headers),
        head=Row(fact.columns, max((line for *_, line in headers), default=0) + 1),
        rows=rows,
        late=(),
        delimiter=fact.delimiter,
    )
