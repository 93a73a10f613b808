"""An advice: one of ten actions, with what stands behind it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lapping.grits import Grit
from lapping.signs.sign import Sign

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The next thing to do with a face, why, and how sure that is.

    ``strokes`` are few and many (5 and 95 %) from now on, None where none are to be
    made or nothing tells how many. ``grit`` is the paper to use. ``signs`` are all
    troubles that show, acted on or not. ``all_flat`` is False where a sole is done
    because it works, though the whole of it is not flat.
    """

    action: Action
    why: str
    where: tuple[str, ...] = ()
    strokes: tuple[int, int] | None = None
    grit: Grit | None = None
    doubt: str = ""
    all_flat: bool = True
    signs: tuple[Sign, ...] = ()
    warnings: tuple[str, ...] = ()
