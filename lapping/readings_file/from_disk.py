"""From a readings file on disk to its text, refusing what cannot be one."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import NoReturn

from lapping.errors import BadInput

MOST_BYTES = 20_000_000


def load_text(path: Path, source: str) -> str:
    """Read the file as text, or raise BadInput saying why it cannot be."""
    try:
        # Looked at before it is opened: a pipe would wait for ever, and a huge file
        # must be refused without being read.
        about = path.stat()
        if stat.S_ISDIR(about.st_mode):
            _refuse(f"{source}: this is a folder; give a readings file in it")
        if not stat.S_ISREG(about.st_mode):
            _refuse(f"{source}: this is not an ordinary file; save it as one")
        if about.st_size > MOST_BYTES:
            _refuse(_too_large(source, about.st_size))
        with path.open("rb") as opened:
            data = opened.read(MOST_BYTES + 1)
    except FileNotFoundError:
        _refuse(f"{source}: there is no such file; check the name")
    except PermissionError:
        _refuse(f"{source}: reading it is not permitted; change its permissions")
    except (OSError, ValueError) as problem:
        # ValueError is Python's answer to a NUL in a file name.
        _refuse(f"{source}: it cannot be read ({problem})")
    if len(data) > MOST_BYTES:
        _refuse(_too_large(source, len(data)))
    return _decoded(data, source)


def _refuse(sentence: str) -> NoReturn:
    raise BadInput(sentence) from None


def _too_large(source: str, size: int) -> str:
    return (
        f"{source}: {size / 1e6:.0f} MB is too large for readings taken by hand; "
        f"the limit is {MOST_BYTES // 1_000_000} MB, is it the right file?"
    )


def source_name(path: Path) -> str:
    """Give the file's name for sentences, safe to print whatever bytes it holds."""
    return os.fsencode(path).decode("utf-8", "replace").replace("\x00", "�")


def _decoded(data: bytes, source: str) -> str:
    save = "save the file as text in UTF-8 (CSV UTF-8)"
    if not data.strip():
        _refuse(f"{source}: the file is empty; it needs headers and a table")
    start = data[:64]
    # Latin letters in UTF-16 have a zero byte each; all zeros are something else.
    looks_utf16 = data[:2] in {b"\xff\xfe", b"\xfe\xff"} or (
        len(start) <= 3 * start.count(0) <= 2 * len(start)
    )
    if looks_utf16:
        _refuse(f"{source}, line 1: the file is in UTF-16, not UTF-8; {save}")
    nul = data.find(0)
    if nul >= 0:
        line = _line_of(data[:nul])
        _refuse(f"{source}, line {line}: this is not a text file; {save}")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        # The problem's own copy: its places count from behind a byte order mark.
        read, at = problem.object, problem.start
        _refuse(
            f"{source}, line {_line_of(read[:at])}: byte {read[at]:#04x} is not UTF-8 "
            f"(µ, ± and ä of older programs look like this); {save}"
        )
    if not text.strip():
        _refuse(f"{source}: the file is empty; it needs headers and a table")
    return text


def _line_of(before: bytes) -> int:
    return len(re.findall(rb"\r\n|\r|\n", before)) + 1
