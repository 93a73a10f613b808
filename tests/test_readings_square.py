"""Files of a square held against a side, and the sentences that refuse bad ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from lapping.readings import SquareReading
from tests.files_as_typed import (
    SQUARE,
    SQUARE_HEAD,
    read_text,
    refusals,
    warned,
)


def test_a_square(tmp_path: Path) -> None:
    taken = read_text(tmp_path, SQUARE)
    assert taken.method == "square"
    assert taken.readings == (
        SquareReading(
            along_mm=20,
            gap_um=50,
            side="sole",
            entered_as="gap 0.05, side sole",
            line=9,
        ),
        SquareReading(
            along_mm=125, gap_um=0, side="top", entered_as="gap 0, side top", line=10
        ),
        SquareReading(
            along_mm=230,
            gap_um=30,
            side="top",
            entered_as="gap 0.03, side Top",
            line=11,
        ),
    )
    assert taken.face.left_edge == "top"
    assert taken.reference_flatness_um == 15
    assert taken.reference_grade == "DIN 875 grade 1, 100 mm"


def test_one_station_is_enough(tmp_path: Path) -> None:
    taken = read_text(tmp_path, f"{SQUARE_HEAD}along,gap,side\n20,0,sole\n")
    assert len(taken.readings) == 1


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (
            "60,0.05,left",
            "side 'left' is not known; write the end of the blade where the gap shows, "
            "sole or top; where the gap is 0 either will do",
        ),
        (
            "60,0,",
            "side is blank; write the end of the blade where the gap shows, sole",
        ),
        ("60,-0.05,sole", "gap '-0.05' is negative; a gap is 0 or more"),
        ("60,,sole", "gap is blank; write a number"),
        ("x,0.05,sole", "along 'x' is not a number"),
        (
            "260,0.05,sole",
            "the place along 260 mm is off the face, which is 250 mm long",
        ),
        ("60,0.05", "2 cells under 3 columns"),
    ],
)
def test_bad_rows(tmp_path: Path, row: str, sentence: str) -> None:
    found = refusals(tmp_path, f"{SQUARE}{row}\n")
    assert len(found) == 1
    assert found[0].startswith(", line 12: ")
    assert sentence in found[0]


def test_a_square_goes_on_a_side(tmp_path: Path) -> None:
    sole = SQUARE.replace("face: side", "face: sole").replace("# left_edge: top\n", "")
    assert refusals(tmp_path, sole) == [
        ", line 2: face: a square is held against a side, not a sole; say '# face: "
        "side' and give its height as the width"
    ]


def test_a_heading_or_rows_that_lack(tmp_path: Path) -> None:
    found = refusals(tmp_path, SQUARE.replace(",side\n", "\n"))
    assert (
        "the column 'side' is missing; the heading must be 'along,gap,side'" in found[0]
    )
    found = refusals(tmp_path, f"{SQUARE_HEAD}along,gap,side\n")
    assert found == [": there are no readings below the heading; write one a line"]


def test_a_plate_is_no_square(tmp_path: Path) -> None:
    found = refusals(
        tmp_path,
        SQUARE.replace("DIN 875 grade 1, 100 mm", "DIN 876 grade 1, 630 x 400 mm"),
    )
    assert found == [
        ", line 7: reference_flatness: 'DIN 876 grade 1, 630 x 400 mm' is the grade of "
        "a plate, which these square readings were not taken with"
    ]


def test_a_figure_from_memory_is_said_to_be(tmp_path: Path) -> None:
    assert warned(read_text(tmp_path, SQUARE)) == [
        ", line 7: 15 µm for 'DIN 875 grade 1, 100 mm' is from memory, not from the "
        "standard itself; if there is a certificate, give its figure"
    ]
    stated = SQUARE.replace("DIN 875 grade 1, 100 mm", "8 um")
    taken = read_text(tmp_path, stated)
    assert (taken.reference_flatness_um, taken.reference_grade) == (8, None)
    assert taken.warnings == ()
