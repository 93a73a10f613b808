"""Ask at the terminal, or read piped answers, and say things no wider than it is."""

from __future__ import annotations

import contextlib
import shutil
import sys
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from lapping.errors import BadInput
from lapping.prompt.line import parse_said

WIDEST = 80
Answer = TypeVar("Answer")


class Stopped(Exception):
    """The person, or the pipe, has no more to say."""


class EndOfInput(Stopped):
    """There is nothing more in the pipe, or the terminal was closed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Where questions are asked; ``terminal`` if somebody sits there to see a map."""

    terminal: bool
    answers_shown: bool

    @property
    def width(self) -> int:
        """Give how many characters a line may have."""
        return max(20, min(WIDEST, shutil.get_terminal_size().columns))

    @property
    def height(self) -> int:
        """Give how many lines are seen at once."""
        return shutil.get_terminal_size().lines

    def say(self, text: str, indent: str = "") -> None:
        """Print a text, each of its lines wrapped by itself."""
        for line in text.splitlines():
            wrapped = textwrap.wrap(
                line,
                self.width - 1,
                subsequent_indent=indent,
                break_on_hyphens=False,
                break_long_words=False,
            )
            print("\n".join(wrapped))

    def ask(self, prompt: str) -> str:
        """Give the line typed, or raise Stopped at Ctrl-C and the end of input."""
        *above, last = textwrap.wrap(
            prompt, self.width - 12, break_on_hyphens=False, drop_whitespace=True
        )
        if above:
            print("\n".join(above))
        try:
            line = input(f"{last} ")
        except EOFError:
            print()
            raise EndOfInput from None
        except KeyboardInterrupt:
            print()
            raise Stopped from None
        if not self.answers_shown:
            print(line)
        return line

    def ask_until(self, prompt: str, understand: Callable[[str], Answer]) -> Answer:
        """Ask until the answer is understood, saying each time what was wrong."""
        while True:
            typed = self.ask(prompt)
            word = parse_said(typed).word
            if word == "stop":
                raise Stopped
            if word == "help":
                self.say("Answer as the question says; stop leaves off.")
                continue
            try:
                return understand(typed)
            except BadInput as problem:
                self.say(str(problem))


def bench() -> Bench:
    """Give the bench that this command sits at."""
    typed, seen = sys.stdin.isatty(), sys.stdout.isatty()
    if hasattr(sys.stdin, "reconfigure"):
        # Half a letter is no reason to lose the answer it stands in.
        sys.stdin.reconfigure(errors="replace")
    if typed and seen:
        with contextlib.suppress(ImportError):
            # Lets the arrow keys mend a line; not there on every machine.
            import readline

            readline.set_auto_history(False)
    return Bench(terminal=typed and seen, answers_shown=typed)
