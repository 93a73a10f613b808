"""Lines of an answer as they stand on a screen: a label, then its text beside it."""

from __future__ import annotations

import textwrap

WIDTH, LABEL = 80, 10


def entry_lines(label: str, text: str) -> list[str]:
    """Wrap a text beside its label; what goes on stands under the text."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=f"{label:<{LABEL}} ",
        subsequent_indent=" " * (LABEL + 1),
        break_on_hyphens=False,
    )
