"""Every place in the words of the bench."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapping.face import Face, Hole, Mouth
from lapping.places import corner_names, edge_names, end_names, place_words

SOLE = Face(
    length_mm=250,
    width_mm=60,
    mouth=Mouth(from_mm=80, to_mm=86, left_mm=8, right_mm=52),
    holes=(Hole(along_mm=200, across_mm=30, diameter_mm=8),),
)


@pytest.mark.parametrize(
    ("along", "across", "words"),
    [
        (0, 0, "toe-left corner"),
        (25, 6, "toe-left corner"),
        (10, 30, "toe, centre"),
        (10, 60, "toe-right corner"),
        (40, 15, "behind the toe, left of centre"),
        (70, 0, "ahead of the mouth, left edge"),
        (80, 30, "ahead of the mouth, centre"),
        (83, 4, "beside the mouth, left edge"),
        (83, 8, "beside the mouth, left of centre"),
        (83, 30, "in the mouth"),
        (90, 60, "behind the mouth, right edge"),
        (98, 37, "behind the mouth, right of centre"),
        (130, 2, "middle, left edge"),
        (130, 36, "middle, centre"),
        (200, 31, "in a hole"),
        (240, 30, "heel, centre"),
        (250, 60, "heel-right corner"),
        (250, 0, "heel-left corner"),
        (251, 0, "off the face"),
    ],
)
def test_places_on_a_sole(along: float, across: float, words: str) -> None:
    assert place_words(SOLE, along, across) == words


@pytest.mark.parametrize(
    ("along", "words"),
    [
        (0, "toe, centre"),
        (5, "toe, centre"),
        (9, "ahead of the mouth, centre"),
        (20, "behind the mouth, centre"),
        (110, "heel, centre"),
    ],
)
def test_on_a_short_toe_the_nearer_name_is_said(along: float, words: str) -> None:
    face = Face(length_mm=110, width_mm=30, mouth=Mouth(from_mm=11, to_mm=14))
    assert place_words(face, along, 15) == words


def test_on_a_short_heel_too() -> None:
    face = Face(length_mm=110, width_mm=30, mouth=Mouth(from_mm=92, to_mm=97))
    assert place_words(face, 98, 15) == "behind the mouth, centre"
    assert place_words(face, 108, 15) == "heel, centre"


def test_without_a_mouth_the_middle_lies_between_toe_and_heel() -> None:
    face = Face(length_mm=250, width_mm=60)
    assert place_words(face, 60, 30) == "middle, centre"
    assert place_words(face, 83, 60) == "middle, right edge"


def test_a_side_names_the_edge_at_the_sole() -> None:
    right_cheek = Face(length_mm=250, width_mm=50, kind="side", left_edge="sole")
    left_cheek = Face(length_mm=250, width_mm=50, kind="side", left_edge="top")
    assert place_words(right_cheek, 120, 0) == "middle, sole edge"
    assert place_words(right_cheek, 120, 50) == "middle, top edge"
    assert place_words(left_cheek, 120, 0) == "middle, top edge"
    assert place_words(left_cheek, 120, 15) == "middle, towards the top edge"
    assert corner_names(left_cheek) == ("toe-top", "toe-sole", "heel-sole", "heel-top")
    assert place_words(left_cheek, 0, 50) == "toe-sole corner"


def test_a_side_that_does_not_say_has_left_and_right() -> None:
    side = Face(length_mm=250, width_mm=50, kind="side")
    assert place_words(side, 120, 0) == "middle, left edge"
    assert place_words(side, 120, 15) == "middle, left of centre"


def test_a_lap_has_no_toe() -> None:
    lap = Face(length_mm=600, width_mm=200, kind="lap")
    assert end_names(lap) == ("left end", "right end")
    assert edge_names(lap) == ("near edge", "far edge")
    assert corner_names(lap) == ("left-near", "left-far", "right-far", "right-near")
    assert place_words(lap, 10, 100) == "left end, centre"
    assert place_words(lap, 300, 0) == "middle, near edge"
    assert place_words(lap, 300, 140) == "middle, towards the far edge"
    assert place_words(lap, 600, 200) == "right-far corner"


def test_corners_go_round_the_face() -> None:
    assert corner_names(SOLE) == ("toe-left", "toe-right", "heel-right", "heel-left")
    places = ((0, 0), (0, 60), (250, 60), (250, 0))
    assert [place_words(SOLE, *place) for place in places] == [
        f"{name} corner" for name in corner_names(SOLE)
    ]


@given(st.floats(20, 4000), st.floats(10, 500), st.floats(0, 1), st.floats(0, 1))
def test_turned_end_for_end_and_over_the_words_swap(
    length: float, width: float, along: float, across: float
) -> None:
    """Without a mouth the words know no end from the other, except by name."""
    face = Face(length_mm=length, width_mm=width)
    there = place_words(face, along * length, across * width)
    back = place_words(face, length - along * length, width - across * width)
    swapped = {"toe": "heel", "heel": "toe", "left": "right", "right": "left"}
    words = there.replace("-", " - ").replace(",", " ,").split(" ")
    expected = " ".join(swapped.get(word, word) for word in words)
    # Exactly on a border the rounding of 1 - x may put the place beside it.
    near_border = any(
        abs(value - border) < 1e-6
        for value, borders in (
            (along * length, _along_borders(face)),
            (across * width, _across_borders(face)),
        )
        for border in borders
    )
    assert near_border or back == expected.replace(" - ", "-").replace(" ,", ",")


def _along_borders(face: Face) -> list[float]:
    return [z.along_to_mm for z in face.zones()] + [
        z.along_from_mm for z in face.zones()
    ]


def _across_borders(face: Face) -> list[float]:
    edges = [z for z in face.zones() if z.name.endswith("edge")]
    return [
        *(z.across_to_mm for z in edges),
        *(z.across_from_mm for z in edges),
        0.4 * face.width_mm,
        0.6 * face.width_mm,
    ]
