"""Files of winding sticks and of squares, and the sentences that refuse bad ones."""

from __future__ import annotations

from pathlib import Path

import pytest

from lapping.readings import SquareReading, WindingReading
from tests.files_as_typed import (
    WINDING,
    WINDING_HEAD,
    WINDING_ROWS,
    read_text,
    refusals,
    warned,
)

HEADING = "along_1,along_2,stick,gap,high\n"


def test_winding_sticks(tmp_path: Path) -> None:
    taken = read_text(tmp_path, WINDING)
    assert taken.method == "winding"
    assert taken.readings[0] == WindingReading(
        along_1_mm=20,
        along_2_mm=230,
        stick_mm=300,
        gap_um=250,
        high="right",
        entered_as="20 to 230, stick 300, gap 0.25, high right",
        line=7,
    )
    assert taken.step_um == 10
    assert taken.warnings == ()


def test_the_near_stick_may_come_first(tmp_path: Path) -> None:
    """Twist from (230, 20, right) is that from (20, 230, left)."""
    turned = read_text(tmp_path, WINDING).readings[1]
    assert isinstance(turned, WindingReading)
    assert (turned.along_1_mm, turned.along_2_mm) == (20, 230)
    assert turned.high == "left"
    assert turned.entered_as == "230 to 20, stick 300, gap 0.20, high Right"


def test_one_pair_is_enough(tmp_path: Path) -> None:
    taken = read_text(tmp_path, f"{WINDING_HEAD}{HEADING}20,230,60,0,none\n")
    assert len(taken.readings) == 1


def test_a_stick_in_inches(tmp_path: Path) -> None:
    taken = read_text(tmp_path, f"{WINDING_HEAD}{HEADING}20,230,12 in,5thou,left\n")
    one = taken.readings[0]
    assert isinstance(one, WindingReading)
    assert (one.stick_mm, one.gap_um) == (304.8, 127)


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (
            "20,230,300,0,left",
            "gap '0' and high 'left' do not agree; high is none where the gap is 0, "
            "and otherwise left or right",
        ),
        ("20,230,300,0.1,none", "gap '0.1' and high 'none' do not agree; high is none"),
        ("20,230,300,-0.1,left", "gap '-0.1' is negative; a gap is 0 or more"),
        (
            "20,230,300,0.1,up",
            "high 'up' is not known; write left or right, whichever end of the stick "
            "at along_2 stands high as seen with the toe pointing away, or none",
        ),
        ("20,230,300,0.1,", "high is blank; write left or right, whichever end of the"),
        (
            "20,20.5,300,0.1,left",
            "both sticks stand at along 20 mm; twist shows between two places, set "
            "them far apart",
        ),
        (
            "20,230,0,0.1,left",
            "stick '0' must be more than 0 and at most 5 m; it is the length over "
            "which the gap is seen",
        ),
        ("20,230,-300,0.1,left", "stick '-300' must be more than 0"),
        ("20,230,6 m,0.1,left", "stick '6 m' must be more than 0 and at most 5 m"),
        (
            "20,230,12,0.1,left",
            "stick '12' is 12 mm and does not reach across a face 60 mm wide; it is "
            "the length over which the gap is seen, is its unit right?",
        ),
        ("20,230,,0.1,left", "stick is blank; write a number"),
        ("x,230,300,0.1,left", "along_1 'x' is not a number"),
        ("20,,300,0.1,left", "along_2 is blank; write a number"),
        ("20,230,300,,left", "gap is blank; write a number"),
        (
            "20,260,300,0.1,left",
            "the place along 260 mm is off the face, which is 250 mm long; along "
            "counts from the toe",
        ),
        ("-1,230,300,0.1,left", "the place along -1 mm is off the face"),
    ],
)
def test_bad_rows(tmp_path: Path, row: str, sentence: str) -> None:
    found = refusals(tmp_path, f"{WINDING}{row}\n")
    assert len(found) == 1
    assert found[0].startswith(", line 10: ")
    assert sentence in found[0]


def test_a_heading_or_rows_that_lack(tmp_path: Path) -> None:
    found = refusals(tmp_path, WINDING.replace(",high", ""))
    assert "the column 'high' is missing" in found[0]
    found = refusals(tmp_path, WINDING_HEAD + HEADING)
    assert found == [": there are no readings below the heading; write one a line"]


def test_sticks_over_the_mouth(tmp_path: Path) -> None:
    rows = f"{HEADING}20,83,300,0.1,left\n20,167,300,0.1,left\n"
    mouth = "# mouth: 80 mm to 86 mm"
    assert refusals(tmp_path, f"{mouth}\n{WINDING_HEAD}{rows}") == [
        ", line 8: the place along 83 mm is inside the mouth (80 mm to 86 mm); if "
        "there is metal beside the mouth, say how far it reaches: '# mouth: 80 mm to "
        "86 mm, across 6 mm to 54 mm'"
    ]
    cheeks = f"{mouth}, across 5 mm to 55 mm\n{WINDING_HEAD}{rows}"
    assert len(read_text(tmp_path, cheeks).readings) == 2


def test_sticks_entered_heel_for_toe(tmp_path: Path) -> None:
    mouth = "# mouth: 80 mm to 86 mm\n"
    rows = f"{HEADING}20,83,300,0.1,left\n"
    found = refusals(tmp_path, mouth + WINDING_HEAD + rows)
    assert "look entered heel for toe" in found[0]
    assert "the place along 83 mm is inside the mouth" in found[1]
    found = refusals(tmp_path, f"{mouth}{WINDING_HEAD}{rows}20,167,300,0.1,left\n")
    assert not any("heel for toe" in one for one in found)


def test_sticks_have_no_leaves_and_no_plate(tmp_path: Path) -> None:
    taken = read_text(
        tmp_path, f"{WINDING_HEAD}# leaves: 0.05\n# turned: half\n{WINDING_ROWS}"
    )
    assert len(warned(taken)) == 2
    assert "'turned' is for dial, feeler and straightedge readings" in warned(taken)[1]
    assert not any(isinstance(one, SquareReading) for one in taken.readings)
