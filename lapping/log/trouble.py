"""What goes wrong with a file of SQLite, said for the bench."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from lapping.errors import LogRefused

_SENTENCES = (
    ("SQLITE_FULL", "the disk is full, and nothing was written; make room and repeat"),
    (
        "SQLITE_READONLY",
        "the log may not be written to, and nothing was; allow it, or name another "
        "with --log",
    ),
    (
        "SQLITE_BUSY",
        "another program has been writing to the log for too long, and nothing was "
        "written; close it and repeat",
    ),
    (
        "SQLITE_CANTOPEN",
        "the log cannot be opened or made there; check the folder and who may write "
        "to it",
    ),
    ("SQLITE_NOTADB", "this is no log of lapping but some other file"),
    (
        "SQLITE_CORRUPT",
        "the log is damaged. Leave it alone and take the copy from your last 'lapping "
        "log export', or the whole file from a backup",
    ),
    (
        "SQLITE_IOERR",
        "the disk does not take or give what it should (is it full, or was it pulled "
        "out?); nothing was written, and what was there before is kept",
    ),
    ("SQLITE_TOOBIG", "that is too much for one entry"),
)


@contextmanager
def said_for_the_bench(path: Path) -> Iterator[None]:
    """Turn what SQLite raises into a sentence about the log."""
    try:
        yield
    except sqlite3.Error as problem:
        name = getattr(problem, "sqlite_errorname", None) or ""
        for start, sentence in _SENTENCES:
            if name.startswith(start):
                message = f"{path}: {sentence}"
                raise LogRefused(message) from problem
        # Anything else would be a mistake in this program and not at the bench.
        raise
    except UnicodeEncodeError as problem:
        message = f"{problem.object!a} cannot be kept: it is no text"
        raise LogRefused(message) from problem
