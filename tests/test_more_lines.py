"""What to read next: the line named really shows what was unseen."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.face import Face
from lapping.methods.combine import combine
from lapping.methods.take import take_each
from lapping.more_lines import line_to_read
from lapping.observations import Observations
from lapping.readings import ReadingSet
from lapping.surface.form import unseen_shapes
from tests.made_lines import (
    DIAGONALS,
    SQUARE,
    edge_set,
    gaps_under,
    level_set,
    slopes_of,
    usual_lines,
    winding_set,
)
from tests.made_readings import (
    FACE,
    dial_set,
    feeler_set,
    form_shape,
    grid_places,
    read_shape,
)

Array = NDArray[np.float64]
SHAPE = form_shape(along_bow=-30, across_bow=6, twist=50)
DIAGONAL = "the diagonal from toe-left to heel-right"
LINES = {
    DIAGONAL: "toe-left to heel-right",
    "the diagonal from toe-right to heel-left": "toe-right to heel-left",
    "a line across the middle": "middle",
    "a line along the centre": "centre",
    "a line along the left edge": "left",
    "a line along the right edge": "right",
}
STICKS = "winding sticks at toe and heel"


def equations(sets: list[ReadingSet], face: Face = FACE) -> Observations:
    return combine(face, take_each(sets)).observations


def read_as_told(words: str, face: Face = FACE) -> ReadingSet:
    """Lay the edge, or the sticks, where the words say."""
    if words.startswith("winding sticks"):
        return winding_set([(0.0, face.length_mm, 600.0, 100.0, "right")], face=face)
    return edge_set(gaps_under(SHAPE, usual_lines([LINES[words]], face)), face=face)


def edges(names: tuple[str, ...]) -> ReadingSet:
    return edge_set(gaps_under(SHAPE, usual_lines(names)), repeatability_um=1.0)


def slopes(names: tuple[str, ...], datum: str) -> ReadingSet:
    lines = usual_lines(names)
    return level_set(slopes_of(SHAPE, lines, [0.0] * len(lines)), datum=datum)


@pytest.mark.parametrize(
    ("sets", "unseen", "words"),
    [
        ([edges(SQUARE)], ("twist",), DIAGONAL),
        ([edges((*SQUARE, DIAGONALS[0]))], (), None),
        (
            [edges(("left", "centre", "right"))],
            ("across-bow", "twist"),
            "a line across the middle",
        ),
        (
            [dial_set(read_shape(grid_places(5, 2), SHAPE))],
            ("across-bow",),
            "a line across the middle",
        ),
        ([slopes(SQUARE, "line")], ("twist",), DIAGONAL),
        ([slopes(SQUARE, "gravity")], (), None),
        (
            [winding_set([(0.0, 250.0, 600.0, 100.0, "right")])],
            ("along-bow", "across-bow"),
            "a line across the middle",
        ),
        ([dial_set(read_shape(grid_places(5, 3), SHAPE))], (), None),
    ],
)
def test_the_line_named(
    sets: list[ReadingSet], unseen: tuple[str, ...], words: str | None
) -> None:
    obs = equations(sets)
    assert unseen_shapes(FACE, obs) == unseen
    assert line_to_read(FACE, obs) == words


def test_diagonals_alone_do_not_part_the_bows() -> None:
    """On diagonals alone a bow along and one across look alike."""
    obs = equations([edges((*DIAGONALS, "toe", "heel"))])
    words = line_to_read(FACE, obs)
    assert unseen_shapes(FACE, obs) == ()
    assert words is None
    obs = equations([edges(DIAGONALS)])
    assert unseen_shapes(FACE, obs) == ("along-bow", "across-bow")
    words = line_to_read(FACE, obs)
    assert words is not None
    after = equations([edges(DIAGONALS), read_as_told(words)])
    assert unseen_shapes(FACE, after) == ()


def test_following_the_advice_shows_everything() -> None:
    """From any three or more of the usual lines, or slopes along them: read what is
    told, and ask again. At most three times, for there are three shapes."""
    rng = np.random.default_rng(12)
    names = (*SQUARE, *DIAGONALS)
    asked = 0
    for trial in range(60):
        some = tuple(rng.choice(names, rng.integers(2, 6), replace=False).tolist())
        start = edges(some) if trial % 2 else slopes(some, "line")
        sets = [start]
        obs = equations(sets)
        left = unseen_shapes(FACE, obs)
        for _ in range(3):
            if not left:
                break
            words = line_to_read(FACE, obs)
            if words is None:
                break
            asked += 1
            sets.append(read_as_told(words))
            obs = equations(sets)
            now = unseen_shapes(FACE, obs)
            assert set(now) < set(left), (some, words)
            left = now
        assert left == (), some
    assert asked > 20


def test_no_other_single_line_would_show_more() -> None:
    rng = np.random.default_rng(13)
    for _ in range(25):
        some = tuple(rng.choice(SQUARE, rng.integers(2, 5), replace=False).tolist())
        start = edges(some)
        obs = equations([start])
        words = line_to_read(FACE, obs)
        left = {
            other: len(unseen_shapes(FACE, equations([start, read_as_told(other)])))
            for other in (*LINES, STICKS)
        }
        if words is None:
            assert min(left.values()) == len(unseen_shapes(FACE, obs))
        else:
            assert left[words] == min(left.values())


def test_leaves_that_stop_nowhere_are_told_a_line_too() -> None:
    rim = [(a, c, 50.0, None) for a, c in grid_places(5, 2, edge_mm=0.0)]
    obs = equations([feeler_set(rim)])
    assert unseen_shapes(FACE, obs) == ("along-bow", "across-bow", "twist")
    words = line_to_read(FACE, obs)
    assert words is not None
    after = equations([feeler_set(rim), read_as_told(words)])
    assert len(unseen_shapes(FACE, after)) == 2


def test_a_lap_has_ends_and_a_side_its_edges() -> None:
    lap = replace(FACE, kind="lap")
    square = edge_set(gaps_under(SHAPE, usual_lines(SQUARE)), face=lap)
    said = line_to_read(lap, equations([square], lap))
    assert said == "the diagonal from left-near to right-far"
    side = replace(FACE, kind="side", left_edge="top")
    square = edge_set(gaps_under(SHAPE, usual_lines(SQUARE)), face=side)
    said = line_to_read(side, equations([square], side))
    assert said is not None
    assert "toe" in said
    assert "top" in said


def test_the_answer_names_the_line() -> None:
    assert answer([edges(SQUARE)]).next_line == DIAGONAL
    assert answer([edges((*SQUARE, *DIAGONALS))]).next_line is None
