"""Where the log is: named by an option or by LAPPING_LOG, or nowhere in particular."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from lapping.errors import BadInput

VARIABLE = "LAPPING_LOG"
FILE_NAME = "log.lapping"


def where_is_the_log(option: str | None, environ: Mapping[str, str]) -> Path | None:
    """Give the log named by the option or by LAPPING_LOG; None if by neither."""
    for said, text in (("--log", option), (VARIABLE, environ.get(VARIABLE))):
        if text is None:
            continue
        if not text.strip() or "\0" in text:
            message = f"{said} names no file; give the log's path or leave it out"
            raise BadInput(message)
        return Path(text).expanduser()
    return None
