"""Level files, units of slopes, and the sentences that refuse bad ones."""

from __future__ import annotations

import math
from fractions import Fraction
from pathlib import Path

import pytest

from lapping.errors import BadInput
from lapping.readings import LevelReading, ReadingSet
from lapping.slopes import read_slope, slope_unit_um_per_m
from tests.files_as_typed import (
    LEVEL,
    LEVEL_HEAD,
    LEVEL_ROWS,
    read_text,
    refusals,
    warned,
)

HEADING = "line,along_1,across_1,along_2,across_2,slope\n"
# A mirror on its carriage, moved along one line after the other.
LINES_HEAD = LEVEL_HEAD.replace("gravity", "line").replace("0.02mm/m", "arcsec")
LINES = LINES_HEAD + LEVEL_ROWS


def slopes(taken: ReadingSet) -> list[float]:
    """Give the slopes of level readings in micrometres per metre."""
    found = [one for one in taken.readings if isinstance(one, LevelReading)]
    assert len(found) == len(taken.readings)
    return [one.slope_um_per_m for one in found]


def test_a_level_file(tmp_path: Path) -> None:
    taken = read_text(tmp_path, LEVEL)
    assert taken.method == "level"
    assert taken.datum == "gravity"
    assert taken.readings[0] == LevelReading(
        line_name="1",
        along_1_mm=50,
        across_1_mm=50,
        along_2_mm=150,
        across_2_mm=50,
        slope_um_per_m=30,
        entered_as="1.5",
        line=8,
    )
    assert slopes(taken) == pytest.approx([30, -10, 2 * 4.84814, -12], rel=1e-6)
    assert taken.unit == "0.02mm/m"
    assert taken.step_um == 1, "the finest is the 1 of −12 um/m"
    assert taken.warnings == ()


def test_what_a_level_resolves_is_a_slope(tmp_path: Path) -> None:
    head = LEVEL_HEAD.replace("0.02mm/m", "arcsec")
    taken = read_text(
        tmp_path, f"{head}# resolution: 0.5\n# repeatability: 0.01 mm/m\n{LEVEL_ROWS}"
    )
    assert taken.resolution_um == pytest.approx(0.5 * 4.84814, rel=1e-6)
    assert taken.repeatability_um == 10


def test_units_given_beside_the_file(tmp_path: Path) -> None:
    bare = LEVEL.replace("# unit: 0.02mm/m\n", "")
    assert slopes(read_text(tmp_path, bare, units="um/m"))[0] == 1.5
    found = refusals(tmp_path, bare, units="um")
    assert len(found) == 1
    assert found[0].startswith(": --units: 'um' is no unit of slopes; use um/m, mm/m,")
    found = refusals(tmp_path, bare)
    assert found == [
        ", line 7: slope '1.5' has no unit; say '# unit: um/m' (or mm/m, 0.02mm/m, "
        "arcsec) above the table (and 1 more like this)"
    ]


@pytest.mark.parametrize(
    ("text", "um_per_m"),
    [
        ("um/m", 1),
        ("µm/m", 1),
        ("μm / m", 1),
        ("mm/m", 1000),
        ("0.02mm/m", 20),
        ("0.02 mm/1000 mm", 20),
        ("0.0005in/ft", 0.0127 / 0.3048 * 1000),
        ("0.0005in/foot", 0.0127 / 0.3048 * 1000),
        ('0.0005"/10"', 50),
        ("arcsec", math.tan(math.radians(1 / 3600)) * 1e6),
        ("arcmin", math.tan(math.radians(1 / 60)) * 1e6),
        # A level of 0.02 mm/m per division is one of 4.1253 arcseconds.
        ("4.1253 arcsec", 20),
    ],
)
def test_units_of_slopes(text: str, um_per_m: float) -> None:
    assert float(slope_unit_um_per_m(text)) == pytest.approx(um_per_m, rel=3e-5)


def test_an_arcsecond_over_the_foot_of_a_level() -> None:
    rise_um = float(slope_unit_um_per_m("arcsec")) * 0.100
    assert rise_um == pytest.approx(0.48481, abs=1e-5)


def test_slopes_with_decimal_commas() -> None:
    assert slope_unit_um_per_m("0,02mm/m", decimal_comma=True) == 20
    typed, unit = read_slope("−1,5e1 mm/m", decimal_comma=True)
    assert typed.number == -15
    assert (typed.unit, unit) == ("mm/m", Fraction(1000))


@pytest.mark.parametrize(
    "text",
    [
        *("um", "", "5", "m/", "/m", "um/h", "0mm/m", "mm/0m", "-1mm/m", "furlong/m"),
        *("x arcsec", "0 arcsec", "5000 arcsec", "1mm arcsec", "0,02mm/m"),
    ],
)
def test_what_is_no_unit_of_slopes(text: str) -> None:
    with pytest.raises(BadInput):
        slope_unit_um_per_m(text)


