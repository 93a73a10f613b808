"""Reading dial and feeler files, and the sentences that refuse bad ones."""

from __future__ import annotations

import os
import re
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lapping.errors import BadInput
from lapping.face import Face, Hole, Mouth
from lapping.readings import (
    LEAF_TOLERANCE_UM,
    DialReading,
    FeelerReading,
    ReadingSet,
    ReferenceAt,
)
from lapping.readings_file.reading import read_file
from tests.files_as_typed import EDGE_GAPS, EDGE_LEAVES, LEVEL, SQUARE, WINDING

BAD_FILES = Path(__file__).parent / "bad_files"
DIAL_HEAD = """\
# method: dial
# face: sole
# length: 250 mm
# width: 60 mm
# unit: um
# sense: high-positive
"""
DIAL_ROWS = """\
along,across,reading
10,5,0
10,55,4
240,5,-6
240,55,2
"""
DIAL = DIAL_HEAD + DIAL_ROWS
FEELER_HEAD = """\
# method: feeler
# face: sole
# length: 250 mm
# width: 60 mm
# unit: mm
"""
FEELER_ROWS = """\
along,across,goes,stops
2,2,0.05,0.10
2,58,0,0.05
248,2,0.10,0.15
"""
FEELER = FEELER_HEAD + FEELER_ROWS
SET = "# leaves: 0.05, 0.10, 0.15, 0.20\n"

