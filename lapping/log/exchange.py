"""A log as a folder of CSV, JSON and photos, and such a folder as a log, lossless."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import tempfile
from pathlib import Path
from typing import Any

from lapping.errors import BadInput, LogFromTheFuture
from lapping.history import Photo
from lapping.log.by_hand import tables_by_hand
from lapping.log.examine import troubles
from lapping.log.opening import Log, reading, writing
from lapping.log.photos import is_whole, photo_folder, photo_path, store
from lapping.log.rows import to_fact
from lapping.log.schema import KINDS, VERSION
from lapping.log.sheets import Rows, columns_of, from_csv, to_csv

MANIFEST = "log.json"
PHOTOS = "photos"
WHAT = "log of lapping"
TABLES = ("session", "entry", *KINDS)


def export_log(log: Log, folder: Path) -> int:
    """Write all of the log into a new folder; give the number of entries.

    It shows the log at one moment, whoever writes to it meanwhile, and the folder is
    there whole or not at all.
    """
    if os.path.lexists(folder):
        message = f"{folder} is already there; name a new folder, nothing was written"
        raise BadInput(message)
    part: str | None = None
    try:
        part = tempfile.mkdtemp(prefix=".export.", dir=folder.parent)
        count = _fill(log, Path(part))
        os.chmod(part, 0o755)  # a folder for one's own programs only is made otherwise
        os.rename(part, folder)
    except OSError as problem:
        message = f"{folder} cannot be written ({problem.strerror}); nothing is left"
        raise BadInput(message) from problem
    finally:
        if part is not None:
            shutil.rmtree(part, ignore_errors=True)
    return count


def import_folder(log: Log, folder: Path) -> int:
    """Add the entries of an exported folder that the log has not; give how many.

    A folder written by hand may leave out what follows from the rest (`by_hand`).
    Either the log is empty, or one of the two goes on where the other stopped. A log
    that holds other entries is refused: the two would be mixed up for good.
    """
    said = _manifest(folder)
    if "rows" in said:
        tables = {t: from_csv(log, t, folder / f"{t}.csv") for t in TABLES}
    else:
        tables = tables_by_hand(log, folder)
    for table, rows in tables.items():
        promised = said.get("rows", {}).get(table, len(rows))
        if promised != len(rows):
            message = (
                f"{folder / table}.csv has {len(rows)} rows and was exported with "
                f"{promised}; it is cut off or changed, nothing was kept"
            )
            raise BadInput(message)
    _take_photos(log, folder, tables["photo"])
    with writing(log):
        # An entry may come before the session or entry that it belongs to.
        log.db.execute("PRAGMA defer_foreign_keys = ON")
        added = {
            table: _add(log, folder, table, rows) for table, rows in tables.items()
        }
        wrong = troubles(log)
        if wrong:
            raise BadInput(
                [f"{folder}: {sentence}; nothing was kept" for sentence in wrong]
            )
    return added["entry"]


def _fill(log: Log, folder: Path) -> int:
    with reading(log):
        rows = {}
        for table in TABLES:
            content, rows[table] = to_csv(log, table)
            _write(folder / f"{table}.csv", content)
        photos = [_photo(log, row) for row in log.db.execute("SELECT * FROM photo")]
    manifest = {"what": WHAT, "version": VERSION, "rows": rows}
    _write(folder / MANIFEST, json.dumps(manifest, indent=1).encode())
    (folder / PHOTOS).mkdir()
    for photo in photos:
        kept = photo_path(photo_folder(log.path), photo)
        if not kept.is_file():
            message = f"{kept}: this photo is missing, and nothing was exported"
            raise BadInput(message)
        _write(photo_path(folder / PHOTOS, photo), kept.read_bytes())
    return rows["entry"]


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as opened:
        opened.write(content)
        opened.flush()
        # This is the backup, so it has to be on the disk when we say so.
        os.fsync(opened.fileno())


def _manifest(folder: Path) -> dict[str, Any]:
    try:
        said = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError) as problem:
        message = f"{folder} is no exported log ({MANIFEST}: {problem})"
        raise BadInput(message) from problem
    version = said.get("version") if isinstance(said, dict) else None
    if version is None or said.get("what") != WHAT or not isinstance(version, int):
        message = f"{folder} is no exported log: {MANIFEST} says nothing of one"
        raise BadInput(message)
    if version > VERSION:
        message = f"{folder} was exported by a newer lapping; update this one"
        raise LogFromTheFuture(message)
    return dict(said)


def _take_photos(log: Log, folder: Path, rows: Rows) -> None:
    # Before the entries, which must never lead to a photo that is not there.
    for row in rows:
        photo = _photo(log, row)
        source = photo_path(folder / PHOTOS, photo)
        if not is_whole(source, photo):
            message = f"{source}: this photo is missing or damaged; nothing was kept"
            raise BadInput(message)
        store(photo_folder(log.path), photo, source.read_bytes())


def _photo(log: Log, row: tuple[Any, ...]) -> Photo:
    photo = to_fact(Photo, dict(zip(columns_of(log, "photo"), row, strict=True)))
    if not (photo.sha256.isalnum() and photo.ending.replace(".", "", 1).isalnum()):
        message = f"a photo cannot be named {photo.sha256!a}{photo.ending!a}"
        raise BadInput(message)
    return photo


def _add(log: Log, folder: Path, table: str, rows: Rows) -> int:
    columns = columns_of(log, table)
    names = ", ".join(f'"{name}"' for name in columns)
    marks = ", ".join("?" * len(columns))
    at = list(columns).index("id")
    added = 0
    for row in rows:
        there = log.db.execute(
            f"SELECT {names} FROM {table} WHERE id = ?", (row[at],)
        ).fetchone()
        if there is None:
            _insert(log, folder, table, f"({names}) VALUES ({marks})", row)
            added += 1
        elif tuple(there) != row:
            message = (
                f"{folder}: {table} {row[at]} is not what {log.path} has under that "
                "number, so the two are different logs; import it into a new one with "
                "--log FILE, nothing was kept"
            )
            raise BadInput(message)
    return added


def _insert(
    log: Log, folder: Path, table: str, what: str, row: tuple[Any, ...]
) -> None:
    try:
        log.db.execute(f"INSERT INTO {table} {what}", row)
    except sqlite3.IntegrityError as problem:
        rule = str(problem).removeprefix("CHECK constraint failed: ")
        said = str(problem) if rule == str(problem) else f"not so that {rule}"
        message = f"{folder / table}.csv, {row[0]}: {said}; nothing was kept"
        raise BadInput(message) from problem
