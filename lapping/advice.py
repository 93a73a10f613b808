"""What to do next: one table of rows, and the first that fits is the advice.

Every row is a function of the case and gives an advice or None. Their order is that
of docs/advice.md. A row about doubt fits only where the doubt spans two different next
actions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from lapping.advice_places import bearing_words, where_high
from lapping.case import Case
from lapping.contact_signs import contact_signs
from lapping.grits import Grit
from lapping.next_grit import coarser_choice, finer_choice
from lapping.settle_words import doubt_words, to_read
from lapping.signs import Sign
from lapping.strokes_left import rounded
from lapping.uncertainty import COVER

Action = Literal[
    "cool",
    "check lap",
    "change paper",
    "press differently",
    "one place first",
    "drop back",
    "measure",
    "keep lapping",
    "next grit",
    "done",
]
ACTIONS: tuple[Action, ...] = (
    *("cool", "check lap", "change paper", "press differently", "one place first"),
    *("drop back", "measure", "keep lapping", "next grit", "done"),
)
PROBABLY_DONE = 0.5
"""More likely done than not: then read again before taking off more."""
STALE_CHANCE = 0.2
"""Strokes since the last reading may have done it with this chance: then read."""
LEAST_STROKES = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The next thing to do with a face, why, and how sure that is.

    ``strokes`` are few and many (5 and 95 %) from now on, None where none are to be
    made. ``grit`` is the paper to use. ``signs`` are all troubles that show.
    """

    action: Action
    why: str
    where: tuple[str, ...] = ()
    strokes: tuple[int, int] | None = None
    grit: Grit | None = None
    doubt: str = ""
    signs: tuple[Sign, ...] = ()
    warnings: tuple[str, ...] = ()
