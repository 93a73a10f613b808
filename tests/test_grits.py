"""Grades of paper: sizes of the standards, other systems, and what is refused."""

from __future__ import annotations

import itertools
import math

import pytest

from lapping.errors import BadInput
from lapping.grits import SYSTEMS, grits_of, nearest, parse_grit
from lapping.kept import Strokes
from lapping.sayings import check_grade, check_number, is_grade
from tests.said import Run

# FEPA 43-1 / ISO 6344 and ANSI B74.18, average diameters as printed in tables of both,
# seen; JIS R 6001:1987, d50 by electrical resistance, seen.
PRINTED_UM = {
    "P12": 1815, "P24": 764, "P60": 269, "P80": 201, "P120": 125, "P180": 82,
    "P220": 68, "P240": 58.5, "P320": 46.2, "P400": 35.0, "P600": 25.8, "P800": 21.8,
    "P1200": 15.3, "P2500": 8.4,
    "CAMI 24": 708, "CAMI 80": 190, "CAMI 120": 115, "CAMI 220": 68, "CAMI 240": 53.0,
    "CAMI 320": 36.0, "CAMI 400": 23.0, "CAMI 600": 16.0, "CAMI 1000": 10.3,
    "JIS 240": 57.0, "JIS 400": 30.0, "JIS 1000": 11.5, "JIS 4000": 3.0,
    "JIS 8000": 1.2,
}  # fmt: skip
# A second printed table of ANSI B74.18, seen; it differs by a few percent.
PRINTED_ELSEWHERE_UM = {
    24: 715, 30: 638, 36: 535, 40: 428, 50: 351, 60: 268, 80: 192, 100: 141, 120: 116,
    150: 93, 400: 23.6,
}  # fmt: skip


@pytest.mark.parametrize(("grade", "grain_um"), PRINTED_UM.items())
def test_a_grade_has_the_size_that_is_printed(grade: str, grain_um: float) -> None:
    assert parse_grit(grade).grain_um == grain_um
    assert parse_grit(grade).name == grade


def test_another_printed_table_lies_within_the_tolerance_of_cami() -> None:
    for number, grain_um in PRINTED_ELSEWHERE_UM.items():
        grit = parse_grit(f"CAMI {number}")
        assert grit.tolerance_um is not None
        assert abs(grit.grain_um - grain_um) <= grit.tolerance_um


def test_tolerances_are_those_of_the_tables() -> None:
    # JIS R 6001:1987, seen; FEPA 43-1, from memory.
    assert parse_grit("JIS 1000").tolerance_um == 1.0
    assert parse_grit("JIS 8000").tolerance_um == 0.3
    assert parse_grit("P240").tolerance_um == 2.0
    assert parse_grit("P2500").tolerance_um == 0.5
    assert parse_grit("P80").tolerance_um is None
    assert parse_grit("15um").tolerance_um is None


def test_higher_numbers_are_finer_in_every_system() -> None:
    for system in SYSTEMS:
        for coarse, fine in itertools.pairwise(grits_of(system)):
            assert coarse.number is not None
            assert fine.number is not None
            assert coarse.number < fine.number
            assert coarse.coarser_than(fine)
            assert not fine.coarser_than(coarse)


def test_the_p_microgrits_do_not_overlap_beyond_their_tolerance() -> None:
    # FEPA 43-1: neighbouring grades are apart even at the ends of their tolerance.
    fine = [g for g in grits_of("P") if g.tolerance_um is not None]
    for one, other in itertools.pairwise(fine):
        assert one.tolerance_um is not None
        assert other.tolerance_um is not None
        assert one.grain_um - one.tolerance_um > other.grain_um + other.tolerance_um


@pytest.mark.parametrize(
    ("grade", "system", "other"),
    [
        # By the printed tables above: the size beside it is the nearest in proportion.
        ("CAMI 400", "P", "P800"),  # 23.0 beside 21.8; P600 is 25.8
        ("P400", "CAMI", "CAMI 320"),  # 35.0 beside 36.0
        ("P240", "CAMI", "CAMI 240"),  # 58.5 beside 53.0; 220 is 68
        ("CAMI 800", "P", "P1500"),  # both 12.6
        ("JIS 1000", "P", "P1500"),  # 11.5 between 12.6 and 10.3
        ("P1500", "JIS", "JIS 1000"),  # 12.6 between 14.0 and 11.5
        ("P180", "CAMI", "CAMI 180"),  # both 82
        ("15um", "P", "P1200"),  # 15 beside 15.3
        ("P80", "film", "201um"),
        ("P80", "P", "P80"),
    ],
)
def test_the_nearest_grade_of_another_system(
    grade: str, system: str, other: str
) -> None:
    named = next(one for one in SYSTEMS if one == system)
    assert nearest(parse_grit(grade), named).name == other