Read = Callable[..., ReadingSet]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Write text or bytes as a file and read it."""

    def write_and_read(content: str | bytes, units: str | None = None) -> ReadingSet:
        path = tmp_path / "sole.csv"
        data = content if isinstance(content, bytes) else content.encode()
        path.write_bytes(data)
        return read_file(path, units=units)

    return write_and_read


def mistakes(read: Read, content: str | bytes, units: str | None = None) -> list[str]:
    """Give the sentences a file is refused with, the folder taken off."""
    with pytest.raises(BadInput) as caught:
        read(content, units)
    assert all("\n" not in sentence for sentence in caught.value.mistakes)
    return [re.sub(r"^.*sole\.csv", "", s) for s in caught.value.mistakes]


def dial(taken: ReadingSet) -> list[tuple[float, float, float]]:
    """Give along, across and value of dial readings."""
    rows = []
    for one in taken.readings:
        assert isinstance(one, DialReading)
        rows.append((one.along_mm, one.across_mm, one.value_um))
    return rows


def feeler(taken: ReadingSet) -> list[FeelerReading]:
    """Give the readings, known to be feeler readings."""
    found = [one for one in taken.readings if isinstance(one, FeelerReading)]
    assert len(found) == len(taken.readings)
    return found


# What is read


def test_a_dial_file(read: Read) -> None:
    """Every header of the format, a repeat, and readings in several units.

    # method: dial
    # face: sole
    # length: 250 mm
    # width: 60 mm
    # mouth: 80 mm to 86 mm, across 5 mm to 55 mm
    # holes: 40,30,8; 200,30,8
    # unit: 0.01mm
    # sense: low-positive
    # resolution: 2 um
    # repeatability: 3um
    # reference_flatness: 0.01mm
    # reference_at: 100 mm, 50 mm
    # turned: half
    # target: ±0.04mm
    # metal: cast iron
    # positions: mm
    # taken after lunch, the shop was warm
    across , Along,READING
    5,10,1
    5,10,−2
    55,10,.5
    55,240,2thou
    5,240,3 um
    """
    document = re.sub(r"^    ", "", str(test_a_dial_file.__doc__), flags=re.MULTILINE)
    text = "\n".join(document.splitlines()[2:])
    taken = read(text + "\n")
    assert taken.method == "dial"
    assert taken.face == Face(
        length_mm=250,
        width_mm=60,
        kind="sole",
        mouth=Mouth(from_mm=80, to_mm=86, left_mm=5, right_mm=55),
        holes=(
            Hole(along_mm=40, across_mm=30, diameter_mm=8),
            Hole(along_mm=200, across_mm=30, diameter_mm=8),
        ),
    )
    assert dial(taken) == [
        (10, 5, 10),
        (10, 5, -20),
        (10, 55, 5),
        (240, 55, 50.8),
        (240, 5, 3),
    ]
    assert taken.readings[1].entered_as == "−2"
    assert taken.readings[3].entered_as == "2thou"
    assert [one.line for one in taken.readings] == [19, 20, 21, 22, 23]
    assert taken.unit == "0.01mm"
    assert taken.sense == "low-positive"
    assert taken.resolution_um == 2
    assert taken.repeatability_um == 3
    assert taken.reference_flatness_um == 10
    assert taken.reference_at == ReferenceAt(along_mm=100, across_mm=50, toe="left")
    assert taken.reference_grade is None
    assert taken.turned == "half"
    assert taken.target_um == 80
    assert taken.metal == "cast iron"
    assert taken.leaf_tolerance_um == LEAF_TOLERANCE_UM
    assert taken.step_um == 1, "3 um and 0.1 of 0.01mm were typed"
    assert taken.warnings == ()
    assert taken.source.endswith("sole.csv")


@pytest.mark.parametrize("corner", ["across\\along", "Across / Along"])
def test_a_block_as_written_on_paper(read: Read, corner: str) -> None:
    taken = read(
        f"{DIAL_HEAD}{corner},10,120,240,\n5,0,,4,\n30,2,6,,\n,,,,\n55,-2,8,10,\n"
    )
    assert dial(taken) == [
        (10, 5, 0),
        (240, 5, 4),
        (10, 30, 2),
        (120, 30, 6),
        (10, 55, -2),
        (120, 55, 8),
        (240, 55, 10),
    ]
    assert [one.line for one in taken.readings] == [8, 8, 9, 9, 11, 11, 11]
    assert taken.step_um == 2


def test_a_feeler_file(read: Read) -> None:
    taken = read(
        FEELER_HEAD + "# leaf_tolerance: 2um\nalong,across,goes,stops,seat\n"
        "2,2,0.05,0.10,a\n2,58,0,0.05,a\n248,2,0.10+0.05,0.1+0.1,b\n"
    )
    assert feeler(taken)[0] == FeelerReading(
        along_mm=2,
        across_mm=2,
        goes_um=50,
        stops_um=100,
        goes_leaves=1,
        stops_leaves=1,
        seat="a",
        entered_as="goes 0.05, stops 0.10",
        line=8,
    )
    none_goes, stacked = feeler(taken)[1:]
    assert (none_goes.goes_um, none_goes.goes_leaves, none_goes.stops_um) == (0, 0, 50)
    assert (stacked.goes_um, stacked.goes_leaves) == (150, 2)
    assert (stacked.stops_um, stacked.stops_leaves) == (200, 2)
    assert stacked.seat == "b"
    assert taken.leaf_tolerance_um == 2
    assert taken.leaves_um == ()


@pytest.mark.parametrize(
    "table",
    [
        "along,across,goes\n2,2,0.05\n2,58,0\n248,2,0.20\n248,58,0.05+0.10\n",
        "along,across,goes,stops,seat\n"
        "2,2,0.05,,\n2,58,0,,\n248,2,0.20,,\n248,58,0.05+0.10,,\n",
    ],
)
def test_what_stops_is_the_next_leaf_of_the_set(read: Read, table: str) -> None:
    taken = read(FEELER_HEAD + SET + table)
    assert taken.leaves_um == (50, 100, 150, 200)
    found = [(r.goes_um, r.stops_um, r.stops_leaves) for r in feeler(taken)]
    assert found == [(50, 100, 1), (0, 50, 1), (200, None, 0), (150, 200, 1)]
    assert {one.seat for one in feeler(taken)} == {"1"}
    assert feeler(taken)[0].entered_as == "goes 0.05"


def test_leaves_in_another_unit_are_the_same_leaves(read: Read) -> None:
    taken = read(
        FEELER_HEAD
        + "# leaves: 0.0508; 4thou; 0.006in\nalong,across,goes,stops\n"
        + "2,2,2thou,4 thou\n2,58,0,50.8um\n248,2,0.1016,6thou\n"
    )
    assert taken.leaves_um == (50.8, 101.6, 152.4)
    assert [one.stops_um for one in feeler(taken)] == [101.6, 50.8, 152.4]
    assert taken.unit == "mm"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_marks_of_other_programs(read: Read, end: str, mark: str) -> None:
    taken = read((mark + DIAL.replace("\n", end)).encode())
    assert dial(taken) == dial(read(DIAL))
    assert [one.line for one in taken.readings] == [8, 9, 10, 11]


@pytest.mark.parametrize("between", [";", "\t"])
def test_decimal_commas_between_semicolons_or_tabs(read: Read, between: str) -> None:
    text = (
        "# method: dial\n# face: sole\n# length: 25,4 cm\n# width: 60 mm\n"
        "# mouth: 80,5 mm to 86 mm, across 5,5 mm to 55 mm\n# unit: 0,01mm\n"
        "# sense: high-positive\n"
        "along,across,reading\n10,5,0,5\n10,55,4\n240,5,−6,5\n240,55,2\n"
    )
    head, table = text.split("along", 1)
    table = "along" + table
    table = table.replace(",", between)
    table = table.replace(f"0{between}5\n", "0,5\n").replace(f"6{between}5\n", "6,5\n")
    taken = read(head + table)
    assert dial(taken) == [(10, 5, 5), (10, 55, 40), (240, 5, -65), (240, 55, 20)]
    assert taken.face.length_mm == 254
    assert taken.face.mouth == Mouth(from_mm=80.5, to_mm=86, left_mm=5.5, right_mm=55)


def test_leaves_with_decimal_commas(read: Read) -> None:
    rows = "along;across;goes\n2;2;0,05\n2;58;0\n248;2;0,10\n"
    for leaves in ("0,05; 0,10", "0,05, 0,10", "0.05; 0.10"):
        taken = read(f"{FEELER_HEAD}# leaves: {leaves}\n{rows}")
        assert taken.leaves_um == (50, 100)
    found = mistakes(read, f"{FEELER_HEAD}# leaves: 0,05,0,10\n{rows}")
    assert "more than one decimal sign" in found[0]


def test_what_a_spreadsheet_adds_is_taken_off(read: Read) -> None:
    taken = read(
        '# method: feeler,,\n# face: sole,,\n"# length: 10""",,\n# width:,60 mm,\n'
        '"# mouth: 80 mm to 86 mm",,\n,,\n# unit: mm,,\n'
        '"# leaves: 0.05, 0.10",,\n"# a remark, quoted",,\n\n'
        '"along","across","goes",,\n2,2,0.05,,\n,,,,\n2,58,0,,\n248,2,0.10\n'
    )
    assert taken.face.length_mm == 254
    assert taken.face.width_mm == 60
    assert taken.face.mouth == Mouth(from_mm=80, to_mm=86)
    assert taken.leaves_um == (50, 100)
    assert [one.line for one in taken.readings] == [12, 14, 15]


