"""A QR code in the terminal, two rows of modules to a line."""

from __future__ import annotations

import segno

QUIET = 4
"""Modules of white all round, as ISO/IEC 18004 wants them."""
_BLOCKS = {(0, 0): " ", (1, 0): "▀", (0, 1): "▄", (1, 1): "█"}
_BLACK_ON_WHITE, _AS_BEFORE = "\x1b[30;107m", "\x1b[0m"


def qr_lines(text: str) -> list[str]:
    """Give the lines of the code, black on white whatever the terminal's colours."""
    # No more rows than a small terminal has; segno raises the level where it is free.
    code = segno.make(text, error="l", micro=False)
    rows = [list(row) for row in code.matrix_iter(scale=1, border=QUIET)]
    if len(rows) % 2:
        rows.append([0] * len(rows[0]))
    lines = []
    for upper, lower in zip(rows[::2], rows[1::2], strict=True):
        blocks = "".join(
            _BLOCKS[int(up), int(low)] for up, low in zip(upper, lower, strict=True)
        )
        lines.append(f"{_BLACK_ON_WHITE}{blocks}{_AS_BEFORE}")
    return lines
