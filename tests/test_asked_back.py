"""Readings files with one slip in them: one sentence that says what was meant."""

from __future__ import annotations

from pathlib import Path

import pytest

from lapping.answer import Answer
from lapping.errors import BadInput
from lapping.from_files import check_readings
from lapping.sayings import check_grade
from lapping.typed import read_typed
from lapping.words.answer import report

HEAD = """# method: feeler
# face: sole
# length: 225 mm
# width: 58 mm
# mouth: 70 mm to 75 mm, across 6 mm to 52 mm
# unit: mm
# leaves: 0.03, 0.04, 0.05, 0.06, 0.10, 0.12
# reference_flatness: 10 um
along,across,goes,stops
"""
ROWS = """2,2,0,0.03
66,2,0.03,0.04
128,2,0.1,0.12
223,2,0,0.03
223,29,0,0.03
223,56,0,0.03
128,56,0.1,0.12
66,56,0.03,0.04
2,56,0,0.03
2,29,0,0.03
"""
EDGE = """# method: straightedge
# face: sole
# length: 225 mm
# width: 58 mm
# unit: mm
# reference_flatness: 5 um
line,along,across,goes,stops
"""


def edge_file(tmp_path: Path, name: str, middle: str) -> Path:
    """Write lines along, across and both diagonals, with this gap at half length."""
    rows = [
        f"along {across},{along},{across},{middle if along == 112 else 'no light,'}"
        for across in (5, 29, 53)
        for along in (8, 60, 112, 165, 217)
    ]
    rows += [
        f"across {along},{along},{across},no light,"
        for along in (8, 217)
        for across in (5, 29, 53)
    ]
    for which, sides in (("one", (5, 29, 53)), ("other", (53, 29, 5))):
        rows += [
            f"diagonal {which},{along},{across},"
            + (middle if along == 112 else "no light,")
            for along, across in zip((8, 112, 217), sides, strict=True)
        ]
    path = tmp_path / name
    path.write_text(EDGE + "\n".join(rows), encoding="utf-8")
    return path


def asked(tmp_path: Path, text: str) -> str:
    """Give the one sentence that refuses a file, without the file's name."""
    path = tmp_path / "leaves.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BadInput) as refused:
        check_readings(path)
    (only,) = refused.value.mistakes
    return only.removeprefix(str(path))


def said(paths: Path | list[Path], units: str | None = None) -> str:
    found = check_readings(paths, units=units)
    assert isinstance(found, Answer)
    return " ".join(report(found).split())


@pytest.mark.parametrize(
    ("typed", "instead", "sentence"),
    [
        (
            "unit: mm",
            "unit: um",
            ", line 7: leaves: '0.03' is 0.03 µm, and leaves are 10 µm to 2 mm thick; "
            "is the unit right? (and 5 more like this)",
        ),
        (
            "# unit: mm\n",
            "",
            ", line 6: leaves: '0.03' has no unit; say '# unit: um' (or mm, 0.01mm, "
            "thou, 0.0005in) above the table (and 25 more like this)",
        ),
        (
            "unit: mm",
            "unit: milimeter",
            ", line 6: unit: 'milimeter' is no unit known here; did you mean 'mm'?",
        ),
        (
            "goes,stops",
            "goes",
            ", line 10: 4 cells under 3 columns; should the heading end in "
            "'goes,stops'? (and 9 more like this)",
        ),
        (
            "# method: feeler\n",
            "",
            ": the header 'method' is missing; write a line such as '# method: feeler' "
            "above the table",
        ),
        ("feeler", "leaves", ", line 1: method: 'leaves' is not known; did you mean "
         "'feeler'? It can be"),
        ("feeler", "edge", ", line 1: method: 'edge' is not known; did you mean "
         "'straightedge'? It can be"),
        (
            "128,2,0.1,",
            "128,2,o.1,",
            ", line 12: goes 'o.1' is not a number; is that the letter o for a zero?",
        ),
    ],
)  # fmt: skip
def test_one_slip_is_asked_about_once(
    typed: str, instead: str, sentence: str, tmp_path: Path
) -> None:
    whole = HEAD + ROWS
    assert whole.count(typed) == 1
    assert asked(tmp_path, whole.replace(typed, instead)).startswith(sentence)


