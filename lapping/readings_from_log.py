"""The readings that show a face as it is now, from the log."""

from __future__ import annotations

from dataclasses import replace

from lapping.log.look_back import newest_sets, runs_since
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry
from lapping.log.sets import as_readings
from lapping.readings import ReadingSet


def readings_now(log: Log, face: FaceEntry) -> list[ReadingSet]:
    """Give the newest finished sets of a face; BadInput where there is none.

    If strokes were made since, each says so among its warnings.
    """
    newest = newest_sets(log, face)
    since = runs_since(log, face, newest)
    # The same file brought in twice is one set of readings all the same.
    found = (_minding(as_readings(log, one), since) for one in newest)
    return list(dict.fromkeys(found))


def _minding(readings: ReadingSet, since: int) -> ReadingSet:
    if since == 0:
        return readings
    runs = "a run of strokes was" if since == 1 else f"{since} runs of strokes were"
    said = f"{runs} made since this was read: the face was so before, not now."
    return replace(readings, warnings=(said, *readings.warnings))