def test_inches_all_through(read: Read) -> None:
    taken = read(
        "# method: dial\n# face: lap\n# length: 12\n# width: 4\n# positions: in\n"
        '# unit: 0.0005in\n# sense: high positive\n# holes: 6,2,0.5; 3",2",12mm\n'
        "along,across,reading\n1,1,0\n1,3,2\n11,1,1\n"
    )
    assert taken.face.length_mm == pytest.approx(304.8)
    assert taken.face.holes == (
        Hole(along_mm=152.4, across_mm=50.8, diameter_mm=12.7),
        Hole(along_mm=76.2, across_mm=50.8, diameter_mm=12),
    )
    assert dial(taken)[1] == (25.4, 76.2, 25.4)
    assert taken.sense == "high-positive"
    assert taken.step_um == 12.7


def test_units_given_beside_the_file(read: Read) -> None:
    bare = DIAL.replace("# unit: um\n", "")
    taken = read(bare, units="0.01mm")
    assert dial(taken)[1] == (10, 55, 40)
    assert taken.unit == "0.01mm"
    # The file's own header is nearer to the readings.
    assert dial(read(DIAL, units="mm"))[1] == (10, 55, 4)


def test_readings_that_all_carry_their_unit_need_no_header(read: Read) -> None:
    own = DIAL.replace("# unit: um\n", "").replace("\n10,5,0\n", "\n10,5,0thou\n")
    own = own.replace(",4\n", ",4thou\n").replace("-6", "-6 thou")
    taken = read(own.replace(",2\n", ",2thou\n"))
    assert taken.unit == "thou"
    assert taken.step_um == 25.4
    assert read(own.replace(",2\n", ",2um\n")).unit == "as typed"


def test_bare_heights_in_the_header_are_in_the_unit_of_the_readings(
    read: Read,
) -> None:
    assert read(DIAL_HEAD + "# resolution: 2\n" + DIAL_ROWS).resolution_um == 2
    taken = read(FEELER_HEAD + "# leaf_tolerance: 0\n" + FEELER_ROWS)
    assert taken.leaf_tolerance_um == 0
    found = mistakes(
        read,
        DIAL_HEAD.replace("um", "0.01mm") + "# resolution: 0.01\n" + DIAL_ROWS,
    )
    assert found == [
        ", line 7: resolution: '0.01' has no unit; write it too, as 250 mm or 50 um"
    ]


def test_a_side_says_which_edge_is_at_the_sole(read: Read) -> None:
    side = DIAL.replace("face: sole", "face: side\n# left-edge: TOP")
    assert read(side).face.left_edge == "top"


def test_remarks_may_stand_anywhere(read: Read) -> None:
    taken = read(f"# hello\n#\n{DIAL}# the plate was cold: 12 degrees\n# end\n")
    assert len(taken.readings) == 4


def test_headers_of_another_method_are_reported(read: Read) -> None:
    taken = read(FEELER_HEAD + "# sense: high-positive\n" + FEELER_ROWS)
    assert len(taken.warnings) == 1
    assert taken.warnings[0].endswith(
        "line 6: 'sense' is for dial readings and was not used for these feeler "
        "readings"
    )
    taken = read(DIAL_HEAD + SET + DIAL_ROWS)
    assert "'leaves' is for feeler and straightedge readings" in taken.warnings[0]


