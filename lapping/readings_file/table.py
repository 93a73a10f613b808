"""What the tables of all methods share: named columns, places and numbers in cells."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from lapping.errors import BadInput
from lapping.readings_file.cells import Height, heights, places_mm
from lapping.readings_file.header_lines import MOST_SLOPE_UM_PER_M, NO_UNIT, method_of
from lapping.readings_file.headers import Header
from lapping.readings_file.text import Mistakes, Row, Sheet
from lapping.slopes import read_slope
from lapping.typed import Typed, read_typed, shown, step_of
from lapping.units import UM_PER_MM

BLOCK_CORNER = re.compile(r"across\s*[\\/]\s*along", re.IGNORECASE)
_TURNED_CORNER = re.compile(r"along\s*[\\/]\s*across", re.IGNORECASE)
STOPS_TOO = "should the heading end in 'goes,stops'?"
USE_SEMICOLONS = "if commas are your decimals, separate the cells with ';'"


@dataclass(slots=True)
class Table:
    """A table being read: its cells, the header, and the mistakes so far.

    ``typed`` holds each reading as typed with the micrometres (for slopes, the
    micrometres per metre) that a typed 1 counts. ``unfinished`` says that rows may
    follow, so that nothing is missing yet.
    """

    sheet: Sheet
    header: Header
    mistakes: Mistakes
    typed: list[tuple[Typed, Fraction]] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    unfinished: bool = False
    _place_mm: Callable[[str], float] = field(init=False, repr=False)
    _height: Callable[[str], Height] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Take up what was typed before in the same units."""
        comma = self.sheet.decimal_comma
        self._place_mm = places_mm(comma, self.header.positions_um)
        self._height = heights(comma, self.header.unit_um)

    def warn(self, line: int, sentence: str) -> None:
        """Note something on a line that is no mistake but should be known."""
        self.warnings.append(f"{self.mistakes.source}, line {line}: {sentence}")

    def columns(
        self,
        needed: Sequence[str],
        optional: Sequence[str] = (),
        *,
        written: str | None = None,
    ) -> dict[str, int] | None:
        """Give the place of each column by name, or note what the heading lacks.

        `written` is the heading to show, unless it is simply all that is needed.
        """
        head = self.sheet.head
        written = written or ",".join(needed)
        if head is None:
            self.mistakes.whole(
                f"there is no table; below the headers write '{written}' and the "
                "readings under it"
            )
            return None
        names = [re.sub(r"[\s-]+", "_", name.lower()) for name in head.cells]
        while names and not names[-1]:
            names.pop()
        trouble = None
        if names != list(needed):
            trouble = self._heading_trouble(names, (*needed, *optional), needed)
        if trouble:
            self.mistakes.at(head.line, f"{trouble}; the heading must be '{written}'")
            return None
        return {name: index for index, name in enumerate(names)}

    def _heading_trouble(
        self, names: Sequence[str], known: Sequence[str], needed: Sequence[str]
    ) -> str | None:
        if _TURNED_CORNER.fullmatch(names[0]) or BLOCK_CORNER.fullmatch(names[0]):
            return (
                f"{shown(names[0])} begins a block; only dial readings may be one, "
                "with 'across\\along' in its corner and the along places in that row"
            )
        if all(_is_number(name) for name in names if name):
            return "the table begins with numbers and has no heading above them"
        for name in names:
            if name not in known:
                near = difflib.get_close_matches(name, known, n=1)
                hint = f", did you mean '{near[0]}'?" if near else ""
                method = method_of(names)
                if method is not None and method != self.header.method:
                    hint = f", but of '# method: {method}'"
                return f"{shown(name)} is no column of these readings{hint}"
            if names.count(name) > 1:
                return f"the column '{name}' is there twice"
        missing = [name for name in needed if name not in names]
        return f"the column '{missing[0]}' is missing" if missing else None

    def rows(self, width: int) -> Iterator[Row]:
        """Give the rows that have a cell for each column; others are mistakes."""
        for row in self.sheet.rows:
            cells = list(row.cells)
            while len(cells) > width and not cells[-1]:
                cells.pop()
            if len(cells) == width:
                yield Row(tuple(cells), row.line)
                continue
            hint, cause = "a cell left blank still needs its separator", None
            if len(cells) > width:
                hint = "take out what is too much"
                if not self.sheet.decimal_comma:
                    hint = USE_SEMICOLONS
                if len(cells) == width + 1 and self._lacks_stops():
                    # A point in a cell says that commas are no decimals here.
                    points = any("." in cell for cell in cells[-2:])
                    hint = f"{STOPS_TOO}{'' if points else f'; {hint}'}"
                    cause = STOPS_TOO
            self.mistakes.at(
                row.line,
                f"{len(cells)} cells under {width} columns; {hint}",
                once=cause,
            )

    def _lacks_stops(self) -> bool:
        head = self.sheet.head
        names = () if head is None else [name.lower() for name in head.cells]
        return "goes" in names and "stops" not in names

    def number(self, cell: str, column: str, line: int) -> Typed | None:
        """Read one number, or note what is wrong with it."""
        if not cell:
            self.mistakes.at(line, f"{column} is blank; write a number")
            return None
        if "," in cell and not self.sheet.decimal_comma:
            self.mistakes.at(
                line, f"{column} {shown(cell)} has a comma in it; {USE_SEMICOLONS}"
            )
            return None
        try:
            return read_typed(cell, decimal_comma=self.sheet.decimal_comma)
        except BadInput as problem:
            self.mistakes.at(line, f"{column} {problem}")
            return None

    def place_mm(self, cell: str, column: str, line: int) -> float | None:
        """Read a position; a bare number is in the file's `positions`."""
        typed = self.number(cell, column, line)
        if typed is None:
            return None
        return self._place_mm(cell)

    def height_um(self, cell: str, column: str, line: int) -> Fraction | None:
        """Read a height in micrometres; it counts towards the smallest step typed."""
        typed = self.number(cell, column, line)
        if typed is None:
            return None
        if typed.unit is None and self.header.unit_um is None:
            if self.header.unit is None:
                self.mistakes.at(
                    line,
                    f"{column} {shown(cell)} has no unit; say '# unit: um' (or mm, "
                    "0.01mm, thou, 0.0005in) above the table",
                    once=NO_UNIT,
                )
            return None
        um, factor, can_be = self._height(cell)
        if not can_be:
            self.mistakes.at(
                line,
                f"{column} {shown(cell)} is {float(um) / UM_PER_MM:g} mm, beyond "
                "±20 mm; is the unit right?",
            )
            return None
        self.typed.append((typed, factor))
        return um

    def gap_um(self, cell: str, column: str, line: int) -> Fraction | None:
        """Read the size of a gap, which cannot be negative, in micrometres."""
        um = self.height_um(cell, column, line)
        if um is not None and um < 0:
            self.mistakes.at(
                line, f"{column} {shown(cell)} is negative; a gap is 0 or more"
            )
            return None
        return um

    def slope_um_per_m(self, cell: str, column: str, line: int) -> Fraction | None:
        """Read a slope in micrometres per metre; it counts towards the step typed."""
        if not cell or ("," in cell and not self.sheet.decimal_comma):
            self.number(cell, column, line)
            return None
        try:
            typed, own = read_slope(cell, decimal_comma=self.sheet.decimal_comma)
        except BadInput as problem:
            self.mistakes.at(line, f"{column} {problem}")
            return None
        factor = own or self.header.unit_um
        if factor is None:
            if self.header.unit is None:
                self.mistakes.at(
                    line,
                    f"{column} {shown(cell)} has no unit; say '# unit: um/m' (or "
                    "mm/m, 0.02mm/m, arcsec) above the table",
                    once=NO_UNIT,
                )
            return None
        slope = typed.number * factor
        if abs(slope) > MOST_SLOPE_UM_PER_M:
            self.mistakes.at(
                line,
                f"{column} {shown(cell)} is {float(slope) / UM_PER_MM:g} mm/m, beyond "
                "±20 mm/m; is the unit right?",
            )
            return None
        self.typed.append((typed, factor))
        return slope

    def step_um(self, if_none_typed_um: float) -> float:
        """Give the smallest step typed, in micrometres, over the units used."""
        same: dict[Fraction, list[Typed]] = {}
        for typed, factor in self.typed:
            same.setdefault(factor, []).append(typed)
        steps = [step_of(many) * factor for factor, many in same.items()]
        return float(min(steps, default=if_none_typed_um))

    def unit_name(self) -> str:
        """Say what the readings were typed in."""
        used = {one.unit for one, _ in self.typed}
        own = sorted(unit for unit in used if unit is not None)
        if None in used or len(own) != 1:
            return self.header.unit or "as typed"
        return own[0]


def _is_number(text: str) -> bool:
    try:
        read_typed(text, decimal_comma=True)
    except BadInput:
        return False
    return True
