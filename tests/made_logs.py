"""An invented workshop's log: planes with plant names, and a few ways to enter them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

from lapping.kept import Plane
from lapping.log.entering import OpenSet, start_set
from lapping.log.opening import Log, open_log
from lapping.log.planes import FaceEntry, add_face, add_plane, make_face, the_face
from lapping.log.schema import KINDS

SOLE = (("face", "sole"), ("length", "250mm"), ("width", "60mm"))
DIAL = (("unit", "um"), ("sense", "high-positive"))
COLUMNS = ("along", "across", "reading")
ROWS = (("5", "5", "0"), ("125", "30", "-12"), ("245", "55", "4"), ("5", "55", "2"))
NIGHT = datetime(2031, 3, 1, 20, 0, tzinfo=UTC)
TABLES = ("session", "entry", *KINDS)


class Clock:
    """A clock that stands still until it is put forward, or back."""

    def __init__(self) -> None:
        self.now = NIGHT

    def __call__(self) -> datetime:
        return self.now

    def forward(self, hours: float) -> None:
        self.now += timedelta(hours=hours)


@contextmanager
def bench(path: Path, clock: Clock | None = None) -> Iterator[Log]:
    """Open a log with a clock of ours."""
    with open_log(path, clock=clock or Clock()) as log:
        yield log


def bramble(log: Log, name: str = "Bramble") -> FaceEntry:
    """Set up one plane with its sole."""
    add_face(log, make_face("sole", SOLE), add_plane(log, Plane(name=name)))
    return the_face(log, f"{name}/sole")


def dial_set(
    log: Log, face: FaceEntry, rows: Sequence[Sequence[str]] = ROWS
) -> OpenSet:
    """Begin a set by dial and read these rows."""
    begun = start_set(log, face, "dial", COLUMNS, headers=DIAL)
    for row in rows:
        begun.add(row)
    return begun


def everything(log: Log) -> dict[str, list[tuple[object, ...]]]:
    """Give every row of every table."""
    return {
        table: log.db.execute(f"SELECT * FROM {table} ORDER BY id").fetchall()
        for table in TABLES
    }
