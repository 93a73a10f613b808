"""Lengths as typed and as printed."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapping.errors import BadInput
from lapping.typed import Typed, read_typed, step_of
from lapping.units import (
    MICROMETRES,
    THOU,
    format_um,
    height_unit,
    parse_length_mm,
    parse_length_um,
    parse_target_um,
    unit_um,
)


@pytest.mark.parametrize(
    ("typed", "um"),
    [
        ("0.05mm", 50.0),
        ("0.1mm", 100.0),
        ("50um", 50.0),
        ("50µm", 50.0),
        ("50μm", 50.0),
        ("2thou", 50.8),
        ("0.002in", 50.8),
        ('2"', 50800.0),
        ("2″", 50800.0),
        ("2 inch", 50800.0),
        ("0.5 cm", 5000.0),
        ("0.01 m", 10000.0),
        (" .5 MM ", 500.0),
        ("5.mm", 5000.0),
        ("-3um", -3.0),
        ("−3 um", -3.0),
        ("–3 um", -3.0),
        ("+3um", 3.0),
        ("1E-05 m", 10.0),
        ("1e−2mm", 10.0),
    ],
)
def test_a_length_with_a_unit_is_read_exactly(typed: str, um: float) -> None:
    assert parse_length_um(typed) == um
    assert parse_length_mm(typed) == pytest.approx(um / 1000, rel=1e-15)


def test_a_bare_length_is_refused_unless_its_unit_is_said() -> None:
    with pytest.raises(
        BadInput,
        match=r"^'0\.05' has no unit; write 0\.05mm, 50um, 2thou or 0\.002in$",
    ):
        parse_length_um("0.05")
    with pytest.raises(BadInput, match="'250' has no unit; write 250mm, 25cm or 10in"):
        parse_length_mm("250")
    assert parse_length_um("0.05", "mm") == 50
    assert parse_length_um("5", "0.01mm") == 50
    assert parse_length_um("2thou", "mm") == 50.8
    assert parse_length_mm("250", "mm") == 250


def test_a_decimal_comma_is_read_only_when_told() -> None:
    with pytest.raises(BadInput, match=r"'0,05mm' has a decimal comma; write a decim"):
        parse_length_um("0,05mm")
    assert parse_length_um("0,05mm", decimal_comma=True) == 50
    assert parse_length_um(",05mm", decimal_comma=True) == 50
    assert parse_length_um("0.05mm", decimal_comma=True) == 50


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ("", "'' is not a number; write one such as 0.05mm"),
        ("nan", "'nan' is not a number"),
        ("inf mm", "'inf mm' is not a number"),
        ("-∞", "is not a number"),
        ("٣mm", "is not a number"),
        ("mm", "'mm' is not a number"),
        ("--3mm", "is not a number"),
        ("1.234,5mm", "more than one decimal sign"),
        ("1.2.3", "more than one decimal sign"),
        ("9" * 41 + "mm", "has more than 40 digits; shorten it"),
        (
            "5 furlong",
            "'5 furlong': 'furlong' is no unit known here; "
            'use um (µm), mm, cm, m, thou, in (")',
        ),
        ("1e400mm", "'e400mm' is no unit known here"),
        ("2mil", "'mil' is no unit known here"),
        ("5 m\x1bm", r"'m\x1bm' is no unit known here"),
        ("x" * 60, "'" + "x" * 39 + "…' is not a number"),
    ],
)
def test_what_is_no_length_is_refused_in_a_sentence(typed: str, sentence: str) -> None:
    for comma in (False, True):
        with pytest.raises(BadInput, match=re.escape(sentence)) as caught:
            parse_length_um(typed, decimal_comma=comma)
        assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("unit", "um"),
    [
        ("um", 1.0),
        ("µm", 1.0),
        ("mm", 1000.0),
        ("0.01mm", 10.0),
        ("0.002 mm", 2.0),
        ("thou", 25.4),
        ("0.0005in", 12.7),
        ("in", 25400.0),
        ('"', 25400.0),
        ("MM", 1000.0),
    ],
)
def test_units_of_readings(unit: str, um: float) -> None:
    assert unit_um(unit) == um


@pytest.mark.parametrize(
    ("unit", "sentence"),
    [
        ("furlong", "'furlong' is no unit known here; use one of um"),
        ("0.01", "'0.01' is a number without a unit"),
        ("0mm", "the unit '0mm' must be more than 0"),
        ("-1mm", "the unit '-1mm' must be more than 0"),
        ("", "'' is no unit known here"),
        ("²", "is not a number"),
    ],
)
def test_what_is_no_unit(unit: str, sentence: str) -> None:
    with pytest.raises(BadInput, match=re.escape(sentence)):
        unit_um(unit)


@pytest.mark.parametrize(
    "typed",
    ["0.08mm", "±0.04mm", "± 0.04 mm", "+-0.04mm", "+/-0.04mm", "+/−40um", "80 um"],
)
def test_a_target_is_the_total(typed: str) -> None:
    assert parse_target_um(typed) == 80


def test_a_target_without_sense() -> None:
    with pytest.raises(BadInput, match="the target '0mm' must be more than 0"):
        parse_target_um("0mm")
    with pytest.raises(BadInput, match="the target '-80um' must be more than 0"):
        parse_target_um("-80um")
    with pytest.raises(BadInput, match=r"'0\.08' has no unit"):
        parse_target_um("0.08")
    assert parse_target_um("0.08", "mm") == 80


@pytest.mark.parametrize(
    ("typed", "step"),
    [
        (["0", "2", "-4", "6", "8", "2"], "2"),
        (["5", "10", "-15", "20", "45"], "5"),
        (["10", "20", "-30", "50", "5"], "5"),
        (["0.05", "0.10", "0.15", "0.20", "0.30"], "0.05"),
        (["0.5"] * 5, "0.5"),
        (["3"] * 6, "1"),
        (["40"] * 6, "20"),
        (["1200"] * 5, "200"),
        (["0.25", "0.5", "0.75", "1", "1.25"], "0.05"),
        (["50", "100"], "1"),
        (["0.50", "1.00"], "0.01"),
        (["0", "0"], "1"),
        (["0.00", "0.0"], "0.01"),
        (["1e2"] * 3, "100"),
    ],
)
def test_the_smallest_step_typed(typed: list[str], step: str) -> None:
    assert step_of(map(read_typed, typed)) == Fraction(step)


def test_the_step_of_decimal_commas() -> None:
    typed = [read_typed("0,5", decimal_comma=True)] * 5
    assert step_of(typed) == Fraction(1, 2)


def test_no_numbers_have_no_step() -> None:
    with pytest.raises(ValueError, match="no numbers"):
        step_of([])


@given(
    st.lists(st.integers(-(10**6), 10**6), min_size=1, max_size=30),
    st.integers(-6, 3),
)
def test_every_number_is_a_whole_multiple_of_the_step(
    counts: list[int], place: int
) -> None:
    numbers = [Fraction(count) * Fraction(10) ** place for count in counts]
    step = step_of(Typed(number=n, last_place=place, unit=None) for n in numbers)
    assert all(number % step == 0 for number in numbers)
    lead = str(float(step)).strip("0.").partition("e")[0].rstrip(".0")
    assert lead in {"1", "2", "5"}
    assert all(step <= abs(number) for number in numbers if number)


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [
        (38.2, 9.1, "38 ± 9 µm"),
        (38.2, 14.2, "38 ± 14 µm"),
        (138, 36, "140 ± 40 µm"),
        (-38.4, 2.04, "-38.4 ± 2.0 µm"),
        (0.3, 0.96, "0.3 ± 1.0 µm"),
        (-0.3, 9, "0 ± 9 µm"),
        (5, 0.0321, "5.000 ± 0.032 µm"),
        (1234, 350, "1230 ± 350 µm"),
        (5.25, 0, "5.2 ± 0 µm"),
        (38.2, None, "38 µm"),
        (5, None, "5 µm"),
        (5.26, None, "5.3 µm"),
        (0.123, None, "0.12 µm"),
        (-0.001, None, "0 µm"),
        (100, None, "100 µm"),
    ],
)
def test_micrometres_are_rounded_by_their_doubt(
    value: float, u: float | None, text: str
) -> None:
    assert format_um(value, u) == text


@pytest.mark.parametrize(
    ("unit", "name"),
    [
        *((u, "thou") for u in ("thou", "in", '"', "0.0005in", "Inch", "0.0005in/ft")),
        *((u, "µm") for u in ("um", "mm", "0.01mm", "um/m", "arcmin", "as typed", "")),
    ],
)
def test_heights_are_shown_in_what_was_read(unit: str, name: str) -> None:
    assert height_unit(unit).name == name


def test_heights_in_thousandths_of_an_inch() -> None:
    """25.4 µm are a thousandth of an inch (the inch of 1959, 25.4 mm exactly)."""
    assert THOU.said(38.1, 9.1) == "1.5 ± 0.4 thou"
    assert THOU.said(254) == "10 thou"
    assert THOU.bare(-12.7) == "-0.5"
    assert THOU.limit(80) == "3.15"
    assert THOU.limit(76.2) == "3"


@pytest.mark.parametrize(
    ("figures", "micrometres", "thou"),
    [
        ((44.4, 32.1, 52.3), "44 µm (32 to 52)", "1.7 thou (1.3 to 2.1)"),
        ((312, 226, 414), "310 µm (230 to 410)", "12 thou (9 to 16)"),
        ((6.2, 0, 9.7), "6 µm (0 to 10)", "0.24 thou (0 to 0.38)"),
        ((7, 7, 7), "7.0 µm (7.0 to 7.0)", "0.28 thou (0.28 to 0.28)"),
    ],
)
def test_a_range_is_rounded_by_half_of_it(
    figures: tuple[float, float, float], micrometres: str, thou: str
) -> None:
    assert MICROMETRES.range(*figures) == micrometres
    assert THOU.range(*figures) == thou


def test_what_is_not_known_is_never_printed_as_a_number() -> None:
    with pytest.raises(ValueError, match="a length cannot be nan"):
        format_um(float("nan"))
    with pytest.raises(ValueError, match="an uncertainty cannot be nan"):
        format_um(1.0, float("nan"))
    with pytest.raises(ValueError, match="an uncertainty cannot be -1"):
        format_um(1.0, -1)
    with pytest.raises(ValueError, match="a bare number needs a unit"):
        Typed(number=Fraction(1), last_place=0, unit=None).um()


HEIGHTS = st.floats(-20_000, 20_000)


@given(HEIGHTS)
def test_a_printed_height_reads_back_to_its_rounding(value: float) -> None:
    back = parse_length_um(format_um(value))
    assert abs(back - value) <= (0.5 if abs(value) >= 10 else 0.05) * (1 + 1e-12)
    if abs(back) not in {1, 10}:  # rounding up to these changes the digits kept
        assert format_um(back) == format_um(value)


@given(HEIGHTS, st.floats(1e-3, 1e4))
def test_a_height_and_its_doubt_read_back_to_a_third_of_it(
    value: float, u: float
) -> None:
    number, doubt = format_um(value, u).split(" ± ")
    assert abs(parse_length_um(number, "um") - value) <= u / 5
    assert parse_length_um(doubt) == pytest.approx(u, rel=0.15)
    decimals = [len(part.partition(".")[2]) for part in (number, doubt.split()[0])]
    assert decimals[0] == decimals[1]


@given(st.text(max_size=30), st.booleans())
def test_any_text_is_a_length_or_a_sentence(text: str, comma: bool) -> None:
    for read in (parse_length_um, parse_target_um):
        try:
            answer = read(text, "0.01mm", decimal_comma=comma)
        except BadInput as problem:
            answer = str(problem)
        assert isinstance(answer, float) or "\n" not in answer
