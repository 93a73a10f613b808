"""Straightedge files, and the sentences that refuse bad ones."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from lapping.readings import NO_LIGHT_UM, EdgeReading, ReadingSet
from tests.files_as_typed import (
    EDGE_GAPS,
    EDGE_HEAD,
    EDGE_LEAVES,
    EDGE_ROWS,
    LEAF_ROWS,
    read_text,
    refusals,
    warned,
)

HEADING = "line,along,across,reading\n"


def edge(taken: ReadingSet) -> list[EdgeReading]:
    """Give the readings, known to be of a straightedge."""
    found = [one for one in taken.readings if isinstance(one, EdgeReading)]
    assert len(found) == len(taken.readings)
    return found


def test_gaps_as_measured(tmp_path: Path) -> None:
    taken = read_text(tmp_path, EDGE_GAPS)
    assert taken.method == "straightedge"
    assert edge(taken)[0] == EdgeReading(
        line_name="left",
        along_mm=10,
        across_mm=5,
        gap_um=20,
        goes_um=20,
        stops_um=None,
        goes_leaves=0,
        stops_leaves=0,
        seat="1",
        entered_as="0.02",
        line=7,
    )
    dark = edge(taken)[1]
    assert (dark.gap_um, dark.goes_um, dark.stops_um) == (None, 0, NO_LIGHT_UM)
    assert dark.entered_as == "no light"
    assert [one.line_name for one in edge(taken)] == ["left"] * 3 + ["across"] * 2
    assert taken.unit == "mm"
    assert taken.step_um == 10
    assert warned(taken) == [
        "'no light' was taken as a gap of less than 5 µm, an assumption that "
        "'no_light' sets, in the file's header or a gauge's."
    ]


def test_leaves_under_an_edge_on_two_leaves(tmp_path: Path) -> None:
    taken = read_text(tmp_path, EDGE_LEAVES)
    found = [
        (r.goes_um, r.stops_um, r.goes_leaves, r.stops_leaves, r.seat)
        for r in edge(taken)
    ]
    assert found == [
        (50, 100, 1, 1, "a"),
        (0, 3, 0, 0, "a"),
        (150, 200, 2, 1, "a"),
        (0, 50, 0, 1, "b"),
        (150, 200, 1, 1, "b"),
    ]
    assert all(one.gap_um is None for one in edge(taken))
    assert edge(taken)[0].entered_as == "goes 0.05, stops 0.10"
    assert taken.stands_on_um == 100
    assert taken.no_light_um == 3
    assert taken.leaves_um == (50, 100, 150, 200)
    assert taken.warnings == ()


@pytest.mark.parametrize("cell", ["No light", "NO-LIGHT", "no_light", "nolight"])
def test_no_light_may_be_written_in_several_ways(tmp_path: Path, cell: str) -> None:
    rows = f"{HEADING}A,10,5,{cell}\nA,240,5,{cell}\n"
    taken = read_text(tmp_path, f"{EDGE_HEAD}# no_light: 0.002\n{rows}")
    assert [one.stops_um for one in edge(taken)] == [2, 2]
    assert taken.step_um == 2, "no number was typed; light itself is the gauge"


def test_one_line_alone_is_read(tmp_path: Path) -> None:
    taken = read_text(tmp_path, f"{EDGE_HEAD}{HEADING}A,10,5,0\nA,240,5,0.1\n")
    assert len(taken.readings) == 2
    assert taken.warnings == ()


def test_a_line_may_stray_as_far_as_a_place_is_known(tmp_path: Path) -> None:
    taken = read_text(
        tmp_path, f"{EDGE_HEAD}{HEADING}A,10,5,0\nA,130,32,0.1\nA,240,55,0\n"
    )
    assert len(taken.readings) == 3


def test_lines_that_meet_nowhere_are_named(tmp_path: Path) -> None:
    apart = EDGE_GAPS.replace("across,125,5,", "across,130,5,")
    apart = apart.replace("across,125,55", "across,130,55").replace("no light", "0.01")
    assert warned(read_text(tmp_path, apart)) == [
        f", line {line}: line '{name}' shares no place with another line, so only the "
        "smoothness of the face ties its height and tilt to theirs; read a place where "
        "it crosses another line on both"
        for line, name in ((7, "left"), (10, "across"))
    ]
    tied = f"{apart}centre,10,5,0\ncentre,240,55,0.01\n"
    assert [
        one.partition(" shares")[0] for one in warned(read_text(tmp_path, tied))
    ] == [", line 10: line 'across'"]


def test_headers_that_an_edge_has(tmp_path: Path) -> None:
    taken = read_text(
        tmp_path,
        f"{EDGE_HEAD}# leaf_tolerance: 2um\n# turned: half\n"
        f"# reference_flatness: 4um\n# datum: line\n{LEAF_ROWS}".replace(
            "0.15,,b", "0.15,0.20,b"
        ),
    )
    assert taken.leaf_tolerance_um == 2
    assert taken.turned == "half"
    assert taken.reference_flatness_um == 4
    assert warned(taken)[0] == (
        ", line 9: 'datum' is for level readings and was not used for these "
        "straightedge readings"
    )


@pytest.mark.parametrize(
    ("table", "sentence"),
    [
        (
            "",
            ": there is no table; below the headers write 'line,along,across,goes,"
            "stops' or 'line,along,across,reading' and the readings under it",
        ),
        (HEADING, ": there are no readings below the heading; write one a line"),
        (
            "line,along,across\nA,1,2\n",
            ", line 6: the column 'goes' is missing; the heading must be 'line,along,"
            "across,goes,stops' or 'line,along,across,reading'",
        ),
        ("along,across,reading\n1,2,0\n", ", line 6: the column 'line' is missing; "),
        ("line,along,across,gap\nA,1,2,0\n", ", line 6: 'gap' is no column of these"),
        (
            "line,along,across,goes,reading\n",
            ", line 6: the heading has both leaves and measured gaps; it must be either"
            " 'line,along,across,goes,stops' or 'line,along,across,reading'",
        ),
        ("across\\along,5\n5,1\n", "only dial readings may be one"),
    ],
)
def test_bad_headings(tmp_path: Path, table: str, sentence: str) -> None:
    assert sentence in refusals(tmp_path, EDGE_HEAD + table)[0]


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (",10,5,0", "line is blank; name the line the edge was laid along, as A or"),
        ("left,x,5,0", "along 'x' is not a number"),
        ("left,60,,0", "across is blank; write a number"),
        ("left,60,5,", "reading is blank; write the gap, or 'no light' if none shows"),
        ("left,60,5,-0.02", "reading '-0.02' is negative; a gap is 0 or more"),
        ("left,60,5,x", "reading 'x' is not a number"),
        ("left,60,5,25", "reading '25' is 25 mm, beyond ±20 mm; is the unit right?"),
        ("left,60", "2 cells under 4 columns"),
        (
            "left,60,30,0",
            "the place along 60 mm, across 30 mm is 25 mm off line 'left', which runs "
            "from 10,5 to 240,5; is a place or the line's name wrong?",
        ),
        (
            "left,125,5,0.01",
            "line 'left' was read at this place already, in line 8 of the file; to "
            "repeat it, lay the edge down anew, read all of it again and name each "
            "seating in a column 'seat'",
        ),
        (
            "B,125,5,0.01",
            "line 'B' has one place only, and an edge over one place shows nothing; "
            "read at least two, better five, along it",
        ),
        ("across,125,61,0", "along 125 mm, across 61 mm is off the face, which is 250"),
        ("left,251,5,0", "the place along 251 mm, across 5 mm is off the face"),
    ],
)
def test_bad_rows(tmp_path: Path, row: str, sentence: str) -> None:
    found = refusals(tmp_path, f"{EDGE_GAPS}{row}\n")
    assert len(found) == 1
    assert found[0].startswith(", line 12: ")
    assert sentence in found[0]


def test_places_without_metal(tmp_path: Path) -> None:
    head = EDGE_HEAD + "# mouth: 120 mm to 126 mm\n# holes: 60,5,8\n"
    assert refusals(tmp_path, f"{head}{EDGE_ROWS}left,60,5,0\n") == [
        *(
            f", line {line}: the place along 125 mm, across {across} mm is inside the "
            "mouth (120 mm to 126 mm); if there is metal beside the mouth, say how far "
            "it reaches: '# mouth: 120 mm to 126 mm, across 6 mm to 54 mm'"
            for line, across in ((10, 5), (12, 5), (13, 55))
        ),
        ", line 14: the place along 60 mm, across 5 mm is in the hole of 8 mm at 60,5; "
        "read beside it",
    ]
    heel_for_toe = EDGE_HEAD + "# mouth: 60 mm to 66 mm\n"
    turned = EDGE_ROWS.replace("125", "64")
    found = refusals(tmp_path, heel_for_toe + turned)
    assert "look entered heel for toe" in found[0]


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (
            "A,60,30,no light,0.05,a",
            "where no light shows nothing goes in; leave stops",
        ),
        ("A,60,30,0.10,0.05,a", "goes '0.10' is not thinner than stops '0.05'; are"),
        ("A,60,30,0.05,0.05,a", "goes '0.05' is not thinner than stops '0.05'; are"),
        ("A,60,30,-0.05,0.05,a", "goes '-0.05' has a leaf that is not thicker than 0"),
        ("A,60,30,0.07,,a", "goes '0.07' is no leaf of the set in '# leaves:'"),
        ("A,60,30,,0.05,a", "goes is blank; write 0 where not even the thinnest leaf"),
        ("A,60,30,0.05,0.10,", "seat is blank; other rows name theirs, so say"),
        (
            "A,60,30,0.05,0.10,c",
            "line 'A', seating 'c', has one place only, and an edge over one place",
        ),
        (
            "A,240,30,0.05,0.10,b",
            "line 'A' was read at this place already, in line 14 of the file",
        ),
    ],
)
def test_bad_rows_of_leaves(tmp_path: Path, row: str, sentence: str) -> None:
    found = refusals(tmp_path, f"{EDGE_LEAVES}{row}\n")
    assert len(found) == 1
    assert found[0].startswith(", line 15: ")
    assert sentence in found[0]


def test_a_line_of_one_place_is_not_said_of_rows_that_could_not_be_read(
    tmp_path: Path,
) -> None:
    found = refusals(tmp_path, f"{EDGE_HEAD}{HEADING}A,10,5,0\nA,240,5,x\n")
    assert len(found) == 1
    assert "'x' is not a number" in found[0]


@pytest.mark.parametrize(
    ("header", "sentence"),
    [
        ("no_light: 0", "no_light: '0' must be more than 0"),
        ("no_light: x", "no_light: 'x' is not a number"),
        ("stands_on: -0.1", "stands_on: '-0.1' must be more than 0"),
    ],
)
def test_bad_headers(tmp_path: Path, header: str, sentence: str) -> None:
    found = refusals(tmp_path, f"{EDGE_HEAD}# {header}\n{EDGE_ROWS}")
    assert len(found) == 1
    assert found[0].startswith(f", line 6: {sentence}")


def test_a_long_line_takes_no_longer_than_its_length(tmp_path: Path) -> None:
    rows = "".join(f"A,{i / 200},30,0.01\n" for i in range(40_000))
    start = time.perf_counter()
    assert len(read_text(tmp_path, EDGE_HEAD + HEADING + rows).readings) == 40_000
    assert time.perf_counter() - start < 20