def test_no_listed_grade_is_nearer_in_proportion_than_the_nearest() -> None:
    for grit in grits_of("P"):
        if not 10.3 <= grit.grain_um <= 708:  # the ends of the CAMI table
            continue
        found = nearest(grit, "CAMI")
        apart = abs(math.log(found.grain_um / grit.grain_um))
        assert all(
            apart <= abs(math.log(one.grain_um / grit.grain_um))
            for one in grits_of("CAMI")
        )


@pytest.mark.parametrize(
    ("grade", "system", "sentence"),
    [
        ("P12", "CAMI", "P12, 1815 µm, is coarser than any CAMI.*CAMI 24, 708 µm"),
        ("P2500", "CAMI", "finer than any CAMI.*the finest is CAMI 1000, 10.3 µm"),
        ("P80", "JIS", "coarser than any JIS.*the coarsest is JIS 240, 57 µm"),
    ],
)
def test_no_grade_is_made_up_beyond_a_table(
    grade: str, system: str, sentence: str
) -> None:
    named = next(one for one in SYSTEMS if one == system)
    with pytest.raises(BadInput, match=sentence):
        nearest(parse_grit(grade), named)


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("p240", "P240"),
        (" P 240 ", "P240"),
        ("cami400", "CAMI 400"),
        ("ANSI 400", "CAMI 400"),
        ("JIS #1000", "JIS 1000"),
        ("jis#1000", "JIS 1000"),
        ("15 µm", "15um"),
        ("0.3μm", "0.3um"),
        ("5 micron", "5um"),
    ],
)
def test_a_grade_may_be_written_in_several_ways(typed: str, name: str) -> None:
    grit = parse_grit(typed)
    assert grit.name == name
    assert is_grade(grit.name)
    assert parse_grit(grit.name) == grit


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("P230", r"P230 is no grade known here.*P220 \(68 µm\) and P240 \(58.5 µm\)"),
        ("P9999", r"nearest to it is P2500 \(8.4 µm\), the finest of them"),
        ("P10", r"nearest to it is P12 \(1815 µm\), the coarsest of them"),
        ("JIS 100", r"nearest to it is JIS 240 \(57 µm\)"),
        ("P3000", "grade of ISO 6344, but the size of its grain is not known here"),
        ("P7", "no grade of paper known here"),
        ("coarse", "no grade of paper known here"),
        ("9999um", "no grain of any film"),
        ("0um", "no grain of any film"),
    ],
)
def test_an_unknown_grade_is_refused_with_its_neighbours(
    typed: str, sentence: str
) -> None:
    with pytest.raises(BadInput, match=f"(?i){sentence}"):
        parse_grit(typed)


def test_a_bare_number_is_refused_with_the_sizes_it_may_mean() -> None:
    sizes = "P400 has grains of 35 µm, CAMI 400 of 23 µm, JIS 400 of 30 µm"
    for typed in ("400", "#400"):
        with pytest.raises(BadInput, match=f"either of two grits.*{sizes}"):
            check_grade(typed)
    with pytest.raises(BadInput, match=r"15um for film$"):
        check_grade("77")


def test_what_a_log_kept_of_an_unknown_number_stays_readable() -> None:
    assert Strokes(face=1, grade="P77", count=5).grade == "P77"
    with pytest.raises(BadInput, match=r"P60.*and P80"):
        check_number("P77")


def test_paper_of_unknown_grain_may_be_kept_if_its_standard_names_it() -> None:
    check_number("P3000")
    check_number("P5000")


def test_strokes_and_papers_on_no_known_paper_are_not_kept(run: Run) -> None:
    run("plane", "Bramble", "--length", "245mm", "--width", "60mm")
    for words in (("strokes", "Bramble/sole", "P77", "50"), ("log", "paper", "P77")):
        refused = run(*words)
        assert refused.code == 2
        assert "P60 (269 µm) and P80 (201 µm)" in refused.err
    assert "0 entries" in run("plane", "Bramble").out
    assert run("log", "paper", "P3000").code == 0
