"""What a sheet to read a face on paper holds: face, pattern, what to fill in."""

from __future__ import annotations

from dataclasses import dataclass

from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import Gauge
from lapping.kept import Settings
from lapping.log.bench import the_named
from lapping.log.entries import now_holding
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, face_label, read_settings
from lapping.log.sets import sets_of
from lapping.patterns.lines import pattern_for
from lapping.printed.reading_sheet import ReadingSheet
from lapping.prompt.cells import columns_of, where_cells
from lapping.prompt.gauge import WORD_OF, describe, parse_method
from lapping.readings import Method
from lapping.units import parse_length_mm

TO_FILL_IN: dict[Method, tuple[str, ...]] = {
    "dial": ("unit", "sense", "repeatability", "reference_flatness"),
    "feeler": ("unit", "leaves", "reference_flatness"),
    "straightedge": ("unit", "leaves", "reference_flatness"),
    "level": ("unit", "datum"),
    "winding": ("unit",),
    "square": ("unit",),
}
"""What a file of each method has to say beside its face, or had better."""


@dataclass(frozen=True, slots=True, kw_only=True)
class With:
    """What is read with, as said; None where nothing was."""

    gauge: str | None = None
    method: str | None = None
    base: str | None = None


def sheet_of(log: Log, entry: FaceEntry, said_with: With) -> ReadingSheet:
    """Give the sheet for a face in the log, and the gauge used last on it."""
    said = entry.fact.settings
    if entry.fact.target is not None:
        said = (*said, ("target", entry.fact.target))
    gauge = _gauge(log, entry, said_with)
    drawn = read_settings(entry.fact.settings)
    return sheet_for(face_label(log, entry), drawn, said, gauge, said_with)


def _gauge(log: Log, face: FaceEntry, wanted: With) -> Gauge | None:
    """Give the gauge named, or the one used last on this face."""
    if wanted.gauge is not None:
        return the_named(log, Gauge, wanted.gauge).fact
    for one in reversed(sets_of(log, face)):
        if one.fact.gauge is not None:
            known = now_holding(log, Gauge, one.fact.gauge)
            method = None if wanted.method is None else parse_method(wanted.method)
            if known is not None and method in (None, known.fact.method):
                return known.fact
    return None


def sheet_for(
    label: str, face: Face, said: Settings, gauge: Gauge | None, wanted: With
) -> ReadingSheet:
    """Give the sheet for a face, with header lines as said of it."""
    method: Method = "dial"
    if wanted.method is not None:
        method = parse_method(wanted.method)
        if gauge is not None and gauge.method != method:
            message = f"{gauge.name} is no {WORD_OF[method]}; leave --method out"
            raise BadInput(message)
    elif gauge is not None:
        method = gauge.method
    if method == "square" and face.kind != "side":
        message = "a square is held against a side; this face is none"
        raise BadInput(message)
    base = None if wanted.base is None else parse_length_mm(wanted.base)
    if base is not None and not 0 < 2 * base <= face.length_mm:
        message = f"--base {wanted.base}: at least two steps must fit along the face"
        raise BadInput(message)
    pattern = pattern_for(face, method, base_mm=base)
    if not pattern:
        message = f"{label} has no place to put the gauge on; is its mouth right?"
        raise BadInput(message)
    settings = () if gauge is None else gauge.settings
    leaves = gauge is None or "leaves" in dict(settings)
    columns = columns_of(method, leaves=leaves)
    # A comma in the name of a line would part its cell when it is typed in.
    rows = tuple(
        tuple(cell.replace(",", "") for cell in where_cells(method, place, ""))
        for place in pattern
    )
    if method == "winding":  # the length of the sticks is to be filled in as well
        rows = tuple(cells[:-1] for cells in rows)
    known = dict(settings)
    if method == "level":
        known.setdefault("datum", "gravity")
    header = [("method", method), *said]
    for key in dict.fromkeys((*TO_FILL_IN[method], *known)):
        header.append((key, known.get(key, "")))
    return ReadingSheet(
        label=label,
        face=face,
        method=method,
        gauge=WORD_OF[method] if gauge is None else describe(method, settings),
        pattern=pattern,
        where=columns[: len(rows[0])],
        what=columns[len(rows[0]) :],
        rows=rows,
        header=tuple(header),
    )
