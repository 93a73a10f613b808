"""What the prompt understands, doubts, draws and asks next; nothing is typed here."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapping.errors import BadInput
from lapping.face import Face, Hole, Mouth
from lapping.patterns.lines import pattern_for
from lapping.prompt import line as prompt
from lapping.prompt.cells import answer_cells, columns_of, plan_of, size_of, where_cells
from lapping.prompt.doubt import doubt, scale_of
from lapping.prompt.gauge import (
    dial_unit,
    gap_unit,
    leaf_set,
    leaves_or_unit,
    parse_method,
    questions,
    sense,
    slope_unit,
    stick_cell,
)
from lapping.prompt.line import Said, State, Walk, begin_walk, parse_said
from lapping.prompt.map_drawn import draw_map
from lapping.prompt.words import asked_for, help_lines, kept_words, place_line
from lapping.readings import (
    METHODS,
    DialReading,
    EdgeReading,
    FeelerReading,
    LevelReading,
    Method,
    Reading,
    SquareReading,
    WindingReading,
)

SOLE = Face(
    length_mm=250,
    width_mm=60,
    mouth=Mouth(from_mm=80, to_mm=86, left_mm=5, right_mm=55),
)
UM = scale_of("um", Fraction(1), None)
MM = scale_of("mm", Fraction(1000), None)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("2", Said(word="value", text="2")),
        (" -1.5 ", Said(word="value", text="-1.5")),
        ("−1.5", Said(word="value", text="−1.5")),
        ("2thou", Said(word="value", text="2thou")),
        ("no light", Said(word="value", text="no light")),
        ("0.3  left", Said(word="value", text="0.3 left")),
        ("", Said(word="keep")),
        ("  ", Said(word="keep")),
        ("skip", Said(word="skip")),
        ("S", Said(word="skip")),
        ("back", Said(word="back")),
        ("AGAIN", Said(word="again")),
        ("repeat", Said(word="again")),
        ("note burr on the edge", Said(word="note", text="burr on the edge")),
        ("Note: burr", Said(word="note", text="burr")),
        ("note", Said(word="note")),
        ("stop", Said(word="stop")),
        ("q", Said(word="stop")),
        ("done", Said(word="done")),
        ("map", Said(word="map")),
        ("?", Said(word="help")),
        ("skip this", Said(word="value", text="skip this")),
    ],
)
def test_words_are_told_from_values(typed: str, meant: Said) -> None:
    assert parse_said(typed) == meant


def test_a_misspelt_word_is_not_taken_for_a_bad_number() -> None:
    assert prompt.misspelt("bakc") == "did you mean 'back'?"
    assert prompt.misspelt("xyzzy") == "? lists those there are"
    for value in ("2", "-1.5", "2thou", "none", "no light", "0.3 left", "y"):
        assert prompt.misspelt(value) is None


def read_all(walk: Walk) -> list[int]:
    """Answer every place asked for and give their numbers."""
    asked = []
    while walk.at is not None:
        asked.append(walk.at)
        walk = prompt.answered(walk, "read")
    return asked


def test_a_walk_goes_from_place_to_place() -> None:
    assert read_all(begin_walk(["open"] * 4)) == [0, 1, 2, 3]


def test_a_walk_goes_on_where_it_was() -> None:
    walk = begin_walk(["read", "skipped", "read", "open", "open"], last=2)
    assert (walk.at, walk.read) == (3, 2)
    assert read_all(walk) == [3, 4]


def test_a_correction_leads_back_to_where_the_walk_was() -> None:
    walk: Walk | None = begin_walk(["read", "read", "read", "open"], last=2)
    assert walk is not None
    walk = prompt.gone_back(walk)
    assert walk is not None
    assert walk.at == 2
    walk = prompt.gone_back(walk)
    assert walk is not None
    assert walk.at == 1
    assert prompt.answered(walk, "read").at == 3
    kept = prompt.kept(walk)
    assert kept is not None
    assert kept.at == 3
    walk = prompt.gone_back(walk)
    assert walk is not None
    assert prompt.gone_back(walk) is None


def test_the_end_can_be_gone_back_from() -> None:
    walk = begin_walk(["read", "read"], last=1)
    assert walk.at is None
    back = prompt.gone_back(walk)
    assert back is not None
    assert back.at == 1
    with pytest.raises(ValueError, match="the walk is over"):
        prompt.answered(walk, "read")


def test_nothing_typed_keeps_only_what_is_there() -> None:
    assert prompt.kept(begin_walk(["open", "open"])) is None
    assert prompt.kept(begin_walk(["read"])) is None


def test_again_asks_for_the_last_place_once_more() -> None:
    walk = begin_walk(["read", "read", "open"], last=1)
    once_more = prompt.repeated(walk)
    assert once_more is not None
    assert (once_more.at, once_more.again) == (1, True)
    assert prompt.answered(once_more, "read").at == 2
    # Enter and back both leave it be.
    for left in (prompt.kept(once_more), prompt.gone_back(once_more)):
        assert left is not None
        assert (left.at, left.again) == (2, False)


def test_again_after_going_back_means_the_place_gone_back_to() -> None:
    back = prompt.gone_back(begin_walk(["read", "read", "open"], last=1))
    assert back is not None
    back = prompt.gone_back(back)
    assert back is not None
    once_more = prompt.repeated(back)
    assert once_more is not None
    assert once_more.at == 0


def test_there_is_nothing_to_repeat_before_a_reading() -> None:
    assert prompt.repeated(begin_walk(["open", "open"])) is None
    assert prompt.repeated(begin_walk(["skipped", "open"], last=0)) is None


@given(
    states=st.lists(st.sampled_from(["open", "read", "skipped"]), min_size=1),
    moves=st.lists(st.sampled_from(["value", "skip", "back", "again", "keep"])),
)
def test_no_sequence_of_answers_loses_a_place(
    states: list[State], moves: list[str]
) -> None:
    walk = begin_walk(states)
    for move in moves:
        before = walk
        if move in ("value", "skip"):
            if walk.at is None:
                continue
            walk = prompt.answered(walk, "read" if move == "value" else "skipped")
        else:
            step = {
                "back": prompt.gone_back,
                "again": prompt.repeated,
                "keep": prompt.kept,
            }[move]
            walk = step(walk) or walk
            assert walk.states == before.states
        assert walk.at is None or 0 <= walk.at < len(states)
    assert set(read_all(begin_walk(walk.states))) == {
        i for i, state in enumerate(walk.states) if state == "open"
    }


# Cells.

DIAL = columns_of("dial", leaves=False)
LEAVES = columns_of("feeler", leaves=True)
EDGE = columns_of("straightedge", leaves=True)
GAPS = columns_of("straightedge", leaves=False)
STICKS = columns_of("winding", leaves=False)
SQUARE = columns_of("square", leaves=False)


@pytest.mark.parametrize(
    ("columns", "typed", "cells"),
    [
        (DIAL, "-12", ("-12",)),
        (DIAL, "−12", ("−12",)),
        (DIAL, "-1,5", ("-1.5",)),
        (DIAL, "2 thou", ("2 thou",)),
        (LEAVES, "0.05", ("0.05", "")),
        (LEAVES, "0,05", ("0.05", "")),
        (LEAVES, "none", ("0", "")),
        (LEAVES, "0.05 0.08", ("0.05", "0.08")),
        (LEAVES, "0.05 / 0.08", ("0.05", "0.08")),
        (LEAVES, "0.05 + 0.10", ("0.05+0.10", "")),
        (LEAVES, "0.05 mm", ("0.05 mm", "")),
        (LEAVES, "2 thou 3 thou", ("2 thou", "3 thou")),
        (EDGE, "No light", ("no light", "")),
        (GAPS, "no light", ("no light",)),
        (GAPS, "0.05", ("0.05",)),
        (STICKS, "0.3 left", ("0.3", "left")),
        (STICKS, "0.3 mm r", ("0.3 mm", "right")),
        (STICKS, "0", ("0", "none")),
        (SQUARE, "0.05 top", ("0.05", "top")),
        (SQUARE, "0 mm", ("0 mm", "sole")),
    ],
)
def test_an_answer_fills_its_cells(
    columns: tuple[str, ...], typed: str, cells: tuple[str, ...]
) -> None:
    assert answer_cells(columns, typed) == cells


@pytest.mark.parametrize(
    ("columns", "typed", "why"),
    [
        (LEAVES, "0.05 0.08 0.1", "more than two leaves"),
        (STICKS, "0.3", "as '0.3 left' or '0.3 right', and 0 where there is none"),
        (STICKS, "0.3 up", "lacks its end"),
        (SQUARE, "left", "as '0.3 sole' or '0.3 top'"),
    ],
)
def test_an_answer_that_lacks_something_is_told_what(
    columns: tuple[str, ...], typed: str, why: str
) -> None:
    with pytest.raises(BadInput, match=why):
        answer_cells(columns, typed)


@pytest.mark.parametrize("method", METHODS)
def test_a_plan_comes_back_from_its_cells(method: Method) -> None:
    face = SOLE
    if method == "square":
        face = Face(length_mm=250, width_mm=48, kind="side")
    plan = pattern_for(face, method)
    cells = [where_cells(method, place, "400mm") for place in plan]
    assert plan_of(face, method, cells) == plan


EVERY: list[tuple[Reading, float, str]] = [
    (
        DialReading(
            along_mm=1, across_mm=1, value_um=-12, entered_as="-12", line=1
        ),
        -12,
        "-12 um",
    ),
    (
        FeelerReading(
            along_mm=1, across_mm=1, goes_um=0, stops_um=20, goes_leaves=0,
            stops_leaves=1, seat="1", entered_as="0", line=1,
        ),
        0,
        "none goes, 20 um stops",
    ),
    (
        FeelerReading(
            along_mm=1, across_mm=1, goes_um=100, stops_um=None, goes_leaves=1,
            stops_leaves=0, seat="1", entered_as="0.1", line=1,
        ),
        100,
        "100 um goes, no leaf stops",
    ),
    (
        EdgeReading(
            line_name="centre", along_mm=1, across_mm=1, gap_um=40, goes_um=40,
            stops_um=None, goes_leaves=0, stops_leaves=0, seat="1",
            entered_as="40", line=1,
        ),
        40,
        "gap 40 um",
    ),
    (
        LevelReading(
            line_name="centre", along_1_mm=1, across_1_mm=1, along_2_mm=60,
            across_2_mm=1, slope_um_per_m=-20, entered_as="-1", line=1,
        ),
        -20,
        "-20 um",
    ),
    (
        WindingReading(
            along_1_mm=8, along_2_mm=240, stick_mm=400, gap_um=300, high="left",
            entered_as="0.3 left", line=1,
        ),
        -300,
        "gap 300 um, left high",
    ),
    (
        WindingReading(
            along_1_mm=8, along_2_mm=240, stick_mm=400, gap_um=0, high="none",
            entered_as="0", line=1,
        ),
        0,
        "gap 0 um",
    ),
    (
        SquareReading(along_mm=8, gap_um=50, side="top", entered_as="50", line=1),
        -50,
        "gap 50 um at the top",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("reading", "size", "words"), EVERY)
def test_what_was_kept_is_said_with_its_sign_and_unit(
    reading: Reading, size: float, words: str
) -> None:
    assert size_of(reading) == size
    assert kept_words(reading, UM) == words


def test_what_was_kept_is_said_in_the_unit_of_the_gauge() -> None:
    reading = EVERY[2][0]
    assert kept_words(reading, MM) == "0.1 mm goes, no leaf stops"
    no_light = EdgeReading(
        line_name="centre", along_mm=1, across_mm=1, gap_um=None, goes_um=0,
        stops_um=5, goes_leaves=0, stops_leaves=0, seat="1", entered_as="no light",
        line=1,
    )  # fmt: skip
    assert kept_words(no_light, MM) == "no light, so under 0.005 mm"


# Doubts.

REST = [0.0, -12.0, -32.0, -28.0, -14.0]


@pytest.mark.parametrize(
    ("value", "rest", "why"),
    [
        (
            -280,
            REST,
            "far from the rest (-32 to 0 um); is the decimal point right, and the",
        ),
        (-20000, REST, "It is about 1000 times as much"),
        (-355.6, REST, "is the decimal point right, and the unit?"),
        (20, REST[1:], "has the other sign than all the rest (-32 to -12 um)"),
        (-505, [512, 498, 505], "far from the rest (498 to 512 um)"),
        (20, [512, 498, 505], "far from the rest"),
        (0.02, REST, "0.02 um is finer than the gauge shows"),
        (0.5, [512, 290, 1005], "0.5 um is tiny beside the rest"),
    ],
)
def test_a_slip_is_asked_for_again(value: float, rest: list[float], why: str) -> None:
    sentence = doubt(value, rest, step=1.0, unit="um")
    assert sentence is not None
    assert why in sentence


@pytest.mark.parametrize(
    ("value", "rest"),
    [
        (-26, REST),
        (4, REST[1:]),
        (40, REST),
        (0, REST),
        (-60, REST),
        (0.5, REST),
        (9, [0.0, 0.0, 0.0, 0.0]),
        (500, []),
        (-40, [3.0]),
        (505, [512, 498, 505]),
        (0, [512, 290, 1005]),
    ],
)
def test_a_reading_that_may_well_be_is_let_be(value: float, rest: list[float]) -> None:
    assert doubt(value, rest, step=1.0, unit="um") is None


def test_another_unit_than_the_gauges_may_be_finer() -> None:
    assert doubt(50.83, REST, step=1.0, bare=False) is None
    assert doubt(50.83, REST, step=1.0) is not None


@given(
    rest=st.lists(st.integers(-200, 200), min_size=2, max_size=30),
    share=st.floats(0, 1),
)
def test_a_reading_among_the_rest_is_never_doubted(
    rest: list[int], share: float
) -> None:
    low, high = min(rest), max(rest)
    value = round(low + share * (high - low))
    assert doubt(value, [float(one) for one in rest], step=1.0) is None


@pytest.mark.parametrize(
    ("unit", "unit_um", "resolution_um", "said"),
    [
        ("um", Fraction(1), None, ("um", 1.0, 1.0)),
        ("mm", Fraction(1000), 2.0, ("mm", 1000.0, 0.002)),
        ("thou", Fraction(254, 10), None, ("thou", 25.4, 0.5)),
        ("0.01mm", Fraction(10), 10.0, ("µm", 1.0, 10.0)),
        (None, None, None, ("µm", 1.0, 1.0)),
        ("um/m", Fraction(1), None, ("um/m", 1.0, 1.0)),
        ("0.02mm/m", Fraction(20), None, ("µm/m", 1.0, 20.0)),
    ],
)
def test_readings_are_compared_in_the_unit_of_the_gauge(
    unit: str | None,
    unit_um: Fraction | None,
    resolution_um: float | None,
    said: tuple[str, float, float],
) -> None:
    scale = scale_of(unit, unit_um, resolution_um)
    assert (scale.unit, scale.um, scale.step) == pytest.approx(said)


# Gauges.


@pytest.mark.parametrize(
    ("typed", "method"),
    [
        ("dial", "dial"), ("Dial ", "dial"), ("d", "dial"), ("leaves", "feeler"),
        ("feeler", "feeler"), ("edge", "straightedge"), ("sticks", "winding"),
        ("level", "level"), ("sq", "square"), ("lev", "level"),
    ],
)  # fmt: skip
def test_a_gauge_is_known_by_its_names(typed: str, method: str) -> None:
    assert parse_method(typed) == method


@pytest.mark.parametrize("typed", ["", "x", "s", "le", "micrometer"])
def test_a_gauge_that_could_be_two_or_none_is_asked_for_again(typed: str) -> None:
    with pytest.raises(BadInput, match="write dial, leaves, edge"):
        parse_method(typed)


@pytest.mark.parametrize("method", METHODS)
def test_a_first_session_needs_at_most_three_answers(method: Method) -> None:
    assert 1 + len(questions(method)) <= 3


@pytest.mark.parametrize(
    ("typed", "unit", "leaves"),
    [
        ("0.03 0.04 0.05 mm", "mm", "0.03, 0.04, 0.05"),
        ("0.05, 0.03, 0.04 mm", "mm", "0.03, 0.04, 0.05"),
        ("0.03,0.04,0.05mm", "mm", "0.03, 0.04, 0.05"),
        ("0,03 0,04 mm", "mm", "0.03, 0.04"),
        ("0,03; 0,04 mm", "mm", "0.03, 0.04"),
        ("0.03mm 0.05mm", "mm", "0.03, 0.05"),
        ("1.5 2 3 thou", "thou", "1.5, 2, 3"),
        ("2,3,5 thou", "thou", "2, 3, 5"),
    ],
)
def test_a_set_of_leaves_is_read_as_it_is_written(
    typed: str, unit: str, leaves: str
) -> None:
    assert leaf_set(typed) == (("unit", unit), ("leaves", leaves))
    assert leaves_or_unit(typed) == leaf_set(typed)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("0.03 0.04", "has no unit; write it after the last leaf"),
        ("0.03mm 2thou", "mixes units"),
        ("mm", "list those of your set"),
        ("0 0.05 mm", "a leaf has a thickness"),
        ("0.03 0.04 ell", "no unit known here"),
    ],
)
def test_a_set_of_leaves_that_is_none_is_refused(typed: str, why: str) -> None:
    with pytest.raises(BadInput, match=why):
        leaf_set(typed)


def test_other_gauges_say_their_unit() -> None:
    assert dial_unit("um") == (("unit", "um"),)
    assert dial_unit("0.01mm") == (("unit", "0.01mm"), ("resolution", "0.01mm"))
    assert gap_unit("thou") == (("unit", "thou"),)
    assert leaves_or_unit("mm") == (("unit", "mm"),)
    assert slope_unit("0.02mm/m") == (("unit", "0.02mm/m"), ("datum", "gravity"))
    assert sense("Yes") == (("sense", "high-positive"),)
    assert sense("n") == (("sense", "low-positive"),)
    assert stick_cell(" 400mm ") == "400mm"
    for wrong, parse in (("ell", dial_unit), ("maybe", sense), ("400", stick_cell)):
        with pytest.raises(BadInput):
            parse(wrong)


# Words and the map.


def test_the_prompt_shows_the_unit() -> None:
    assert asked_for(DIAL, "um") == "um> "
    assert asked_for(LEAVES, "mm") == "leaf that goes, mm> "
    assert asked_for(GAPS, "thou") == "gap, thou> "
    assert asked_for(STICKS, "mm") == "gap and high end, mm> "
    assert asked_for(DIAL, None) == "with unit> "
    assert asked_for(DIAL, "0.01mm") == "divisions of 0.01mm> "


@pytest.mark.parametrize("method", METHODS)
def test_help_has_an_example_for_every_gauge(method: Method) -> None:
    said = "\n".join(help_lines(columns_of(method, leaves=method == "feeler")))
    assert "{" not in said
    for word in ("skip", "back", "again", "note", "stop"):
        assert word in said


def test_a_place_is_said_in_words_and_millimetres() -> None:
    plan = pattern_for(SOLE, "dial")
    assert place_line(3, 22, plan[2]) == (
        "3 of 22: toe-right corner (along 8, across 55 mm)"
    )
    assert place_line(1, 3, pattern_for(SOLE, "winding")[0]) == (
        "1 of 3: toe to heel (along 8 to along 242 mm)"
    )


def test_the_map_shows_done_here_and_to_come() -> None:
    plan = pattern_for(SOLE, "dial")
    walk = begin_walk(["read", "skipped"] + ["open"] * 20)
    assert draw_map(SOLE, plan, walk) == [
        "left       toe        right",
        "+-------------------------+",
        "|   o        -        X   |",
        "|   .        .        .   |",
        "|   .        .        .   |",
        "|   ===================   |",
        "|   .        .        .   |",
        "|   .        .        .   |",
        "|   .        .        .   |",
        "|   .        .        .   |",
        "+-------------------------+",
        "            heel",
    ]


def test_the_map_is_mirrored_with_the_sole_down() -> None:
    plan = pattern_for(SOLE, "feeler")
    walk = begin_walk(["open"] * len(plan))
    drawn = draw_map(SOLE, plan, walk, sole_down=True)
    assert drawn[0] == "right       toe        left"
    assert drawn[2] == "|  .         .         X  |"


def test_of_lines_only_the_one_under_the_edge_is_drawn() -> None:
    plan = pattern_for(SOLE, "straightedge")
    first = next(
        i for i, one in enumerate(plan) if one.line == "toe-left to heel-right"
    )
    states: list[State] = ["read"] * first + ["open"] * (len(plan) - first)
    drawn = draw_map(SOLE, plan, begin_walk(states))
    marked = "".join(drawn[2:-2])
    assert marked.count("X") == 1
    assert marked.count(".") == 4
    assert "o" not in marked


@pytest.mark.parametrize("method", METHODS)
def test_every_map_fits_a_narrow_terminal_and_shows_where_to_go(method: Method) -> None:
    face = Face(
        length_mm=600,
        width_mm=75,
        kind="side" if method == "square" else "sole",
        mouth=None if method == "square" else Mouth(from_mm=190, to_mm=198),
        holes=(Hole(along_mm=300, across_mm=40, diameter_mm=8),),
    )
    plan = pattern_for(face, method)
    for at in range(len(plan)):
        states: list[State] = ["read"] * at + ["open"] * (len(plan) - at)
        drawn = draw_map(face, plan, begin_walk(states), sole_down=method == "feeler")
        here = "1" if method == "level" else "X"
        assert any(here in line for line in drawn), at
        assert max(map(len, drawn)) <= 39
        assert len(drawn) <= 16
        assert all(line.isascii() for line in drawn)


def test_laps_and_sides_have_their_own_names_round_the_map() -> None:
    lap = Face(length_mm=500, width_mm=300, kind="lap")
    side = Face(length_mm=250, width_mm=48, kind="side", left_edge="top")
    for face, words in ((lap, ("near", "left end", "far")), (side, ("top", "toe"))):
        plan = pattern_for(face, "dial")
        drawn = draw_map(face, plan, begin_walk(["open"] * len(plan)))
        for word in words:
            assert word in drawn[0]
