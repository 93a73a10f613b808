"""What was meant by a line typed at the prompt, and which place comes next.

Nothing here prints, asks or keeps anything: a walk is a value, and each answer makes
the next one.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

Word = Literal[
    "value", "keep", "skip", "back", "again", "note", "map", "stop", "done", "help"
]
State = Literal["open", "read", "skipped"]
# Cold hands: one letter will do, and so will what people type to leave a program.
WORDS: dict[str, Word] = {
    "skip": "skip", "s": "skip",
    "back": "back", "b": "back",
    "again": "again", "a": "again", "repeat": "again", "r": "again",
    "note": "note", "n": "note",
    "map": "map", "m": "map",
    "stop": "stop", "quit": "stop", "q": "stop", "exit": "stop",
    "done": "done",
    "?": "help", "help": "help", "h": "help",
}  # fmt: skip
YES = frozenset({"y", "yes"})
_LIGHT = re.compile(r"no[\s_-]?light", re.IGNORECASE)
VALUES = frozenset({"no", "none", "nothing", "yes"})
"""What is said in letters and is an answer all the same, as in 'no light'."""
HELP = (
    "a number    the reading, as {example}",
    "skip        no reading here",
    "back        to the place before, to correct it; Enter keeps it",
    "again       the last place once more; both readings are kept",
    "note TEXT   a remark",
    "map         draw the map",
    "stop        leave off; the next 'lapping read' goes on from here",
    "done        close the set as it is, for 'lapping check' to answer",
)

NO_LIGHT = "no light    no light shows under the edge here"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one typed line means; ``text`` is the value or the remark."""

    word: Word
    text: str = ""


def parse_said(line: str) -> Said:
    """Tell words from values; nothing typed means: keep what is there."""
    text = " ".join(line.split())
    if not text:
        return Said(word="keep")
    first, _, more = text.partition(" ")
    word = WORDS.get(first.lower().rstrip(":"))
    if word == "note":
        return Said(word="note", text=more)
    if word is None or more:
        return Said(word="value", text=text)
    return Said(word=word)


def misspelt(text: str) -> str | None:
    """Say which word was meant by one that is none; None if it may be a value."""
    first = text.partition(" ")[0].lower()
    if len(text) > len("no") + 2 and first == "no" and not _LIGHT.fullmatch(text):
        near = difflib.get_close_matches(text.lower(), ["no light"], n=1, cutoff=0.7)
        return "did you mean 'no light'?" if near else None
    if len(first) < 2 or not first.isalpha() or first in VALUES:
        return None
    near = difflib.get_close_matches(first, WORDS, n=1)
    return f"did you mean '{near[0]}'?" if near else "? lists those there are"


@dataclass(frozen=True, slots=True, kw_only=True)
class Walk:
    """How far a walk over the planned places has come.

    ``at`` is the place asked for now, None when all are done. ``last`` is the place
    answered last, ``again`` says that a further reading is wanted there.
    """

    states: tuple[State, ...]
    at: int | None
    last: int | None = None
    again: bool = False

    @property
    def read(self) -> int:
        """Count the places read."""
        return self.states.count("read")


def begin_walk(states: Sequence[State], last: int | None = None) -> Walk:
    """Begin, or go on, at the first place that is neither read nor skipped."""
    return Walk(states=tuple(states), at=_first_open(states), last=last)


def answered(walk: Walk, state: State) -> Walk:
    """Go on after a reading or a skip; a place gone back to leads forward again."""
    at = _here(walk)
    states = list(walk.states)
    states[at] = state
    return begin_walk(states, last=at)


def kept(walk: Walk) -> Walk | None:
    """Leave a place gone back to as it is; None where there is nothing to keep."""
    if walk.at is None or (walk.states[walk.at] == "open" and not walk.again):
        return None
    return begin_walk(walk.states, last=walk.last)


def gone_back(walk: Walk) -> Walk | None:
    """Go to the place before this one; None at the first."""
    if walk.again:
        return begin_walk(walk.states, last=walk.last)
    before = (len(walk.states) if walk.at is None else walk.at) - 1
    return None if before < 0 else replace(walk, at=before, again=False)


def repeated(walk: Walk) -> Walk | None:
    """Ask once more for the place read last, or for the one gone back to."""
    at = walk.at if walk.at is not None and walk.states[walk.at] == "read" else None
    at = walk.last if at is None else at
    if at is None or walk.states[at] != "read":
        return None
    return replace(walk, at=at, again=True)


def _here(walk: Walk) -> int:
    if walk.at is None:
        message = "the walk is over"
        raise ValueError(message)
    return walk.at


def _first_open(states: Sequence[State]) -> int | None:
    return next((i for i, state in enumerate(states) if state == "open"), None)
