"""Look at a log's file before SQLite does, and never while this process has it open."""

from __future__ import annotations

import os
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from lapping.errors import LogRefused
from lapping.log.location import FILE_NAME, VARIABLE

_MAGIC = b"SQLite format 3\0"
_OPEN: Counter[str] = Counter()
"""How often this process has a log open, by its path."""
_ONE_AT_A_TIME = threading.Lock()


@contextmanager
def held_open(path: Path, *, read_only: bool) -> Iterator[None]:
    """Look at the file, unless this process has it open.

    To close a file ends all locks that the process has on it (POSIX), those of SQLite
    too, and another program could then tidy the log away from under an open one.
    """
    name = os.path.realpath(path)
    with _ONE_AT_A_TIME:
        if not _OPEN[name]:
            try:
                _look_at(path, read_only=read_only)
            except OSError as problem:
                message = f"{path}: the log cannot be looked at ({problem.strerror})"
                raise LogRefused(message) from problem
        _OPEN[name] += 1
    try:
        yield
    finally:
        with _ONE_AT_A_TIME:
            _OPEN[name] -= 1


def _look_at(path: Path, *, read_only: bool) -> None:
    """Refuse what cannot be a log before SQLite makes anything of it."""
    if os.path.isdir(path):
        message = f"{path} is a folder; name a file in it, such as {path / FILE_NAME}"
        raise LogRefused(message)
    if not os.path.exists(path):
        if read_only:
            message = (
                f"there is no log at {path} yet; 'lapping plane' begins one, and --log "
                f"or {VARIABLE} names another"
            )
            raise LogRefused(message)
        if not os.path.isdir(path.parent):
            message = f"{path}: there is no folder {path.parent}; make it first"
            raise LogRefused(message)
        return
    with path.open("rb") as opened:
        start = opened.read(100)
    if start and not start.startswith(_MAGIC):
        message = f"{path} is no log of lapping but some other file; it was left alone"
        raise LogRefused(message)
    if 0 < len(start) < 100:
        raise LogRefused(_cut_off(path))
    beside = Path(f"{path}-wal")
    if start and not (beside.exists() and beside.stat().st_size):
        page = int.from_bytes(start[16:18]) or 1
        page = 65536 if page == 1 else page
        # SQLite would notice only on meeting a page that is gone.
        if path.stat().st_size < page * int.from_bytes(start[28:32]):
            raise LogRefused(_cut_off(path))


def _cut_off(path: Path) -> str:
    return (
        f"{path} is cut off: a part of the log is missing. It was left alone; take the "
        "copy from your last 'lapping log export', or the whole file from a backup"
    )
