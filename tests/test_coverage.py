"""Whether the 95 % interval holds the truth: the study in short, and all of it."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom

from tests import coverage_lines
from tests.coverage_study import CELLS, Cell, Outcome, one_face

PROMISED = 0.92
"""Held at least so often in the long run: 95 % less what unlikely faces take."""
UNLUCKY = 0.001
"""A study of a program that keeps the promise fails once in a thousand."""


def study(cells: list[Cell], faces: int) -> list[Outcome]:
    return [one_face(cell, seed) for cell in cells for seed in range(faces)]


def fewest_held(n: int) -> int:
    """Give how often of n a 92 % interval holds with all but the worst luck."""
    return int(binom.ppf(UNLUCKY, n, PROMISED))


def named(*names: str) -> list[Cell]:
    found = [cell for cell in CELLS if str(cell) in names]
    assert len(found) == len(names)
    return found


def test_the_limit_is_what_it_says() -> None:
    """By the binomial itself: fewer than that has a chance under one in a thousand."""
    for n in (15, 60, 400):
        fewest = fewest_held(n)
        assert 0 < fewest < PROMISED * n
        assert binom.cdf(fewest - 1, n, PROMISED) < UNLUCKY
        assert binom.cdf(fewest, n, PROMISED) >= UNLUCKY


def test_the_interval_holds_the_truth() -> None:
    found = study(
        named(
            "dial 5x3 u=2 step only",
            "dial 9x5 u=5 stated",
            "dial 7x3 u=1 stated",
            "feeler rim 7x3",
        ),
        faces=15,
    )
    assert len(found) == 60
    assert sum(o.held for o in found) >= fewest_held(60)


def test_a_nearly_flat_face_is_held_from_nothing_up() -> None:
    found = study(named("dial 5x3 u=2 stated nearly flat"), faces=20)
    assert sum(o.held for o in found) >= fewest_held(20)
    # None of them is more than 12 µm, and a gauge of 2 µm shows few above its floor.
    assert np.mean([o.low_um == 0 for o in found]) > 0.5


def test_intervals_are_no_wider_than_they_need_be_to_be_of_use() -> None:
    """An interval from nothing to anything would hold every truth and say nothing."""
    found = study(named("dial 9x5 u=5 stated", "dial 12x5 u=1 stated"), faces=8)
    widths = [(o.high_um - o.low_um) / o.true_um for o in found]
    assert np.median(widths) < 1.0


@pytest.mark.long
@pytest.mark.parametrize("cell", CELLS, ids=str)
def test_every_way_of_reading_holds_the_truth(cell: Cell) -> None:
    """The table of docs/coverage.md, 200 faces a cell."""
    found = study([cell], faces=200)
    assert sum(o.held for o in found) >= fewest_held(200)


# --- Lines, and several methods on one face


def study_lines(name: str, faces: int) -> list[Outcome]:
    return [coverage_lines.one_face(name, seed) for seed in range(faces)]


def test_lines_and_several_methods_hold_the_truth() -> None:
    """Two of the cells of tests.coverage_lines in which all is seen."""
    names = ("edge, leaves, diagonals", "dial, leaves and sticks, plates not flat")
    found = [outcome for name in names for outcome in study_lines(name, 9)]
    assert sum(o.held for o in found) >= fewest_held(len(found))
    assert all(np.isfinite(o.high_um) for o in found)
    assert np.median([(o.high_um - o.low_um) / o.true_um for o in found]) < 1.5


def test_without_diagonals_nothing_above_the_truth_is_said() -> None:
    """Twist is not seen, so there is no upper end, and the lower one must not lie."""
    found = study_lines("edge, leaves, no diagonals", 8)
    assert sum(o.held for o in found) >= fewest_held(len(found))
    assert all(np.isinf(o.high_um) and np.isinf(o.likely_um) for o in found)
    # And it says something: a bowed face is not called possibly flat.
    assert np.mean([o.low_um > 0 for o in found]) > 0.5


@pytest.mark.long
@pytest.mark.parametrize("name", coverage_lines.CELLS)
def test_every_way_of_reading_lines_holds_the_truth(name: str) -> None:
    """The second table of docs/coverage.md, 200 faces a cell."""
    found = study_lines(name, 200)
    assert sum(o.held for o in found) >= fewest_held(200)