def test_reading_files_loads_no_numpy() -> None:
    code = "import sys, lapping.readings_file.reading; sys.exit('numpy' in sys.modules)"
    subprocess.run([sys.executable, "-c", code], check=True)


# What is refused: files as a whole


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("empty.csv", "empty.csv: the file is empty; it needs headers and a table"),
        ("blank.csv", "blank.csv: the file is empty"),
        ("latin1.csv", "line 5: byte 0xb5 is not UTF-8 .*; save the file as text in"),
        ("latin1_with_bom.csv", "line 12: byte 0xf6 is not UTF-8"),
        ("utf16.csv", "line 1: the file is in UTF-16, not UTF-8; save the file as"),
        ("utf16_without_mark.csv", "line 1: the file is in UTF-16, not UTF-8"),
        ("not_text.csv", "line 8: this is not a text file; save"),
        ("zeros.csv", "line 1: this is not a text file; save"),
        ("wrong_unit.csv", "line 5: unit: 'furlong' is no unit known here; use one"),
        (
            "comma_decimals.csv",
            "line 8: 5 cells under 3 columns; if commas are your decimals, separate "
            "the cells with ';'",
        ),
        (
            "comma_decimals_quoted.csv",
            "line 8: reading '0,5' has a comma in it; if commas are your decimals",
        ),
        (
            "comma_and_point.csv",
            "decimals have a comma on line 8 and a point on line 10; write all of",
        ),
        ("off_the_sole.csv", "line 12: the place along 265 mm, across 5 mm is off the"),
        ("off_the_sole.csv", "line 13: the place along -1 mm, across 5 mm is off the"),
        (
            "heel_for_toe.csv",
            "these readings look entered heel for toe: turned end for end, every one",
        ),
        ("heel_for_toe.csv", "line 11: the place along 84 mm, across 30 mm is inside"),
        ("many_mistakes.csv", r"line 27: .*\n\.\.\. and 5 more mistakes like these"),
        (
            "quote_left_open.csv",
            "line 8: this line cannot be split into cells .*; put quotation marks",
        ),
    ],
)
def test_bad_files(name: str, sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence) as caught:
        read_file(BAD_FILES / name)
    assert all(one.startswith(str(BAD_FILES / name)) for one in caught.value.mistakes)


def test_every_bad_file_is_refused() -> None:
    for path in BAD_FILES.glob("*.csv"):
        with pytest.raises(BadInput):
            read_file(path)


def test_a_file_that_is_none(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="this is a folder; give a readings file in it"):
        read_file(tmp_path)
    with pytest.raises(BadInput, match="there is no such file; check the name"):
        read_file(tmp_path / "none.csv")
    with pytest.raises(BadInput, match="it cannot be read"):
        read_file("a\0b")
    with pytest.raises(BadInput, match="it cannot be read"):
        read_file(tmp_path / ("x" * 5000))
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(BadInput, match="not an ordinary file; save it as one"):
        read_file(pipe)


def test_a_name_that_is_no_text_is_still_printed() -> None:
    with pytest.raises(BadInput) as caught:
        read_file(os.fsdecode(b"caf\xe9.csv"))
    assert str(caught.value).encode().startswith("caf�.csv: there is no".encode())


