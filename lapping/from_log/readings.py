"""The readings that show a face as it is now, from the log."""

from __future__ import annotations

from dataclasses import replace

from lapping.errors import BadInput
from lapping.log.look_back import newest_sets, runs_since
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, face_label
from lapping.log.sets import as_readings
from lapping.readings import ReadingSet
from lapping.units import MICROMETRES, parse_target_um


def readings_now(log: Log, face: FaceEntry) -> list[ReadingSet]:
    """Give the newest finished sets of a face; BadInput where there is none.

    If strokes were made since, each says so among its warnings. The target kept for
    the face comes before those of the sets, as it does in advice and reports.
    """
    newest = newest_sets(log, face)
    since = runs_since(log, face, newest)
    target_um = target_kept(log, face)
    # The same file brought in twice is one set of readings all the same.
    found = (
        _aimed(_minding(as_readings(log, one), since), face.fact.target, target_um)
        for one in newest
    )
    return list(dict.fromkeys(found))


def target_kept(log: Log, face: FaceEntry) -> float | None:
    """Give the target that was kept for a face, None where none was."""
    if face.fact.target is None:
        return None
    try:
        return parse_target_um(face.fact.target)
    except BadInput as trouble:
        message = f"the target of {face_label(log, face)}: {trouble}"
        raise BadInput(message) from trouble


def _aimed(
    readings: ReadingSet, typed: str | None, target_um: float | None
) -> ReadingSet:
    if target_um is None or readings.target_um == target_um:
        return readings
    said = readings.warnings
    if readings.target_um is not None:
        own = MICROMETRES.limit(readings.target_um)
        said = (
            f"the target kept for this face, {typed}, comes before that of the "
            f"readings, {own} µm.",
            *said,
        )
    return replace(readings, target_um=target_um, warnings=said)


def _minding(readings: ReadingSet, since: int) -> ReadingSet:
    if since == 0:
        return readings
    runs = "a run of strokes was" if since == 1 else f"{since} runs of strokes were"
    said = f"{runs} made since this was read: the face was so before, not now."
    return replace(readings, warnings=(said, *readings.warnings))
