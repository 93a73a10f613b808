"""The header lines of a readings file by key, and the kinds of value they hold."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import TypeVar

from lapping.errors import BadInput
from lapping.readings import Method
from lapping.readings_file.text import HeaderLine, Mistakes, Sheet
from lapping.typed import read_typed, shown
from lapping.units import UM_PER_MM

MOST_HEIGHT_UM = 20_000.0
MOST_SLOPE_UM_PER_M = 20_000.0
Word = TypeVar("Word", bound=str)
NO_UNIT = "no unit"
"""The cause that all bare numbers have in common where the file names no unit."""
_EXAMPLES = {
    "face": "sole",
    "length": "250 mm",
    "width": "60 mm",
}


class HeaderLines:
    """Each key once with its line; every value asked for is checked as it is read."""

    def __init__(self, sheet: Sheet, keys: Sequence[str], mistakes: Mistakes) -> None:
        """Sort the lines by key; unknown, repeated and late ones are mistakes."""
        self.mistakes = mistakes
        self.decimal_comma = sheet.decimal_comma
        self.head = () if sheet.head is None else sheet.head.cells
        self.given: dict[str, HeaderLine] = {}
        for entry in sheet.headers:
            if entry.key not in keys:
                mistakes.at(
                    entry.line, _unknown(entry.key, keys), once=f"no {entry.key!r}"
                )
            elif entry.key in self.given:
                mistakes.at(entry.line, _twice(self.given[entry.key], entry))
            else:
                self.given[entry.key] = entry
        for entry in sheet.late:
            if entry.key in keys:
                mistakes.at(
                    entry.line,
                    f"the header '{entry.key}' stands below the table's heading; move "
                    "it to the top",
                )

    def fail(self, key: str, sentence: str, *, once: str | None = None) -> None:
        """Note a mistake in the value of a header that was given."""
        self.mistakes.at(self.given[key].line, f"{key}: {sentence}", once=once)

    def text(self, key: str, *, needed: bool = False) -> str | None:
        """Give the value as typed; a header without one is a mistake."""
        entry = self.given.get(key)
        if entry is None:
            if needed:
                example = _EXAMPLES.get(key) or method_of(self.head) or "dial"
                self.mistakes.whole(
                    f"the header '{key}' is missing; write a line such as "
                    f"'# {key}: {example}' above the table"
                )
            return None
        if not entry.value:
            self.fail(key, "nothing is said after the colon; say it or delete the line")
            return None
        return entry.value

    def choice(
        self,
        key: str,
        words: Sequence[Word],
        *,
        needed: bool = False,
        meant: Mapping[str, Word] | None = None,
    ) -> Word | None:
        """Give the one of `words` that was said; `meant` are other names for them."""
        text = self.text(key, needed=needed)
        if text is None:
            return None
        said = re.sub(r"[\s_]+", "-", text.lower())
        for word in words:
            if word == said:
                return word
        near = [(meant or {}).get(said, "")]
        if not near[0]:
            near = difflib.get_close_matches(said, words, n=1)
        hint = f"did you mean '{near[0]}'? It can be" if near else "it can be"
        self.fail(key, f"{shown(text)} is not known; {hint} {', '.join(words)}")
        return None

    def um(self, text: str, bare_um: Fraction | None) -> Fraction:
        """Give typed text in micrometres, or raise BadInput."""
        typed = read_typed(text, decimal_comma=self.decimal_comma)
        if typed.unit is None and bare_um is None:
            message = f"{shown(text)} has no unit; write it too, as 250 mm or 50 um"
            raise BadInput(message)
        return typed.um(bare_um)

    def size_mm(
        self, key: str, bare_um: Fraction | None, at_most_mm: float
    ) -> float | None:
        """Give a needed size of the face in millimetres."""
        text = self.text(key, needed=True)
        if text is None:
            return None
        try:
            size = float(self.um(text, bare_um) / UM_PER_MM)
        except BadInput as problem:
            self.fail(key, str(problem))
            return None
        if size <= 0:
            self.fail(key, f"{shown(text)} must be more than 0")
            return None
        if size > at_most_mm:
            self.fail(
                key,
                f"{shown(text)} is more than {at_most_mm / UM_PER_MM:g} m; is the unit "
                "right?",
            )
            return None
        return size

    def height_um(
        self,
        key: str,
        unit: str | None,
        unit_um: Fraction | None,
        *,
        zero: bool = False,
    ) -> float | None:
        """Give a height in micrometres; `unit` is what a bare number counts in."""
        text = self.text(key)
        if text is None:
            return None
        # In units of "0.01mm" a bare 0.01 may mean a division or a hundredth of one.
        scaled = unit is not None and any(c.isdigit() for c in unit)
        try:
            um = float(self.um(text, None if scaled else unit_um))
        except BadInput as problem:
            self.fail(key, str(problem))
            return None
        if um < 0 or (um == 0 and not zero):
            self.fail(key, f"{shown(text)} must be more than 0")
            return None
        if um > MOST_HEIGHT_UM:
            self.fail(key, f"{shown(text)} is more than 20 mm; is the unit right?")
            return None
        return um

    def listed(self, key: str) -> list[str]:
        """Give the parts of a list; with decimal commas ``;`` or ``, `` parts them."""
        text = self.text(key)
        if text is None:
            return []
        between = r";|,(?=\s)" if self.decimal_comma else r"[;,]"
        return [part.strip() for part in re.split(between, text)]


def method_of(columns: Sequence[str]) -> Method | None:
    """Give the method that a table of leaves or edges belongs to by its columns."""
    names = {name.strip().lower() for name in columns}
    if "line" in names and names & {"goes", "reading"}:
        return "straightedge"
    return "feeler" if "goes" in names else None


def _unknown(key: str, keys: Sequence[str]) -> str:
    near = difflib.get_close_matches(key, keys, n=1)
    hint = f"did you mean '{near[0]}'?" if near else f"they are {', '.join(keys)};"
    return f"{shown(key)} is no header known here; {hint} a remark has no colon"


def _twice(first: HeaderLine, second: HeaderLine) -> str:
    if first.value == second.value:
        return f"the header '{first.key}' is already on line {first.line}; keep one"
    return (
        f"the header '{first.key}' says {shown(second.value)} here and "
        f"{shown(first.value)} on line {first.line}; keep the right one"
    )
