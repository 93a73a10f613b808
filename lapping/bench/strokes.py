"""A run of strokes from what was said of it: one line, the rest as last time."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from lapping.errors import BadInput
from lapping.kept import Entry, Lap, Paper, PlaneFace, Strokes
from lapping.log.bench import find_named, last_strokes, the_named
from lapping.log.entries import keep, now_holding
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, face_label, find_face, find_plane, the_face
from lapping.sayings import check_number, is_grade

REMEMBERED = (
    *("grade", "load", "load_kg", "lubricant", "direction", "hand", "lap", "iron_in"),
)
_MINUTES = re.compile(r"(\d+(?:\.\d+)?)\s*min(?:utes?)?", re.IGNORECASE)
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_MINUTE = re.compile(r"min(?:utes?)?", re.IGNORECASE)
MANY = 5000
"""More strokes than one sheet sees: common practice, no source."""
_WEIGHT = re.compile(r"(\d+(?:\.\d+)?)\s*(kg|g|lbs?)", re.IGNORECASE)
_KG = {"kg": 1.0, "g": 0.001, "lb": 0.45359237, "lbs": 0.45359237}


def keep_strokes(
    log: Log,
    words: Sequence[str],
    options: Mapping[str, object],
    lap: str | None,
    *,
    remembers: bool = True,
    doubt: Callable[[str], bool] | None = None,
) -> str:
    """Keep a run of strokes; give the line that says what was kept.

    Without ``remembers`` nothing is taken from the strokes before, whose face may
    have been another one. ``doubt`` is told what is hardly meant, and says whether to
    keep it all the same.
    """
    said: dict[str, Any] = {k: v for k, v in options.items() if v is not None}
    face = _sort(log, _joined(words), said)
    before = last_strokes(log, None if face is None else face.root)
    if face is None:
        face = _face_of(log, before)
    if not remembers:
        before = None
    remembered = {} if before is None else _remembered(before.fact)
    if "count" not in said and "minutes" not in said:
        message = "say how many strokes, as 100, or how many minutes, as 5min"
        raise BadInput(message)
    if "grade" not in said and before is None:
        message = "say the paper, as P240: there were no strokes before to take it from"
        raise BadInput(message)
    if "load" in said:
        said["load_kg"] = _kg(said["load"])
    if lap is not None:
        said["lap"] = the_named(log, Lap, lap).root
    strokes = Strokes(face=face.root, **(remembered | said))
    if (strokes.count or 0) > MANY:
        many = f"{strokes.count} strokes on one sheet of {strokes.grade} are very many"
        if doubt is not None and not doubt(many):
            message = "nothing was kept"
            raise BadInput(message)
    kept = keep(log, strokes)
    return f"{kept.id}  {face_label(log, face)}: {in_words(log, kept.fact)}"


def in_words(log: Log, strokes: Strokes) -> str:
    """Say what strokes were made, in one line."""
    many = f"{strokes.count} strokes"
    if strokes.count is None:
        many = f"{strokes.minutes:g} min"
    lap = None if strokes.lap is None else now_holding(log, Lap, strokes.lap)
    parts = [
        f"{many} on {strokes.grade}",
        "a fresh sheet" if strokes.fresh_sheet else None,
        f"load {strokes.load}" if strokes.load else None,
        strokes.lubricant,
        strokes.direction,
        f"hand {strokes.hand}" if strokes.hand else None,
        "turned end for end" if strokes.turned else None,
        "iron in" if strokes.iron_in else "iron out",
        f"on {lap.fact.name}" if lap else None,
        f"'{strokes.note}'" if strokes.note else None,
    ]
    return ", ".join(part for part in parts if part)


def _joined(words: Sequence[str]) -> list[str]:
    """Take 5 min, typed as two words, for one."""
    found: list[str] = []
    for word in (one.strip() for one in words):
        if found and _NUMBER.fullmatch(found[-1]) and _MINUTE.fullmatch(word):
            word = found.pop() + word
        found.append(word)
    return found


def _remembered(before: Strokes) -> dict[str, Any]:
    return {name: getattr(before, name) for name in REMEMBERED}


def _sort(log: Log, words: Sequence[str], said: dict[str, Any]) -> FaceEntry | None:
    """Tell the face, the paper and the number of strokes apart, in any order."""
    face = None
    for word in words:
        minutes = _MINUTES.fullmatch(word)
        paper = find_named(log, Paper, word)
        # A plane may be named 100 or P240, and alone that is no plane.
        other = paper is not None or word.isdecimal() or is_grade(word) or minutes
        named = None if other else find_face(log, word)
        key: str
        value: object
        if named is not None:
            key, value = "face", named
        elif paper is not None:
            key, value = "grade", paper.fact.grade
        elif is_grade(word):
            check_number(word)
            key, value = "grade", word
        elif minutes:
            key, value = "minutes", float(minutes[1])
        elif word.isdecimal() and len(word) < 7:
            key, value = "count", int(word)
        elif "/" in word or find_plane(log, word) is not None:
            key, value = "face", the_face(log, word)
        elif _NUMBER.fullmatch(word.lstrip("-")):
            message = (
                "strokes must be more than 0 and at most 100000, a whole number; "
                f"'{word}' is none"
            )
            raise BadInput(message)
        elif word.startswith("-"):
            message = f"strokes know no option {word}; 'lapping strokes -h' has them"
            raise BadInput(message)
        else:
            message = (
                f"'{word}' is neither a face, a paper nor a number of strokes; write "
                "them as Bramble/sole P240 100, or 5min for minutes"
            )
            raise BadInput(message)
        if key in said or (key == "face" and face is not None):
            raise BadInput(_said_twice(word, key, said.get(key)))
        if named is not None:
            face = named
        else:
            said[key] = value
    return face


def _said_twice(word: str, key: str, first: object) -> str:
    """Say that a word comes twice, and what one of two bare numbers may be."""
    if key != "count":
        return f"'{word}' is a second {key}; say it once"
    return (
        f"{first} and {word} are both bare numbers, and only one of them can be the "
        "strokes; write the paper with its system, as P120: a bare number could be "
        "either of two grits"
    )


def _face_of(log: Log, before: Entry[Strokes] | None) -> FaceEntry:
    found = None
    if before is not None:
        found = now_holding(log, PlaneFace, before.fact.face)
    if found is None:
        message = "say the face, as Bramble/sole: there were no strokes before on one"
        raise BadInput(message)
    return found


def _kg(load: str) -> float | None:
    """Give the load in kilograms, None where it was said by feel."""
    weight = _WEIGHT.fullmatch(load.strip())
    return float(weight[1]) * _KG[weight[2].lower()] if weight else None
