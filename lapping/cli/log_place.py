"""Which log a command works on: --log, else LAPPING_LOG, else the user's own."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lapping.errors import LogRefused
from lapping.log.location import FILE_NAME, VARIABLE, where_is_the_log

if TYPE_CHECKING:
    # Options are looked at before a command runs; the database waits until then.
    from lapping.log.opening import Log

LogOption = Annotated[
    str | None,
    typer.Option(
        "--log", help=f"File of the log; otherwise {VARIABLE}, or one of your own."
    ),
]


def log_path(option: str | None) -> Path:
    """Give the log's path, whether or not there is anything yet."""
    named = where_is_the_log(option, os.environ)
    return Path(typer.get_app_dir("lapping")) / FILE_NAME if named is None else named


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        message = (
            f"{folder} cannot be made ({problem.strerror}); name a file for the log "
            f"with --log, or in {VARIABLE}"
        )
        raise LogRefused(message) from problem


def say_which(log: Log) -> None:
    """Say which log is used, beside the answer and not in it."""
    print(f"log: {log.path}", file=sys.stderr)
    if log.backup is not None:
        print(
            f"log: brought up to date; as it was before, it is in {log.backup}",
            file=sys.stderr,
        )


@contextmanager
def the_log(option: str | None, *, read_only: bool = False) -> Iterator[Log]:
    """Open the log for a command, and say which it is."""
    from lapping.log.opening import open_log

    path = log_path(option)
    # A folder somebody named may be mistyped; the user's own is made when needed.
    if not read_only and where_is_the_log(option, os.environ) is None:
        _make_folder(path.parent)
    with open_log(path, read_only=read_only) as log:
        say_which(log)
        yield log
