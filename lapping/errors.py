"""The sentences that refuse bad input, as exceptions."""

from __future__ import annotations

from collections.abc import Iterable

SHOWN_AT_MOST = 20


class LappingError(Exception):
    """Something the person at the bench can put right; the text says how."""

    def __str__(self) -> str:
        """Give the text; what would spoil a terminal, from a file's bytes, escaped."""
        return "".join(
            c if c.isprintable() or c == "\n" else ascii(c)[1:-1]
            for c in super().__str__()
        )


class BadInput(LappingError):
    """One or more mistakes in what was given, each a sentence, all kept."""

    def __init__(self, mistakes: str | Iterable[str]) -> None:
        found = (mistakes,) if isinstance(mistakes, str) else tuple(mistakes)
        self.mistakes: tuple[str, ...] = found
        super().__init__(self.sentences())

    def sentences(self) -> str:
        """Give the first twenty mistakes, a line each, then how many more."""
        lines = list(self.mistakes[:SHOWN_AT_MOST])
        more = len(self.mistakes) - SHOWN_AT_MOST
        if more > 0:
            lines.append(f"... and {more} more mistakes like these.")
        return "\n".join(lines)


class TooFewReadings(LappingError):
    """The readings cannot carry what was asked; the text says what is missing."""


class LogRefused(LappingError):
    """The log cannot be opened, read or written; the text says why and what to do."""


class LogFromTheFuture(LogRefused):
    """The log was made by a newer lapping, which knows what this one does not."""
