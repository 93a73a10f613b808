"""Readings files as somebody might type them, and reading them from a test."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lapping.errors import BadInput
from lapping.readings import ReadingSet
from lapping.readings_file.reading import read_file

EDGE_HEAD = """\
# method: straightedge
# face: sole
# length: 250 mm
# width: 60 mm
# unit: mm
"""
EDGE_ROWS = """\
line,along,across,reading
left,10,5,0.02
left,125,5,no light
left,240,5,0.03
across,125,5,0.01
across,125,55,0
"""
EDGE_GAPS = EDGE_HEAD + EDGE_ROWS
LEAF_ROWS = """\
line,along,across,goes,stops,seat
A,10,30,0.05,0.10,a
A,120,30,no light,,a
A,240,30,0.05+0.10,0.20,a
A,10,30,0,0.05,b
A,240,30,0.15,,b
"""
EDGE_LEAVES = (
    EDGE_HEAD
    + "# leaves: 0.05, 0.10, 0.15, 0.20\n# stands_on: 0.10\n# no_light: 3 um\n"
    + LEAF_ROWS
)
LEVEL_HEAD = """\
# method: level
# face: lap
# length: 600 mm
# width: 300 mm
# unit: 0.02mm/m
# datum: gravity
"""
LEVEL_ROWS = """\
line,along_1,across_1,along_2,across_2,slope
1,50,50,150,50,1.5
1,150,50,250,50,-0.5
2,50,50,50,150,2 arcsec
2,50,150,50,250,−12 um/m
"""
LEVEL = LEVEL_HEAD + LEVEL_ROWS
WINDING_HEAD = """\
# method: winding
# face: sole
# length: 250 mm
# width: 60 mm
# unit: mm
"""
WINDING_ROWS = """\
along_1,along_2,stick,gap,high
20,230,300,0.25,right
230,20,300,0.20,Right
20,125,300,0,none
"""
WINDING = WINDING_HEAD + WINDING_ROWS
SQUARE_HEAD = """\
# method: square
# face: side
# length: 250 mm
# width: 55 mm
# left_edge: top
# unit: mm
# reference_flatness: DIN 875 grade 1, 100 mm
"""
SQUARE_ROWS = """\
along,gap,side
20,0.05,sole
125,0,top
230,0.03,Top
"""
SQUARE = SQUARE_HEAD + SQUARE_ROWS


def read_text(tmp_path: Path, text: str, units: str | None = None) -> ReadingSet:
    """Write the text as a file and read it."""
    path = tmp_path / "face.csv"
    path.write_text(text, encoding="utf-8")
    return read_file(path, units=units)


def refusals(tmp_path: Path, text: str, units: str | None = None) -> list[str]:
    """Give the sentences that the text is refused with, the file's name taken off."""
    with pytest.raises(BadInput) as caught:
        read_text(tmp_path, text, units)
    assert all("\n" not in sentence for sentence in caught.value.mistakes)
    return [re.sub(r"^.*?face\.csv", "", s) for s in caught.value.mistakes]


def warned(taken: ReadingSet) -> list[str]:
    """Give the warnings, the file's name taken off."""
    return [re.sub(r"^.*?face\.csv", "", s) for s in taken.warnings]
