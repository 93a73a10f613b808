"""Read one place after another into the log, each reading on disk before the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from dataclasses import replace as changed
from functools import lru_cache

from lapping.errors import BadInput
from lapping.history import Entry, Gauge, LoggedReading, LoggedSet, SetMark, Settings
from lapping.log.entries import add, bring_back, take_back
from lapping.log.opening import Log, writing
from lapping.log.planes import FaceEntry, face_label
from lapping.log.sets import (
    ReadingEntry,
    SetEntry,
    as_readings,
    as_sheet,
    is_closed,
    read_setup,
    readings_of,
    source_of,
    the_set,
)
from lapping.readings import EdgeReading, Method, Reading, ReadingSet
from lapping.readings_file.headers import Header
from lapping.readings_file.reading import read_rows
from lapping.readings_file.table import Table
from lapping.readings_file.text import Mistakes, Row, Sheet

KEPT_ROWS = 8192


@dataclass(slots=True, kw_only=True, eq=False)
class OpenSet:
    """A set being read: each reading is on disk when the call that adds it returns."""

    log: Log
    entry: SetEntry
    source: str
    header: Header
    sheet: Sheet

    @property
    def number(self) -> int:
        """Give the number that names the set for good."""
        return self.entry.root

    def readings(self) -> list[ReadingEntry]:
        """Give the readings that hold now, skipped places among them, in order."""
        return readings_of(self.log, self.number)

    def understand(
        self, cells: Sequence[str] | Mapping[str, str], line: int = 1
    ) -> Reading:
        """Say what a row means, or refuse it; nothing is kept."""
        row = Row(self._cells(cells), line)
        return _understood(self.sheet, self.header, self.source, row)

    def add(
        self,
        cells: Sequence[str] | Mapping[str, str],
        *,
        place: int | None = None,
        note: str | None = None,
    ) -> ReadingEntry:
        """Keep one reading as typed and as understood, or refuse it."""
        with writing(self.log):
            line = self._next_line()
            return add(self.log, self._reading(cells, line, place, note))

    def replace(
        self,
        old: ReadingEntry,
        cells: Sequence[str] | Mapping[str, str],
        *,
        note: str | None = None,
    ) -> ReadingEntry:
        """Correct a reading, or read a place that was skipped; the old one is kept."""
        with writing(self.log):
            fact = self._reading(
                cells, old.fact.line, old.fact.place, note, instead_of=old.root
            )
            return add(self.log, fact, replaces=old.id)

    def skip(self, place: int, *, note: str | None = None) -> ReadingEntry:
        """Keep that a planned place was passed over."""
        with writing(self.log):
            fact = LoggedReading(
                set=self.number,
                line=self._next_line(),
                cells=None,
                understood=None,
                place=place,
                note=note,
            )
            return add(self.log, fact)

    def take_back(self, reading: ReadingEntry) -> None:
        """Let a reading not hold; of a correction, let the older one hold again."""
        take_back(self.log, reading.id)

    def bring_back(self, reading: ReadingEntry) -> None:
        """Let a reading hold again that was replaced or taken back."""
        bring_back(self.log, reading.id)

    def as_readings(self) -> ReadingSet:
        """Read the set back, or refuse it with every mistake in it."""
        return as_readings(self.log, self.entry)

    def finish(self) -> ReadingSet:
        """Close the set; BadInput, and it stays open, if it shows nothing yet."""
        with writing(self.log):
            found = self.as_readings()
            add(self.log, SetMark(set=self.number, state="finished"))
        return found

    def set_aside(self) -> None:
        """Close the set without an answer; what was read is kept."""
        with writing(self.log):
            add(self.log, SetMark(set=self.number, state="set aside"))

    def _reading(
        self,
        cells: Sequence[str] | Mapping[str, str],
        line: int,
        place: int | None,
        note: str | None,
        instead_of: int | None = None,
    ) -> LoggedReading:
        understood = self.understand(cells, line)
        if isinstance(understood, EdgeReading):
            self._not_read_yet(understood, instead_of)
        return LoggedReading(
            set=self.number,
            line=line,
            cells=self._cells(cells),
            understood=understood,
            place=place,
            note=note,
        )

    def _not_read_yet(self, new: EdgeReading, instead_of: int | None) -> None:
        for entry in self.readings():
            one = entry.fact.understood
            if (
                entry.root != instead_of
                and isinstance(one, EdgeReading)
                and (
                    (one.line_name, one.seat, one.along_mm, one.across_mm)
                    == (new.line_name, new.seat, new.along_mm, new.across_mm)
                )
            ):
                message = (
                    f"line '{new.line_name}' was read at this place already "
                    f"({one.entered_as}); correct that, or lay the edge down anew and "
                    "name its seating in 'seat'"
                )
                raise BadInput(message)

    def _cells(self, cells: Sequence[str] | Mapping[str, str]) -> tuple[str, ...]:
        columns = self.entry.fact.columns
        if isinstance(cells, Mapping):
            return tuple(cells.get(name, "").strip() for name in columns)
        return tuple(cell.strip() for cell in cells)

    def _next_line(self) -> int:
        (last,) = self.log.db.execute(
            'SELECT coalesce(max(line), 0) FROM reading WHERE "set" = ?', (self.number,)
        ).fetchone()
        return int(last) + 1


@lru_cache(maxsize=KEPT_ROWS)
def _understood(sheet: Sheet, header: Header, source: str, row: Row) -> Reading:
    """Say what a row means; bringing a log in and testing it ask the same of each."""
    mistakes = Mistakes(source)
    found = read_rows(
        Table(changed(sheet, rows=(row,)), header, mistakes, unfinished=True)
    )
    mistakes.refuse()
    return found[0]


def start_set(
    log: Log,
    face: FaceEntry,
    method: Method,
    columns: Sequence[str],
    *,
    gauge: Entry[Gauge] | None = None,
    headers: Settings = (),
    places: Sequence[Sequence[str]] = (),
    units: str | None = None,
) -> OpenSet:
    """Begin a set: header lines of the face, then the gauge, then ``headers``.

    A key said again replaces the earlier value. ``places`` are the planned places, in
    order, each the cells that say where.
    """
    said = {"method": method, **dict(face.fact.settings)}
    if face.fact.target is not None:
        said["target"] = face.fact.target
    said |= dict(gauge.fact.settings) if gauge is not None else {}
    said |= dict(headers)
    fact = LoggedSet(
        face=face.root,
        method=method,
        headers=tuple((key, said[key], line) for line, key in enumerate(said, start=1)),
        columns=tuple(columns),
        gauge=None if gauge is None else gauge.root,
        places=tuple(map(tuple, places)),
        units=units,
    )
    read_setup(fact, face_label(log, face))
    with writing(log):
        return opened(log, add(log, fact))


def take_up(log: Log, number: int) -> OpenSet:
    """Go on with a set; one that was closed is open again."""
    entry = the_set(log, number)
    if is_closed(log, entry.root):
        with writing(log):
            add(log, SetMark(set=entry.root, state="taken up again"))
    return opened(log, entry)


def opened(log: Log, entry: SetEntry) -> OpenSet:
    """Give the set for reading on in it."""
    source = source_of(log, entry)
    return OpenSet(
        log=log,
        entry=entry,
        source=source,
        header=read_setup(entry.fact, source),
        sheet=as_sheet(entry.fact, ()),
    )