def test_a_unit_too_steep() -> None:
    with pytest.raises(BadInput, match="'2m/m' is steeper than 1 in 1; is it right"):
        slope_unit_um_per_m("2m/m")


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        (
            "# unit: um",
            "line 5: unit: 'um' is no unit of slopes; use um/m, mm/m, a div",
        ),
        ("# unit: 0.02mm/m\n# resolution: 0.5", "resolution: '0.5' has no unit; write"),
        ("# unit: um/m\n# resolution: 2 um", "resolution: 'um' is no unit of slopes"),
        ("# unit: um/m\n# resolution: x", "resolution: 'x' is not a number; write one"),
        ("# unit: um/m\n# repeatability: 0", "repeatability: '0' must be more than 0"),
        ("# unit: um/m\n# repeatability: 30 mm/m", "and at most 20 mm/m"),
        ("# unit: um/m\n# repeatability:", "repeatability: nothing is said after the"),
    ],
)
def test_bad_headers(tmp_path: Path, line: str, sentence: str) -> None:
    found = refusals(tmp_path, LEVEL.replace("# unit: 0.02mm/m", line))
    assert len(found) == 1
    assert sentence in found[0]


def test_slopes_without_a_datum(tmp_path: Path) -> None:
    assert refusals(tmp_path, LEVEL.replace("# datum: gravity\n", "")) == [
        ": slopes without a datum cannot be joined; say '# datum: gravity' for a level "
        "on a face that was not moved between readings, '# datum: line' for an "
        "autocollimator, set up anew for each line"
    ]
    found = refusals(tmp_path, LEVEL.replace("gravity", "plumb"))
    assert found == [
        ", line 6: datum: 'plumb' is not known; it can be gravity, line",
    ]


def test_a_level_has_no_plate(tmp_path: Path) -> None:
    taken = read_text(tmp_path, f"{LEVEL_HEAD}# reference_flatness: 4 um\n{LEVEL_ROWS}")
    assert warned(taken) == [
        ", line 7: 'reference_flatness' is for dial, feeler, straightedge and square "
        "readings and was not used for these level readings"
    ]


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (",50,50,150,50,1", "line is blank; name the line the slope was read along"),
        ("1,x,50,150,50,1", "along_1 'x' is not a number"),
        ("1,50,,150,50,1", "across_1 is blank; write a number"),
        ("1,50,50,150,50,", "slope is blank; write a number"),
        (
            "1,50,50,150,50,x",
            "slope 'x' is not a number; write one such as 12 or 12 um",
        ),
        ("1,50,50,150,50,0.0.1", "slope '0.0.1' has more than one decimal sign"),
        ("1,50,50,150,50,3 um", "slope 'um' is no unit of slopes; use um/m, mm/m, a"),
        ('1,50,50,150,50,"0,5"', "slope '0,5' has a comma in it; if commas are your"),
        ("1,50,50,150,50,1001", "slope '1001' is 20.02 mm/m, beyond ±20 mm/m; is the"),
        ("1,50,50,150,50,1e99", "beyond ±20 mm/m; is the unit right?"),
        (
            "1,50,50,50,50,1",
            "places 1 and 2 are 0 mm apart; a slope is read between two places, give "
            "those where the level's feet stood",
        ),
        ("1,50,50,50.5,50,1", "places 1 and 2 are 0.5 mm apart"),
        ("1,50,50,650,50,1", "the place along 650 mm, across 50 mm is off the face"),
        ("1,-1,50,150,50,1", "the place along -1 mm, across 50 mm is off the face"),
        ("1,50,50,150", "4 cells under 6 columns"),
    ],
)
def test_bad_rows(tmp_path: Path, row: str, sentence: str) -> None:
    found = refusals(tmp_path, f"{LEVEL}{row}\n")
    assert len(found) == 1
    assert found[0].startswith(", line 12: ")
    assert sentence in found[0]


def test_slopes_that_join_too_few_places(tmp_path: Path) -> None:
    rows = f"{HEADING}1,50,50,150,50,1\n1,150,50,50,50,-1\n"
    assert refusals(tmp_path, LEVEL_HEAD + rows) == [
        ": slopes between 2 places show only how the face leans; step the level on, so "
        "that they join at least 3"
    ]
    assert len(read_text(tmp_path, f"{LEVEL_HEAD}{rows}1,150,50,250,50,2\n").readings)


def test_a_heading_without_a_column(tmp_path: Path) -> None:
    found = refusals(tmp_path, LEVEL.replace(",slope", ""))
    assert (
        "the column 'slope' is missing; the heading must be 'line,along_1," in found[0]
    )


def test_lines_that_each_have_their_tilt(tmp_path: Path) -> None:
    taken = read_text(tmp_path, LINES)
    assert taken.datum == "line"
    assert taken.warnings == ()
    taken = read_text(tmp_path, f"{LINES}3,50,50,550,250,1\n")
    assert warned(taken) == [
        ", line 12: line '3' has one slope only; with '# datum: line' its tilt is "
        "unknown, so that this slope shows nothing"
    ]
    found = refusals(tmp_path, f"{LINES}1,250,50,350,60,1\n")
    assert [one[:10] for one in found] == [", line 9: ", ", line 12:"]
    assert found[0].endswith(
        "the place along 150 mm, across 50 mm is 3.3 mm off line '1', which runs from "
        "50,50 to 350,60; is a place or the line's name wrong?"
    )
    # The zero of a level does not care which way it was stepped.
    assert read_text(tmp_path, f"{LEVEL}1,250,50,350,60,1\n").warnings == ()
