"""From the text of a readings file to its header lines and table cells.

Nothing is understood here; only what the file is made of is sorted out, and each
mistake is kept with its line so that all of them can be shown at once.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, field
from typing import Literal

from lapping.errors import BadInput
from lapping.typed import shown

MOST_CELLS = 200_000
"""More cells than this are no readings of one face taken by hand."""
MOST_HEADER = 2000
"""Longer header lines are some other file; comparing words in them would take ages."""
_QUOTED_HEADER = re.compile(r'\s*"\s*#')
_HEADER_WITHOUT_HASH = re.compile(r"\"?[A-Za-z][A-Za-z_ -]*:")
_LINE_END = re.compile(r"\r\n|\r|\n")


@dataclass(frozen=True, slots=True)
class HeaderLine:
    """One ``# key: value`` line, the key in small letters with ``_`` for spaces."""

    key: str
    value: str
    line: int


@dataclass(frozen=True, slots=True)
class Row:
    """The cells of one line of the table, stripped."""

    cells: tuple[str, ...]
    line: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A readings file taken apart: headers, the table's heading and its rows.

    ``late`` are header lines found below the heading, where they count as remarks
    unless somebody meant them.
    """

    headers: tuple[HeaderLine, ...]
    head: Row | None
    rows: tuple[Row, ...]
    late: tuple[HeaderLine, ...]
    delimiter: Literal[",", ";", "\t"]

    @property
    def decimal_comma(self) -> bool:
        """Say whether a comma is free to be a decimal sign."""
        return self.delimiter != ","


@dataclass(slots=True)
class Mistakes:
    """The mistakes of one file, given in the order of its lines."""

    source: str
    found: list[tuple[int, str]] = field(default_factory=list)
    _first: dict[str, tuple[int, int]] = field(default_factory=dict)

    def at(self, line: int, sentence: str, *, once: str | None = None) -> None:
        """Note a mistake on a line; of those with one cause, ``once``, the first."""
        if once is not None:
            index, more = self._first.get(once, (len(self.found), -1))
            self._first[once] = index, more + 1
            if index < len(self.found):
                return
        self.found.append((line, f"{self.source}, line {line}: {sentence}"))

    def whole(self, sentence: str) -> None:
        """Note a mistake of the file as a whole; these are shown first."""
        self.found.append((0, f"{self.source}: {sentence}"))

    def refuse(self) -> None:
        """Raise BadInput if there were any."""
        for index, more in self._first.values():
            line, said = self.found[index]
            if more:
                self.found[index] = line, f"{said} (and {more} more like this)"
        self._first.clear()
        if self.found:
            self.found.sort(key=lambda one: one[0])
            raise BadInput(sentence for _, sentence in self.found)


def split_sheet(text: str, mistakes: Mistakes) -> Sheet:
    """Take the text apart into header lines, heading and rows."""
    lines = list(enumerate(_LINE_END.split(text), start=1))
    delimiter = _delimiter(lines)
    headers: list[HeaderLine] = []
    late: list[HeaderLine] = []
    head: Row | None = None
    rows: list[Row] = []
    cell_count = 0
    for number, line in lines:
        if not line.strip():
            continue
        if _is_header(line):
            entry = _header_line(line, number, delimiter, mistakes)
            if entry is not None:
                (headers if head is None else late).append(entry)
            continue
        cells = _cells(line, number, delimiter, mistakes)
        if not any(cells):
            continue
        if head is None and _HEADER_WITHOUT_HASH.match(line.lstrip()):
            said = line.strip(" ,;\t")
            mistakes.at(
                number,
                f"a header line begins with '#'; write {shown(f'# {said}')}",
            )
            # Taken as meant: else the header would be said to be missing as well.
            entry = _header_line(line, number, delimiter, mistakes)
            if entry is not None:
                headers.append(entry)
            continue
        if head is None:
            head = Row(cells, number)
        else:
            rows.append(Row(cells, number))
        cell_count += len(cells)
        if cell_count > MOST_CELLS:
            mistakes.at(
                number,
                f"more than {MOST_CELLS} cells so far; one file holds the readings "
                "of one face, split it",
            )
            break
    sheet = Sheet(
        headers=tuple(headers),
        head=head,
        rows=tuple(rows),
        late=tuple(late),
        delimiter=delimiter,
    )
    _one_decimal_sign(sheet, mistakes)
    return sheet


def _is_header(line: str) -> bool:
    return line.lstrip().startswith("#") or _QUOTED_HEADER.match(line) is not None


def _delimiter(lines: list[tuple[int, str]]) -> Literal[",", ";", "\t"]:
    """Take the separator from the table's heading, where no number hides a comma."""
    for _, line in lines:
        if line.strip(" ,;\t") and not _is_header(line):
            if _HEADER_WITHOUT_HASH.match(line.lstrip()):
                continue
            return ";" if ";" in line else "\t" if "\t" in line else ","
    return ","


def _cells(
    line: str, number: int, delimiter: str, mistakes: Mistakes
) -> tuple[str, ...]:
    try:
        parsed = next(csv.reader([line], delimiter=delimiter, strict=True), [])
    except csv.Error as problem:
        mistakes.at(
            number,
            f"this line cannot be split into cells ({problem}); put quotation marks "
            "round a whole cell or nowhere",
        )
        return ()
    return tuple(cell.strip() for cell in parsed)


def _header_line(
    line: str, number: int, delimiter: str, mistakes: Mistakes
) -> HeaderLine | None:
    """Read a header line, unwrapped from what a spreadsheet puts around it."""
    text = line.strip()
    if text.startswith('"'):
        text = delimiter.join(_cells(text, number, delimiter, mistakes))
    if len(text) > MOST_HEADER:
        mistakes.at(number, f"this header line is over {MOST_HEADER} characters long")
        return None
    said, colon, value = text.lstrip("# \t").rstrip(" ,;\t").partition(":")
    if not colon:
        return None
    key = re.sub(r"[\s-]+", "_", said.strip().lower())
    # A spreadsheet may hold the value in a cell of its own.
    return HeaderLine(key, value.strip().strip(" ,;\t"), number)


def _one_decimal_sign(sheet: Sheet, mistakes: Mistakes) -> None:
    """Refuse a table that writes decimals with commas in one cell, points in another.

    One of the two would be a thousands mark, and nobody could say which.
    """
    if not sheet.decimal_comma or sheet.head is None:
        return
    first: dict[str, int] = {}
    for row in (sheet.head, *sheet.rows):
        for cell in row.cells:
            for sign in ",.":
                if sign in cell and any(c.isdigit() for c in cell):
                    first.setdefault(sign, row.line)
    if len(first) == 2:
        mistakes.whole(
            f"decimals have a comma on line {first[',']} and a point on line "
            f"{first['.']}; write all of them the same way"
        )
