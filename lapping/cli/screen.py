"""What may be drawn on the terminal that a person looks at."""

from __future__ import annotations

import os
import shutil
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lapping.answer import Answer
    from lapping.progress import Progress
    from lapping.words.plain_map import Signs


def signs_of_screen() -> Signs | None:
    """Give the characters that the terminal can show; None for a pipe or a file."""
    if not sys.stdout.isatty() or os.environ.get("TERM") == "dumb":
        return None
    from lapping.words.plain_map import ASCII, BLOCKS

    try:
        (BLOCKS.shades + BLOCKS.bars).encode(sys.stdout.encoding)
    except UnicodeEncodeError:
        return ASCII
    return BLOCKS


def with_map(said: str, found: Answer | None) -> str:
    """Add a small map of the heights where a person watches."""
    signs = signs_of_screen()
    if signs is None or found is None:
        return said
    from lapping.words.plain_map import plain_map

    drawn = plain_map(found, signs, shutil.get_terminal_size().columns)
    return "\n".join([said, "", *drawn]) if drawn else said


def with_spark(said: str, found: Progress) -> str:
    """Add how flatness came along in one line where a person watches."""
    signs = signs_of_screen()
    if signs is None:
        return said
    from lapping.words.progress import spark_words

    line = spark_words(found, signs)
    return f"{said}\n{line}" if line else said