def test_leaves_of_no_listed_set_are_held_to_what_is_sold(tmp_path: Path) -> None:
    whole = HEAD.replace("# leaves: 0.03, 0.04, 0.05, 0.06, 0.10, 0.12\n", "") + ROWS
    sentence = asked(tmp_path, whole.replace("unit: mm", "unit: um"))
    assert sentence.startswith(", line 9: stops '0.03' is 0.03 µm, and leaves are 10")


def test_a_table_of_another_method_is_named(tmp_path: Path) -> None:
    text = EDGE.replace("straightedge", "feeler") + "left,8,5,0,0.03\n"
    assert ", but of '# method: straightedge'" in asked(tmp_path, text)


@pytest.mark.parametrize("typed", ["o.1", "1oo", "O", "1Oum", "o,5"])
def test_the_letter_o_for_a_zero(typed: str) -> None:
    with pytest.raises(BadInput, match="is that the letter o for a zero"):
        read_typed(typed, decimal_comma=True)


@pytest.mark.parametrize("typed", ["two", "no", "5 foo", "low", "", "-", "hello"])
def test_other_words_are_not_taken_for_zeros(typed: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_typed(typed)
    assert "letter" not in str(refused.value)


def test_the_letter_o_in_a_grit() -> None:
    with pytest.raises(BadInput, match="is that the letter o for a zero"):
        check_grade("P12O")


@pytest.mark.parametrize(
    ("size", "wrong", "sentence"),
    [
        ("58 mm", "580 mm", "All readings lie within 56 mm of 580 mm: is the width "
         "right? "),
        ("225 mm", "2250 mm", "All readings lie within 223 mm of 2250 mm: is the "
         "length right? "),
    ],
)  # fmt: skip
def test_a_size_ten_times_too_large(
    size: str, wrong: str, sentence: str, tmp_path: Path
) -> None:
    path = tmp_path / "leaves.csv"
    path.write_text(HEAD + ROWS, encoding="utf-8")
    assert "is the" not in said(path)
    path.write_text((HEAD + ROWS).replace(size, wrong), encoding="utf-8")
    assert sentence in said(path)


def test_two_states_of_a_face_are_no_answer(tmp_path: Path) -> None:
    before = edge_file(tmp_path, "before.csv", "0.15,0.2")
    after = edge_file(tmp_path, "after.csv", "no light,")
    found = check_readings([before, after], target_um=120)
    assert isinstance(found, Answer)
    assert found.at_odds
    assert found.verdict == found.working_verdict == "cannot tell"
    words = report(found)
    assert words.splitlines()[2].startswith("First      Readings that meet")
    assert "chance of" not in words
    for one in (before, after):
        alone = check_readings(one, target_um=120)
        assert isinstance(alone, Answer)
        assert not alone.at_odds
        assert not alone.unseen


def test_what_nobody_read_is_marked_and_settled_by_what_can(tmp_path: Path) -> None:
    path = tmp_path / "leaves.csv"
    path.write_text(HEAD + ROWS, encoding="utf-8")
    words = said(path)
    settle = words.partition("To settle ")[2]
    assert settle.startswith("lay a straightedge along the centre or use a dial")
    assert "(not read)" in words
    edges = said(edge_file(tmp_path, "edge.csv", "0.03,0.06"))
    assert "To settle read more places, first of all here: " in edges
    assert "'no light' was taken as a gap of less than 5 µm" in edges


def test_heights_in_millimetres_where_they_are_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "leaves.csv"
    path.write_text(HEAD + ROWS, encoding="utf-8")
    words = said(path, units="mm")
    assert "0.08 mm allowed" in words
    assert "µm" not in words
    assert "80 µm allowed" in said(path)
