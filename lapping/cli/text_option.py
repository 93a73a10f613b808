"""Options that take words: another option is none."""

from __future__ import annotations

import typer

from lapping.errors import BadInput


def words_of(param: typer.CallbackParam, value: str | None) -> str | None:
    """Give the words of an option, or refuse the option that stands in their place."""
    if value is not None and value.startswith("--"):
        message = f"{param.opts[0]} needs words, and '{value}' is the next option"
        raise BadInput(message)
    return value
