"""Open a log, make it or bring it up to date, and write to it whole or not at all."""

from __future__ import annotations

import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from lapping.errors import LogFromTheFuture, LogRefused
from lapping.log.first_look import held_open
from lapping.log.schema import APPLICATION_ID, MIGRATIONS, VERSION
from lapping.log.trouble import said_for_the_bench

WAIT_SECONDS = 20.0
"""How long to wait for another program to finish writing to the log."""
PAGE_BYTES = 1024


@dataclass(slots=True, kw_only=True, eq=False)
class Log:
    """An open log; ``backup`` is the copy made if it had to be brought up to date.

    ``clock`` gives the time to write beside entries; their order does not need it.
    ``sending`` is the key of what is being written, until its first entry has it.
    """

    path: Path
    db: sqlite3.Connection
    clock: Callable[[], datetime]
    session: int | None = None
    backup: Path | None = None
    sending: str | None = None


def now() -> datetime:
    """Give the time by this machine's clock."""
    return datetime.now(UTC)


@contextmanager
def open_log(
    path: Path,
    *,
    read_only: bool = False,
    clock: Callable[[], datetime] = now,
) -> Iterator[Log]:
    """Open the log, which is made if there is none; LogRefused says why it cannot be.

    ``read_only`` never makes or changes a file, and opens one that may not be changed.
    """
    with held_open(path, read_only=read_only), said_for_the_bench(path):
        db = _connect(path, read_only=read_only)
        try:
            log = Log(path=path, db=db, clock=clock)
            _prepare(log, read_only=read_only)
            yield log
        finally:
            # A disk too full to tidy up the file beside the log is no loss.
            with suppress(sqlite3.Error):
                db.close()


@contextmanager
def writing(log: Log) -> Iterator[None]:
    """Write everything inside, on disk when it returns, or nothing at all.

    Inside another one it is a part of that, and on disk with it.
    """
    if log.db.in_transaction:
        yield
        return
    with said_for_the_bench(log.path):
        log.db.execute("BEGIN IMMEDIATE")
        session = log.session
        try:
            yield
            log.db.execute("COMMIT")
        except BaseException:
            log.session = session
            # After some errors SQLite has rolled back already.
            if log.db.in_transaction:
                with suppress(sqlite3.Error):
                    log.db.execute("ROLLBACK")
            raise


@contextmanager
def reading(log: Log) -> Iterator[None]:
    """See one state of the log throughout, whatever others write meanwhile."""
    with said_for_the_bench(log.path):
        log.db.execute("BEGIN")
        try:
            yield
        finally:
            if log.db.in_transaction:
                log.db.execute("ROLLBACK")


def _connect(path: Path, *, read_only: bool) -> sqlite3.Connection:
    if not read_only:
        return sqlite3.connect(path, timeout=WAIT_SECONDS, isolation_level=None)
    uri = path.absolute().as_uri()
    if not os.access(path.parent, os.W_OK) and not os.path.exists(f"{path}-wal"):
        # Nobody can be writing there, and SQLite cannot put its own files beside it.
        uri += "?immutable=1"
    else:
        uri += "?mode=ro"
    return sqlite3.connect(uri, timeout=WAIT_SECONDS, isolation_level=None, uri=True)


def _prepare(log: Log, *, read_only: bool) -> None:
    db = log.db
    version = _version(log)
    if version == VERSION or read_only:
        if version != VERSION:
            message = (
                f"{log.path} was made by an older lapping; run any command that writes "
                "to it, such as 'lapping plane', to bring it up to date"
            )
            raise LogRefused(message)
    else:
        _write_ahead(db)
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA foreign_keys = ON")
    if version != VERSION and not read_only:
        _bring_up_to_date(log, version)


def _write_ahead(db: sqlite3.Connection) -> None:
    """Let readers and a writer not wait for each other; the file remembers it.

    SQLite does not wait for another program that does the same at the same moment.
    """
    until = time.monotonic() + WAIT_SECONDS
    # Small pages, because a reading is a few hundred bytes; a file that has pages
    # already keeps the size they have.
    db.execute(f"PRAGMA page_size = {PAGE_BYTES}")
    while True:
        try:
            db.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as problem:
            busy = problem.sqlite_errorname.startswith("SQLITE_BUSY")
            if not busy or time.monotonic() > until:
                raise
            time.sleep(0.02)
        else:
            return


def _version(log: Log) -> int:
    """Give the log's version, 0 for a file without anything in it."""
    (mark,) = log.db.execute("PRAGMA application_id").fetchone()
    (version,) = log.db.execute("PRAGMA user_version").fetchone()
    (pages,) = log.db.execute("PRAGMA page_count").fetchone()
    if mark != APPLICATION_ID and (pages or mark or version):
        (tables,) = log.db.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        if tables or mark or version:
            message = f"{log.path} is a database of another program; it was left alone"
            raise LogRefused(message)
    if version > VERSION:
        message = (
            f"{log.path} was made by a newer lapping (version {version} of the log, "
            f"this one knows {VERSION}); update lapping, nothing was changed"
        )
        raise LogFromTheFuture(message)
    return int(version)


def _bring_up_to_date(log: Log, version: int) -> None:
    if version:
        log.backup = _back_up(log, version)
    with writing(log):
        # Another program may have been faster.
        for steps in MIGRATIONS[_version(log) :]:
            for step in steps:
                log.db.execute(step)
        log.db.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        log.db.execute(f"PRAGMA user_version = {VERSION}")


def _back_up(log: Log, version: int) -> Path:
    stem = f"{log.path.name}.before-version-{version + 1}"
    number = 1
    while os.path.exists(log.path.with_name(f"{stem}.{number}")):
        number += 1
    backup = log.path.with_name(f"{stem}.{number}")
    log.db.execute("VACUUM INTO ?", (str(backup),))
    # The copy must be on disk before the log itself is touched.
    with backup.open("rb+") as opened:
        os.fsync(opened.fileno())
    return backup
