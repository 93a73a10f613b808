"""Readings files into the log: all that was in them, or nothing."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from os import PathLike
from pathlib import Path

from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import LoggedReading, LoggedSet, PlaneFace, SetMark
from lapping.log.entries import add, held, now_holding
from lapping.log.opening import Log, writing
from lapping.log.planes import (
    FACE_KEYS,
    FaceEntry,
    face_label,
    face_without_a_plane,
    faces_of_size,
    read_settings,
)
from lapping.log.sets import SetEntry
from lapping.readings import Reading, ReadingSet
from lapping.readings_file.from_disk import load_text, source_name
from lapping.readings_file.reading import read_sheet
from lapping.readings_file.table import BLOCK_CORNER
from lapping.readings_file.text import Mistakes, Row, Sheet, split_sheet


def import_files(
    log: Log,
    paths: Sequence[str | PathLike[str]],
    *,
    face: FaceEntry | None = None,
    units: str | None = None,
) -> list[SetEntry]:
    """Keep readings files as finished sets of a face, or of the one they describe.

    BadInput with every mistake in all of them, and nothing is kept.
    """
    taken = []
    mistakes: list[str] = []
    for path in map(Path, paths):
        source = source_name(path)
        noted = Mistakes(source)
        try:
            text = load_text(path, source)
            sheet = split_sheet(text, noted)
            taken.append((text, sheet, read_sheet(sheet, units, noted)))
        except BadInput as bad:
            mistakes += bad.mistakes
    if mistakes:
        raise BadInput(mistakes)
    with writing(log):
        return [
            _keep(log, text, sheet, found, face=face, units=units)
            for text, sheet, found in taken
        ]


def _keep(
    log: Log,
    text: str,
    sheet: Sheet,
    found: ReadingSet,
    *,
    face: FaceEntry | None,
    units: str | None,
) -> SetEntry:
    if face is None:
        _refuse_a_stray(log, found)
        settings = ((h.key, h.value) for h in sheet.headers if h.key in FACE_KEYS)
        face = face_without_a_plane(log, tuple(settings))
    else:
        _refuse_another(face_label(log, face), read_settings(face.fact.settings), found)
    _refuse_again(log, text, found.source)
    columns, rows = _columns_and_rows(sheet)
    entry = add(
        log,
        LoggedSet(
            face=face.root,
            method=found.method,
            headers=tuple((h.key, h.value, h.line) for h in sheet.headers),
            columns=columns,
            delimiter=sheet.delimiter,
            units=units,
            source=found.source,
            original=text,
        ),
    )
    readings: tuple[Reading, ...] = found.readings
    for row, reading in zip(rows, readings, strict=True):
        add(
            log,
            LoggedReading(
                set=entry.root, line=row.line, cells=row.cells, understood=reading
            ),
        )
    add(log, SetMark(set=entry.root, state="finished"))
    return entry


def _refuse_again(log: Log, text: str, source: str) -> None:
    """Refuse a file that is there, because one reading told twice is no repeat."""
    for one in held(log, LoggedSet, "original = ?", text):
        face = now_holding(log, PlaneFace, one.fact.face)
        label = f", {face_label(log, face)}" if face else ""
        message = (
            f"{source}: this file is in the log already (entry {one.root}{label}); "
            f"nothing was kept. 'lapping log back {one.root}' takes that one back"
        )
        raise BadInput(message)


def _refuse_a_stray(log: Log, found: ReadingSet) -> None:
    """Refuse to make a face of a size that some plane has."""
    fit = [face_label(log, one) for one in faces_of_size(log, found.face)]
    if fit:
        named = " or ".join(f"--face {shlex.quote(label)}" for label in fit)
        message = (
            f"{found.source}: did you mean {named}? A face of this size is in the log; "
            "if this is another, set up its plane first. Nothing was kept"
        )
        raise BadInput(message)


def _columns_and_rows(sheet: Sheet) -> tuple[tuple[str, ...], list[Row]]:
    """Give the table with a row for each reading, which a block has not."""
    head = sheet.head
    assert head is not None  # or the file would have been refused
    if not BLOCK_CORNER.fullmatch(head.cells[0]):
        columns = _without_blanks(head.cells)
        wide = len(columns)
        return columns, [Row(row.cells[:wide], row.line) for row in sheet.rows]
    along = _without_blanks(head.cells[1:])
    return ("along", "across", "reading"), [
        Row((place, row.cells[0], typed), row.line)
        for row in sheet.rows
        for place, typed in zip(along, row.cells[1:], strict=False)
        if typed
    ]


def _without_blanks(cells: tuple[str, ...]) -> tuple[str, ...]:
    kept = list(cells)
    while kept and not kept[-1]:
        kept.pop()
    return tuple(kept)


def _refuse_another(name: str, known: Face, found: ReadingSet) -> None:
    face = found.face
    sizes = [(f.kind, f.length_mm, f.width_mm) for f in (known, face)]
    if sizes[0] != sizes[1]:
        message = (
            f"{found.source}: its face ({face.kind}, {face.length_mm:g} × "
            f"{face.width_mm:g} mm) is not {name} ({known.kind}, {known.length_mm:g} × "
            f"{known.width_mm:g} mm); nothing was kept"
        )
        raise BadInput(message)