def test_a_file_that_may_not_be_read() -> None:
    """Root may read everything, so root steps down for the moment of reading."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sole.csv"
        path.write_text(DIAL, encoding="utf-8")
        path.chmod(0o000)
        Path(folder).chmod(0o755)
        own = os.geteuid()
        if own == 0:
            os.seteuid(65534)
        try:
            assert stat.S_ISREG(path.stat().st_mode), "the folder itself may be entered"
            with pytest.raises(BadInput, match="reading it is not permitted; change"):
                read_file(path)
        finally:
            if own == 0:
                os.seteuid(0)
        path.chmod(0o644)
        assert len(read_file(path).readings) == 4


def test_a_huge_file_is_refused_without_being_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as opened:
        opened.truncate(200_000_000)
    start = time.perf_counter()
    with pytest.raises(BadInput, match=r"200 MB is too large .* the limit is 20 MB"):
        read_file(path)
    assert time.perf_counter() - start < 0.5


def test_a_file_that_grows_while_it_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "sole.csv"
    path.write_text(DIAL, encoding="utf-8")
    monkeypatch.setattr("lapping.readings_file.from_disk.MOST_BYTES", 1000)
    opened = Path.open

    def grown(self: Path, mode: str) -> object:
        with open(path, "w", encoding="utf-8") as more:
            more.write(DIAL * 20)
        return opened(self, mode)

    monkeypatch.setattr(Path, "open", grown)
    with pytest.raises(BadInput, match="is too large for readings taken by hand"):
        read_file(path)


def test_too_many_cells(read: Read, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lapping.readings_file.text.MOST_CELLS", 12)
    found = mistakes(read, DIAL)
    assert found == [
        ", line 11: more than 12 cells so far; one file holds the readings of one "
        "face, split it"
    ]


@pytest.mark.parametrize(
    "line", ["# " + " " * 1_000_000 + "x", '"# ' + "a to " * 20_000 + '"', '"' * 9]
)
def test_lines_made_to_take_for_ever_do_not(read: Read, line: str) -> None:
    start = time.perf_counter()
    assert mistakes(read, f"{line}\n{DIAL}")
    assert time.perf_counter() - start < 2


def test_a_cell_too_large_for_a_table(read: Read) -> None:
    found = mistakes(read, DIAL + "1" * 200_000 + ",5,0\n")
    assert found[0].startswith(", line 12: this line cannot be split into cells")


# What is refused: headers


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ("# method: dial\n", "", ": the header 'method' is missing; write a line such"),
        ("# face: sole\n", "", ": the header 'face' is missing; .* '# face: sole'"),
        ("# length: 250 mm\n", "", ": the header 'length' is missing"),
        ("# width: 60 mm\n", "", ": the header 'width' is missing"),
        ("# sense: high-positive\n", "", "must say which way the dial counts: '# sens"),
        ("dial", "dail", "line 1: method: 'dail' is not known; did you mean 'dial'?"),
        ("dial", "laser", "line 1: method: 'laser' is not known; it can be dial, fee"),
        ("dial", "", "line 1: method: nothing is said after the colon"),
        ("sole", "soul", "line 2: face: 'soul' is not known; did you mean 'sole'?"),
        ("length", "lenght", "line 3: 'lenght' is no header known here; did you mean"),
        ("width", "qqq", "line 4: 'qqq' is no header known here; they are met"),
        ("250 mm", "250", "line 3: length: '250' has no unit; write it too, as 250 mm"),
        ("60 mm", "-60 mm", "line 4: width: '-60 mm' must be more than 0"),
        ("60 mm", "0mm", "line 4: width: '0mm' must be more than 0"),
        ("250 mm", "nan", "line 3: length: 'nan' is not a number"),
        ("250 mm", "inf mm", "line 3: length: 'inf mm' is not a number"),
        ("250 mm", "250 m", "line 3: length: '250 m' is more than 5 m; is the unit"),
        ("unit: um", "unit: um/m", "line 5: unit: 'um/m' is no unit known here"),
        ("unit: um", "unit:", "line 5: unit: nothing is said after the colon"),
        ("high-positive", "up", "line 6: sense: 'up' is not known; it can be high-pos"),
        ("# width", "width", "line 4: a header line begins with '#'; write '# width"),
        ("# width: 60 mm\n", "# " + "x" * 2000 + "\n", "over 2000 characters long"),
    ],
)
def test_bad_headers(read: Read, old: str, new: str, sentence: str) -> None:
    found = mistakes(read, DIAL.replace(old, new, 1))
    assert any(re.search(sentence, one) for one in found), found


@pytest.mark.parametrize("key", ["method", "face", "length", "unit", "sense"])
def test_a_header_without_its_mark_is_not_called_missing(read: Read, key: str) -> None:
    (only,) = mistakes(read, DIAL.replace(f"# {key}", key, 1))
    assert f"write '# {key}: " in only


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("unit: um", "the header 'unit' is already on line 5; keep one"),
        ("unit: mm", "the header 'unit' says 'mm' here and 'um' on line 5; keep the"),
        ("mouth: 80 to 86", "mouth: '80' has no unit"),
        ("mouth: 80 mm - 86 mm", "'80 mm - 86 mm' is no mouth; write '80 mm to 86 mm'"),
        ("mouth: 86 mm to 80 mm", "runs from the toe from 86 mm to 80 mm; give the"),
        ("mouth: 80 mm to 260 mm", "80 mm to 260 mm does not fit on a face that ends"),
        ("mouth: -1 mm to 6 mm", "-1 mm to 6 mm does not fit"),
        ("mouth: 80mm to 86mm, across 55mm to 5mm", "across from 55 mm to 5 mm; give"),
        ("mouth: 80mm to 86mm, across 5mm to 65mm", "across 5 mm to 65 mm does not"),
        ("holes: 40,30", "holes: '40,30' is no hole; write along,across,diameter"),
        ("holes: 40,30,x", "holes: 'x' is not a number"),
        ("holes: 300,30,8", "the hole '300,30,8' is not on the face"),
        ("holes: 40,30,-8", "the hole '40,30,-8' cannot have that diameter"),
        ("left_edge: top", "left_edge: a sole has no sole and top edge; only a side"),
        ("resolution: -2um", "resolution: '-2um' must be more than 0"),
        ("resolution: 0", "resolution: '0' must be more than 0"),
        ("repeatability: 3 cm", "repeatability: '3 cm' is more than 20 mm; is the"),
        ("reference_flatness: 5", "reference_flatness: '5' has no unit"),
        ("reference_flatness: x", "reference_flatness: 'x' is not a number"),
        ("turned: third", "turned: 'third' is not known; it can be half, quarter"),
        ("leaves: 0.05mm, x", "leaves: 'x' is not a number"),
        ("leaves: 0.05mm, 0", "leaves: a leaf of '0' cannot be; it has a thickness"),
        ("leaf_tolerance: -1um", "leaf_tolerance: '-1um' must be more than 0"),
        ("stands_on: 0", "stands_on: '0' must be more than 0"),
        ("datum: plate", "datum: 'plate' is not known; it can be gravity, line"),
        ("target: 0.08", "target: '0.08' has no unit"),
        ("metal:", "metal: nothing is said after the colon"),
        ("positions: cm", "positions: 'cm' is not known; it can be mm, in"),
        ("10:30 in the shop", "'10' is no header known here; .* a remark has no colon"),
    ],
)
def test_bad_extra_headers(read: Read, line: str, sentence: str) -> None:
    found = mistakes(read, f"{DIAL_HEAD}# {line}\n{DIAL_ROWS}")
    assert len(found) == 1
    assert found[0].startswith(", line 7: ")
    assert re.search(sentence, found[0]), found


def test_a_bare_size_counts_in_the_positions_that_are_said(read: Read) -> None:
    bare = DIAL.replace("250 mm", "250").replace("60 mm", "60")
    assert len(mistakes(read, bare)) == 2
    taken = read("# positions: mm\n# mouth: 80 to 86\n" + bare)
    assert taken.face.length_mm == 250
    assert taken.face.mouth == Mouth(from_mm=80, to_mm=86)


def test_a_lap_has_no_mouth(read: Read) -> None:
    found = mistakes(
        read, DIAL.replace("face: sole", "face: lap\n# mouth: 80mm to 86mm")
    )
    assert found == [", line 3: mouth: a lap has no mouth; delete this line"]


def test_a_header_below_the_heading(read: Read) -> None:
    found = mistakes(read, DIAL + "# unit: mm\n")
    assert found == [
        ", line 12: the header 'unit' stands below the table's heading; move it to "
        "the top"
    ]


def test_units_beside_the_file_that_are_none(read: Read) -> None:
    found = mistakes(read, DIAL.replace("# unit: um\n", ""), units="furlong")
    assert len(found) == 1
    assert found[0].startswith(": --units: 'furlong' is no unit known here")


# What is refused: tables


@pytest.mark.parametrize(
    ("table", "sentence"),
    [
        ("", ": there is no table; below the headers write 'along,across,reading'"),
        ("along,across,reading\n", ": there are no readings below the heading"),
        ("along,across\n1,2\n", "line 7: the column 'reading' is missing; the heading"),
        ("along,acros,reading\n", "'acros' is no column .*, did you mean 'across'?"),
        ("along,across,reading,x\n", "'x' is no column of these readings; the head"),
        ("along,across,along,reading\n", "the column 'along' is there twice"),
        ("along,,across,reading\n", "'' is no column of these readings"),
        ("10,5,0\n10,55,4\n", "line 7: the table begins with numbers and has no head"),
        ("along\\across,5,55\n10,0,4\n", "begins a block; .* 'across.along' in its"),
        ("across\\along\n5,1\n", "line 7: the block's first row gives no along plac"),
        ("across\\along,10,x\n5,1,2\n", "line 7: along 'x' is not a number"),
        ("across\\along,10,,20\n5,1,2,3\n", "line 7: along is blank; write a number"),
        ("across\\along,10,5,20,5\n5,1,2,3,4\n", "line 7: along '5' is there twice"),
        ("across\\along,10,20\n5,1,2\n5,1,2\n", "across 5 mm is already on line 8"),
        ("across\\along,10,20\nx,1,2\n", "line 8: across 'x' is not a number"),
        ("across\\along,10,20\n5,1,x\n", "line 8: reading 'x' is not a number"),
        ("across\\along,10,20\n5,1\n", "line 8: 2 cells under 3 columns; a cell left"),
        ("across\\along,10,20\n5,,\n", "there are no readings below the heading"),
    ],
)
def test_bad_tables(read: Read, table: str, sentence: str) -> None:
    found = mistakes(read, DIAL_HEAD + table)
    assert any(re.search(sentence, one) for one in found), found


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ("10,30", "2 cells under 3 columns; a cell left blank still needs its"),
        ("10,,30,2", "4 cells under 3 columns; if commas are your decimals, separate"),
        ("10,30,", "reading is blank; write a number"),
        (",30,1", "along is blank; write a number"),
        ("x,30,1", "along 'x' is not a number"),
        ("10,30,nan", "reading 'nan' is not a number"),
        ("10,30,-inf", "reading '-inf' is not a number"),
        ("10,30,0.0.5", "reading '0.0.5' has more than one decimal sign"),
        ("10,30,3 furlong", "reading '3 furlong': 'furlong' is no unit known here"),
        ("10,30,10 m", "'10 m' is 10000 mm, beyond ±20 mm; is the unit right?"),
        ("10,30,-20.001mm", "reading '-20.001mm' is -20.001 mm, beyond ±20 mm"),
        ("10,61,1", "along 10 mm, across 61 mm is off the face, which is 250 mm by"),
    ],
)
def test_bad_rows(read: Read, row: str, sentence: str) -> None:
    found = mistakes(read, f"{DIAL}{row}\n10,30,1\n")
    assert len(found) == 1
    assert found[0].startswith(", line 12: ")
    assert sentence in found[0]


def test_a_row_too_long_between_semicolons(read: Read) -> None:
    found = mistakes(read, (DIAL_HEAD + DIAL_ROWS.replace(",", ";")) + "1;2;3;4\n")
    assert found == [", line 12: 4 cells under 3 columns; take out what is too much"]


def test_a_bare_reading_where_no_unit_is_given(read: Read) -> None:
    found = mistakes(read, DIAL.replace("# unit: um\n", ""))
    assert found == [
        ", line 7: reading '0' has no unit; say '# unit: um' (or mm, 0.01mm, thou, "
        "0.0005in) above the table (and 3 more like this)"
    ]


def test_all_mistakes_are_shown_together_in_the_order_of_the_lines(
    read: Read,
) -> None:
    text = DIAL.replace("sole", "soul").replace("-6", "x").replace("high-", "")
    lines = [one.split(":")[0] for one in mistakes(read, text)]
    assert lines == [", line 2", ", line 6", ", line 10"]


def test_too_few_places(read: Read) -> None:
    two = DIAL_HEAD + "along,across,reading\n10,5,0\n10,55,4\n10,5,1\n"
    assert mistakes(read, two) == [
        ": readings at 2 places cannot show a plane; read at least 3 that are not on "
        "one line"
    ]
    line = DIAL_HEAD + "along,across,reading\n10,5,0\n50,15,4\n90,25.1,1\n250,65,1\n"
    assert (
        ": all places lie on one line"
        in mistakes(read, line.replace("width: 60", "width: 70"))[0]
    )


def test_places_without_metal(read: Read) -> None:
    head = DIAL_HEAD + "# mouth: 80 mm to 86 mm\n# holes: 200,30,8\n"
    found = mistakes(read, head + DIAL_ROWS + "83,2,1\n167,30,1\n80,30,1\n201,31,1\n")
    assert found == [
        ", line 14: the place along 83 mm, across 2 mm is inside the mouth (80 mm to "
        "86 mm); if there is metal beside the mouth, say how far it reaches: "
        "'# mouth: 80 mm to 86 mm, across 6 mm to 54 mm'",
        ", line 17: the place along 201 mm, across 31 mm is in the hole of 8 mm at "
        "200,30; read beside it",
    ]
    narrow = head.replace("86 mm", "86 mm, across 5 mm to 55 mm")
    assert len(read(narrow + DIAL_ROWS + "83,2,1\n").readings) == 5
    found = mistakes(read, narrow + DIAL_ROWS + "83,6,1\n")
    assert found[-1].endswith("is inside the mouth (80 mm to 86 mm)")


def test_heel_for_toe_is_said_only_if_turning_helps(read: Read) -> None:
    head = DIAL_HEAD + "# mouth: 80 mm to 86 mm\n"
    block = "across\\along,10,83,{},240\n5,0,1,2,3\n30,0,1,2,3\n"
    found = mistakes(read, head + block.format(120))
    assert "look entered heel for toe" in found[0]
    assert len(found) == 3
    found = mistakes(read, head + block.format(168))
    assert not any("heel for toe" in one for one in found)


# What is refused: leaves


@pytest.mark.parametrize(
    ("cells", "sentence"),
    [
        (",0.05", "goes is blank; write 0 where not even the thinnest leaf goes"),
        ("0.05,", "stops is left out; write the leaf that does not go, or list your"),
        ("0.10,0.05", "goes '0.10' is not thinner than stops '0.05'; are the two swa"),
        ("0.05,0.05", "goes '0.05' is not thinner than stops '0.05'"),
        ("-0.05,0.10", "goes '-0.05' has a leaf that is not thicker than 0"),
        ("0,0", "stops '0' has a leaf that is not thicker than 0"),
        ("0.05+0,0.10", "goes '0.05+0' has a leaf that is not thicker than 0"),
        ("0.05+,0.10", "goes is blank"),
        ("0.05+50um,0.20", "goes '0.05+50um' mixes units; give each leaf its unit"),
        ("x,0.10", "goes 'x' is not a number"),
        ("0.05,x", "stops 'x' is not a number"),
        ("0.05,inf", "stops 'inf' is not a number"),
        ("30,40", "goes '30' is 30 mm, beyond ±20 mm"),
    ],
)
def test_bad_leaves(read: Read, cells: str, sentence: str) -> None:
    found = mistakes(read, f"{FEELER}248,58,{cells}\n")
    assert found[0].startswith(", line 10: ")
    assert sentence in found[0]


@pytest.mark.parametrize(
    ("cells", "sentence"),
    [
        ("0.07,0.10", "goes '0.07' is no leaf of the set in '# leaves:'; a stack is"),
        ("0.05,0.25", "stops '0.25' is no leaf of the set"),
        ("0.05+0.05,0.15", "goes '0.05+0.05' takes a leaf 2 times that '# leaves:' l"),
        ("0.20,0.05", "goes '0.20' is not thinner than stops '0.05'"),
    ],
)
def test_leaves_that_are_not_in_the_set(read: Read, cells: str, sentence: str) -> None:
    found = mistakes(read, f"{FEELER_HEAD}{SET}{FEELER_ROWS}248,58,{cells}\n")
    assert len(found) == 1
    assert sentence in found[0]


def test_a_leaf_listed_twice_may_be_stacked_on_its_twin(read: Read) -> None:
    taken = read(
        f"{FEELER_HEAD}# leaves: 0.05, 0.05, 0.10, 0.15\n{FEELER_ROWS}"
        "248,58,0.05+0.05,0.15\n"
    )
    assert feeler(taken)[3].goes_um == 100


def test_seats_are_named_in_every_row_or_in_none(read: Read) -> None:
    found = mistakes(
        read,
        FEELER_HEAD
        + "along,across,goes,stops,seat\n2,2,0,0.05,a\n2,58,0,0.05,\n248,2,0,0.05,b\n",
    )
    assert found == [", line 8: seat is blank; other rows name theirs, so say"]


@pytest.mark.parametrize("row", ["x,2,0,0.05", "2,x,0,0.05"])
def test_bad_places_of_leaves(read: Read, row: str) -> None:
    assert "is not a number" in mistakes(read, f"{FEELER}{row}\n")[0]


def test_only_dial_readings_may_be_a_block(read: Read) -> None:
    found = mistakes(read, FEELER_HEAD + "across\\along,10,20\n5,0,0.05\n")
    assert "only dial readings may be one" in found[0]
    assert found[0].endswith("the heading must be 'along,across,goes'")


# Nothing else ever comes out


def read_or_refuse(path: Path, data: bytes) -> None:
    path.write_bytes(data)
    try:
        answer: object = read_file(path, units="um")
    except BadInput as problem:
        answer = problem
    if isinstance(answer, BadInput):
        assert answer.mistakes
        assert all(one.startswith(str(path)) for one in answer.mistakes)
    else:
        assert isinstance(answer, ReadingSet)


FUZZ = settings(
    max_examples=150,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)


@FUZZ
@given(data=st.binary(max_size=300))
def test_any_bytes_are_readings_or_sentences(tmp_path: Path, data: bytes) -> None:
    read_or_refuse(tmp_path / "any.csv", data)


@FUZZ
@given(text=st.text(alphabet='#:,;"\\+-.0159eE \t\r\nacdghilmnorstuµ±', max_size=200))
def test_any_text_is_readings_or_sentences(tmp_path: Path, text: str) -> None:
    for before in ("", DIAL_HEAD, FEELER_HEAD + FEELER_ROWS, EDGE_GAPS, LEVEL):
        read_or_refuse(tmp_path / "any.csv", (before + text).encode())


PIECES = st.sampled_from(
    [
        *(mark.encode() for mark in ',;\t"#:-+0\r\n\x00µ'),
        *(b"9" * 50, b"1e99", b"nan", b"", b"\xff", b" mm", b"across\\along"),
    ]
)


@FUZZ
@given(
    start=st.sampled_from(
        [
            DIAL,
            FEELER_HEAD + SET + FEELER_ROWS,
            DIAL_HEAD + "# mouth: 80 mm to 86 mm, across 5 mm to 55 mm\n"
            "# holes: 40,30,8; 200,30,8\n# target: ±0.04mm\n"
            "across\\along;10;120;240\n5;0;;4,5\n55;-2;8;10\n",
            *(EDGE_GAPS, EDGE_LEAVES, LEVEL, WINDING, SQUARE),
        ]
    ),
    changes=st.lists(
        st.tuples(st.floats(0, 1), st.integers(0, 12), PIECES), min_size=1, max_size=4
    ),
)
def test_damaged_files_are_readings_or_sentences(
    tmp_path: Path, start: str, changes: list[tuple[float, int, bytes]]
) -> None:
    data = start.encode()
    for where, cut, piece in changes:
        at = int(where * len(data))
        data = data[:at] + piece + data[at + cut :]
    read_or_refuse(tmp_path / "damaged.csv", data)
