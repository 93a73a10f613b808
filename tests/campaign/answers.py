"""What an advisor answers, and the ways to ask one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ACTIONS = (
    *("cool", "check lap", "change paper", "press differently", "one place first"),
    *("drop back", "measure", "keep lapping", "next grit", "done"),
)
KEYS = ("action", "why", "where", "strokes", "grit", "doubt", "signs", "warnings")
Advisor = Callable[[Path, str], Mapping[str, Any]]
"""Asked with the folder and the face as PLANE/face, it gives the object of JSON."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One answer; ``strokes`` the range said to be left, or None."""

    action: str
    why: str
    where: tuple[str, ...]
    strokes: tuple[float, float] | None
    grit: str | None
    doubt: str
    signs: tuple[str, ...]
    warnings: tuple[str, ...]


def understand(said: Mapping[str, Any]) -> Advice:
    """Check that an answer has every key, with what belongs under each."""
    missing = [key for key in KEYS if key not in said]
    if missing:
        message = f"the answer lacks {', '.join(missing)}"
        raise ValueError(message)
    if said["action"] not in ACTIONS:
        message = f"'{said['action']}' is no action"
        raise ValueError(message)
    strokes = said["strokes"]
    if strokes is not None:
        few, many = strokes
        if not 0 <= few <= many:
            message = f"strokes {strokes} are no range"
            raise ValueError(message)
        strokes = (float(few), float(many))
    for key in ("where", "signs", "warnings"):
        if not all(isinstance(one, str) for one in said[key]):
            message = f"{key} {said[key]} are not words"
            raise ValueError(message)
    return Advice(
        action=said["action"],
        why=str(said["why"]),
        where=tuple(said["where"]),
        strokes=strokes,
        grit=said["grit"],
        doubt=str(said["doubt"]),
        signs=tuple(said["signs"]),
        warnings=tuple(said["warnings"]),
    )


def scripted(habit: tuple[Mapping[str, Any], ...]) -> Advisor:
    """Give an advisor that looks at nothing: these in turn, and the last for good."""
    left = list(habit)

    def ask(folder: Path, face: str) -> Mapping[str, Any]:
        return left.pop(0) if len(left) > 1 else left[0]

    return ask
