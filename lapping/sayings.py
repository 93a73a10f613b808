"""What can be said in a log: names, remarks, grades of paper, and amounts."""

from __future__ import annotations

import re
from typing import Literal, cast

from lapping.errors import BadInput
from lapping.grit_tables import (
    P_OF_UNKNOWN_SIZE,
    SIZES_UM,
    SPELT,
    grade_name,
    same_number,
)

System = Literal["P", "CAMI", "JIS", "film"]

LONGEST_NAME = 100
LONGEST_TEXT = 20_000
_SYSTEMS = {spelt: system for system, all_ in SPELT.items() for spelt in all_}
_GRADE = re.compile(
    rf"(?:{'|'.join(_SYSTEMS)})\s*#?\d{{2,5}}"
    r"|\d+(?:\.\d+)?\s*(?:um|µm|μm|micron)",
    re.IGNORECASE,
)
_PARTS = re.compile(r"(?P<letters>[A-Za-z]*)\s*#?(?P<number>[\d.]+)\s*(?P<unit>\D*)")


def check_name(what: str, name: str) -> None:
    """Refuse a name that is blank, far too long, or not to be typed again."""
    if not name.strip() or name != name.strip():
        message = f"{what} needs a name, without spaces at its ends (got {name!r})"
        raise BadInput(message)
    if len(name) > LONGEST_NAME:
        message = f"the name '{name[:30]}…' is over {LONGEST_NAME} characters long"
        raise BadInput(message)
    # Marks that turn the writing direction or join emoji are no control characters.
    if any(ord(c) < 32 or 127 <= ord(c) < 160 or _lone(c) for c in name):
        message = f"{what} cannot be named {name!a}: leave out what is no letter"
        raise BadInput(message)


def check_text(what: str, text: str | None, *, needed: bool = False) -> None:
    """Refuse text that says nothing or that a file could not hold."""
    if text is None and not needed:
        return
    if not text:
        message = f"{what}: nothing is said; say it or leave it out"
        raise BadInput(message)
    if len(text) > LONGEST_TEXT or "\0" in text or any(map(_lone, text)):
        message = f"{what}: {text[:30]!a} … is too long, or no text"
        raise BadInput(message)


def is_grade(grade: str) -> bool:
    """Say whether this is a grade of paper with the system it is of."""
    return _GRADE.fullmatch(grade.strip()) is not None


def check_grade(grade: str) -> None:
    """Refuse a grade of paper that does not say what system it is of.

    Its number is not looked up, so that what a log kept stays readable.
    """
    if is_grade(grade):
        return
    if grade.strip().lstrip("#").isdigit():
        number = grade.strip().lstrip("#")
        message = (
            f"'{grade}' could be either of two grits; look at the back of the sheet "
            f"and write P{number} (FEPA), CAMI {number}, JIS {number}, or 15um for film"
        )
        sizes = same_number(int(number))
        if sizes:
            message += f"; {', '.join(sizes)}"
        raise BadInput(message)
    hint = "write P240, CAMI 240, JIS 1000 or 15um"
    if is_grade(re.sub("[oO]", "0", grade)):
        hint = "is that the letter o for a zero?"
    message = f"'{grade}' is no grade of paper known here; {hint}"
    raise BadInput(message)


def grade_parts(grade: str) -> tuple[System, float]:
    """Give the system of a grade and its number there; of film, its grain in µm."""
    check_grade(grade)
    said = _PARTS.fullmatch(grade.strip())
    assert said is not None, "every grade that passes has these parts"
    if said["unit"]:
        return "film", float(said["number"])
    return cast("System", _SYSTEMS[said["letters"].upper()]), int(said["number"])


def check_number(grade: str) -> None:
    """Refuse a grade that no sheet is sold as, before it is kept.

    P3000 and P5000 may be kept, though their grain is not known here.
    """
    system, number = grade_parts(grade)
    if system == "film" or number in SIZES_UM[system]:
        return
    if system == "P" and number in P_OF_UNKNOWN_SIZE:
        return
    raise BadInput(no_such_grade(grade))


def no_such_grade(grade: str) -> str:
    """Say which grades are nearest to one whose grain is not known."""
    system, number = grade_parts(grade)
    there = sorted(SIZES_UM[system])
    below = [n for n in there if n < number]
    above = [n for n in there if n > number]
    near = [
        f"{grade_name(system, n)} ({SIZES_UM[system][n]:g} µm)"
        for n in (*below[-1:], *above[:1])
    ]
    if system == "P" and number in P_OF_UNKNOWN_SIZE:
        return (
            f"{grade.strip()} is a grade of ISO 6344, but the size of its grain is not "
            f"known here; the finest known is {near[0]}"
        )
    verb = "are" if len(near) > 1 else "is"
    end = "" if len(near) > 1 else f", the {'finest' if below else 'coarsest'} of them"
    return (
        f"{grade.strip()} is no grade known here; look at the back of the sheet. "
        f"Nearest to it {verb} {' and '.join(near)}{end}"
    )


def _lone(c: str) -> bool:
    return 0xD800 <= ord(c) < 0xE000


def between(name: str, value: float | None, above: float, at_most: float) -> None:
    """Refuse an amount that cannot be; None was not said."""
    if value is not None and not above < value <= at_most:
        message = (
            f"'{name}' must be more than {above:g} and at most {at_most:g} "
            f"(got {value:g})"
        )
        raise BadInput(message)
