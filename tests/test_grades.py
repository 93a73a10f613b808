"""Grades of plates, edges and squares, against worked and listed figures.

Where a figure was only remembered, it is marked so here as it is in the module: such a
test shows that formula and table agree, not that the standard says so.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from lapping.errors import BadInput
from lapping.grades import names_a_grade, read_grade
from lapping.readings import ReferenceAt
from tests.files_as_typed import EDGE_GAPS, EDGE_HEAD, EDGE_ROWS, read_text, refusals

MICROINCH_UM = 0.0254


@pytest.mark.parametrize(
    ("size", "microinch"),
    [
        ("12 x 12 in", (50, 100, 200)),
        ("18 x 12 in", (50, 100, 200)),
        ("18 x 24 in", (75, 150, 300)),
        ("24 x 36 in", (100, 200, 400)),
        ("36 x 48 in", (200, 400, 800)),
        ("48 x 72 in", (350, 700, 1400)),
        ('96" x 48"', (500, 1000, 2000)),
    ],
)
def test_listed_plates_of_the_federal_specification(
    size: str, microinch: tuple[int, int, int]
) -> None:
    for grade, allowed in zip(("AA", "A", "b"), microinch, strict=True):
        found = read_grade(f"GGG-P-463c grade {grade}, {size}")
        assert found.allowed_um == pytest.approx(allowed * MICROINCH_UM, rel=1e-12)
        assert found.seen
        assert found.kind == "plate"


def test_its_formula_for_sizes_that_are_not_listed() -> None:
    # The printed list is rounded; its sizes through the formula, in micro-inches.
    for diagonal, microinch in ((30, 76.0), (43.2666, 114.9), (60, 184.0)):
        side = diagonal * 0.28, diagonal * 0.96
        text = f"GGG-P-463c grade AA, {side[0]:f} x {side[1]:f} in"
        assert read_grade(text).allowed_um == pytest.approx(
            microinch * MICROINCH_UM, abs=0.05 * MICROINCH_UM
        )
    # And in millimetres: 1.016 + D² · 1.5748e-6.
    found = read_grade("GGG-P-463c grade A, 300 x 400 mm")
    assert found.allowed_um == pytest.approx(2 * (1.016 + 500**2 * 1.5748e-6), rel=1e-5)


def test_a_size_in_inches_rounded_to_millimetres_is_the_listed_one() -> None:
    assert read_grade("GGG-P-463c grade A, 610 x 914 mm").allowed_um == 5.08


@pytest.mark.parametrize(
    ("length", "allowed"), [(500, (6, 15, 30, 60)), (1000, (8, 20, 40, 80))]
)
def test_din_876_as_printed(length: int, allowed: tuple[int, ...]) -> None:
    for grade, um in zip(("0", "I", "II", "III"), allowed, strict=True):
        found = read_grade(f"DIN 876 grade {grade}, {length} x 300 mm")
        assert (found.allowed_um, found.seen) == (um, True)
    assert read_grade(f"DIN 876 grade 1, {length} mm").allowed_um == allowed[1]


def test_din_876_grade_00_from_memory() -> None:
    found = read_grade("din 876-1 Grade 00, 500 x 500 mm")
    assert (found.allowed_um, found.seen) == (3, False)


@pytest.mark.parametrize(
    ("size", "allowed"),
    [
        ("160x100", (3, 6, 12, 25)),
        ("250x160", (3.5, 7, 14, 27)),
        ("400x250", (4, 8, 16, 32)),
        ("630x400", (5, 10, 20, 39)),
        ("1000x630", (6, 12, 24, 49)),
        ("1600x1000", (8, 16, 33, 66)),
        ("250x250", (3.5, 7, 15, 30)),
        ("400x400", (4.5, 9, 17, 34)),
        ("630x630", (5, 10, 21, 42)),
        ("1000x1000", (7, 14, 28, 56)),
    ],
)
def test_iso_8512_from_memory(size: str, allowed: tuple[float, ...]) -> None:
    for grade, um in enumerate(allowed):
        found = read_grade(f"ISO 8512-2:1990 grade {grade}, {size} mm")
        assert (found.allowed_um, found.seen) == (um, False)


def test_the_formula_of_iso_8512_gives_its_table_rounded() -> None:
    """Sizes beside the listed ones, with a diagonal in the same step of 100 mm."""
    for size, listed in (("402x246", 16), ("1002x625", 24), ("1602x995", 33)):
        found = read_grade(f"ISO 8512 grade 2, {size} mm").allowed_um
        assert found == pytest.approx(listed, abs=0.5)
    # A diagonal of exactly 500 mm is not rounded up to 600.
    assert read_grade("ISO 8512 grade 1, 300 x 400 mm").allowed_um == pytest.approx(8)


def test_straightedges_and_squares_from_memory() -> None:
    for grade, um in (("00", 4.333), ("0", 7), ("1", 12.333), ("2", 20.5)):
        found = read_grade(f"DIN 874 grade {grade}, 500 mm")
        assert found.allowed_um == pytest.approx(um, abs=0.001)
        assert (found.kind, found.seen) == ("straightedge", False)
    for grade, um in (("00", 3), ("0", 7), ("1", 15), ("2", 30)):
        found = read_grade(f"DIN 875 grade {grade}, 100 mm")
        assert (found.allowed_um, found.kind, found.seen) == (um, "square", False)


@pytest.mark.parametrize(
    "text",
    [
        "GGG-P-463c grade A, 24 x 36 in",
        "ggg-p-463 class a 24in by 36in",
        "Federal Spec. GGG-P-463C, grade A; 24 × 36 in",
        'Fed Spec GGG-P-463c grade A, 24" x 36"',
        "GGG-P-463c grade A, 24*36 in",
    ],
)
def test_ways_to_write_one_grade(text: str) -> None:
    found = read_grade(text)
    assert (found.standard, found.grade) == ("GGG-P-463c", "A")
    assert found.allowed_um == 5.08


def test_other_spellings_of_standards() -> None:
    assert read_grade("DIN EN ISO 8512-1 grade 0, 400x250mm").standard == "ISO 8512"
    assert read_grade("DIN 874-1:2003-11 grade 0, 500mm").standard == "DIN 874"
    assert read_grade("DIN876 grade 0, 50,5cm", decimal_comma=True).allowed_um == 6.02


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            "granite grade A, 24 x 36 in",
            "is of no standard known here; the grades are GGG-P-463c AA, A, B; DIN 876 "
            "00, 0, 1, 2, 3; ISO 8512 0, 1, 2, 3; DIN 874 00, 0, 1, 2; DIN 875 00, 0, "
            "1, 2; or write the flatness itself, as 5 um",
        ),
        ("DIN 8761 grade 0, 500 mm", "is of no standard known here"),
        ("DIN 876 IV grade 0, 500 mm", "is of no standard known here"),
        ("DIN 876, 500 mm", "is of no standard known here"),
        ("DIN 876", "'DIN 876' names no grade; write it as one of GGG-P-463c grade A"),
        (
            "DIN 876 grade 7, 5 mm",
            "'7' is no grade of DIN 876 known here; they are 00,",
        ),
        ("DIN 876 grade", "'' is no grade of DIN 876 known here; they are 00, 0, 1, 2"),
        ("GGG-P-463c grade 0, 5 mm", "'0' is no grade of GGG-P-463c known here; they"),
        ("DIN 876 grade 0", "gives no size; the grade allows more on a larger one"),
        ("ISO 8512 grade 0, 400 mm", "gives one size; ISO 8512 goes by the diagonal,"),
        ("DIN 876 grade 0, 400 x 250", "gives a size without a unit; write mm or in"),
        ("DIN 876 grade 0, 4 x 2 x 1 mm", "gives 3 sizes; write two, as 24 x 36 in"),
        ("DIN 876 grade 0, -4 mm", "gives a size that nothing has; is the unit right?"),
        ("DIN 876 grade 0, 0 x 4 mm", "gives a size that nothing has"),
        ("DIN 876 grade 0, 400 m", "gives a size that nothing has"),
        ("DIN 876 grade 0, large", "'large' is not a number"),
        ("DIN 876 grade 0, 4 furlong", "'furlong' is no unit known here"),
    ],
)
def test_what_is_no_grade(text: str, sentence: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_grade(text)
    assert sentence in str(caught.value)


def test_a_length_is_not_taken_for_a_grade() -> None:
    for text in ("5 um", "0.0002in", "x", "nan", "granite", "inch"):
        assert not names_a_grade(text)


# In a readings file


def test_a_grade_in_a_file(tmp_path: Path) -> None:
    grade = "GGG-P-463c grade A, 24 x 36 in"
    taken = read_text(
        tmp_path,
        f"{EDGE_HEAD}# no_light: 5um\n# reference_flatness: {grade}\n{EDGE_ROWS}",
    )
    assert (taken.reference_flatness_um, taken.reference_grade) == (5.08, grade)
    assert taken.warnings == ()


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("DIN 876 grade 9, 630 x 400 mm", "'9' is no grade of DIN 876 known here"),
        ("DIN 875 grade 1, 100 mm", "is the grade of a square, which these straighted"),
        ("granite", "'granite' is not a number"),
        ("", "nothing is said after the colon"),
    ],
)
def test_bad_grades_in_a_file(tmp_path: Path, said: str, sentence: str) -> None:
    text = f"{EDGE_HEAD}# reference_flatness: {said}\n{EDGE_ROWS}"
    found = refusals(tmp_path, text)
    assert len(found) == 1
    assert found[0].startswith(", line 6: reference_flatness: ")
    assert sentence in found[0]


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ("100 mm, 50 mm", ReferenceAt(along_mm=100, across_mm=50, toe="left")),
        (
            "10cm; 2 in, Toe Right",
            ReferenceAt(along_mm=100, across_mm=50.8, toe="right"),
        ),
        ("-5 mm, 0 mm, toe near", ReferenceAt(along_mm=-5, across_mm=0, toe="near")),
        ("0mm,0mm,toe  far", ReferenceAt(along_mm=0, across_mm=0, toe="far")),
    ],
)
def test_where_the_face_lay(tmp_path: Path, said: str, place: ReferenceAt) -> None:
    text = f"{EDGE_HEAD}# reference_at: {said}\n{EDGE_ROWS}"
    assert read_text(tmp_path, text).reference_at == place


def test_where_the_face_lay_with_decimal_commas_or_bare(tmp_path: Path) -> None:
    head, rows = EDGE_HEAD, EDGE_ROWS.replace(",", ";").replace("0.0", "0,0")
    taken = read_text(tmp_path, f"{head}# reference_at: 100,5 mm, 50 mm\n{rows}")
    assert taken.reference_at == ReferenceAt(along_mm=100.5, across_mm=50)
    taken = read_text(
        tmp_path, f"{EDGE_HEAD}# positions: mm\n# reference_at: 100, 50\n{EDGE_ROWS}"
    )
    assert taken.reference_at == ReferenceAt(along_mm=100, across_mm=50)
    assert read_text(tmp_path, EDGE_GAPS).reference_at is None


HOW = "write '100 mm, 50 mm', and ', toe right' if the toe did not point left"


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("100, 50", "'100' has no unit; write it too, as 250 mm or 50 um"),
        ("100 mm", f"'100 mm' is no place; {HOW}"),
        ("1 mm, 2 mm, 3 mm, 4 mm", f"'1 mm, 2 mm, 3 mm, 4 mm' is no place; {HOW}"),
        ("1 mm, 2 mm, left", f"the toe points left, right, near or far; {HOW}"),
        ("1 mm, 2 mm, toe up", f"the toe points left, right, near or far; {HOW}"),
        ("x, 50 mm", "'x' is not a number; write one such as 0.05mm"),
        ("6 m, 0 mm", "'6 m, 0 mm' is over 5 m away; is the unit right?"),
        ("", "nothing is said after the colon; say it or delete the line"),
    ],
)
def test_where_no_face_lies(tmp_path: Path, said: str, sentence: str) -> None:
    found = refusals(tmp_path, f"{EDGE_HEAD}# reference_at: {said}\n{EDGE_ROWS}")
    assert found == [f", line 6: reference_at: {sentence}"]
