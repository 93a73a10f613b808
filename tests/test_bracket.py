"""The feeler bracket against linear programs and every corner of the intervals."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapping.errors import TooFewReadings
from lapping.zone import bracket as bracket_module
from lapping.zone.bracket import Bracket, feeler_bracket
from lapping.zone.minimum_zone import minimum_zone
from tests.zone_oracles import KINDS, Column, hard_set, zone_by_linear_program


def intervals(
    kind: str, rng: np.random.Generator, most: int
) -> tuple[Column, Column, Column, Column]:
    along, across, height = (c[:most] for c in hard_set(kind, rng))
    low = np.round(height)
    return along, across, low, low + rng.choice([0, 5, 13, 40], low.size)


def largest_by_enumeration(
    along: Column, across: Column, low: Column, high: Column
) -> float:
    """Try every corner of the box; a zone is convex, so its largest is at one."""
    return max(
        minimum_zone(along, across, np.where(corner, high, low)).width_um
        for corner in product((False, True), repeat=low.size)
    )


@pytest.mark.parametrize("kind", KINDS)
def test_lower_end_agrees_with_the_linear_program(kind: str) -> None:
    rng = np.random.default_rng(1)
    for case in range(30):
        along, across, low, high = intervals(kind, rng, 69)
        if case % 2:
            low[rng.uniform(size=low.size) < 0.3] = -np.inf
            high[rng.uniform(size=low.size) < 0.3] = np.inf
        got = feeler_bracket(along, across, low, high).lower_um
        oracle = zone_by_linear_program(along, across, low, high, least=0.0)
        assert got == pytest.approx(oracle, abs=1e-7)


@pytest.mark.parametrize("kind", KINDS)
def test_upper_end_agrees_with_every_corner(kind: str) -> None:
    rng = np.random.default_rng(2)
    for _ in range(6):
        box = intervals(kind, rng, int(rng.integers(1, 8)))
        got = feeler_bracket(*box)
        assert got.upper_is == "exact"
        assert got.upper_um == pytest.approx(largest_by_enumeration(*box), abs=1e-9)


@pytest.mark.parametrize("kind", KINDS)
def test_cheap_bound_agrees_with_the_linear_program_and_holds(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    rng = np.random.default_rng(3)
    for _ in range(6):
        along, across, low, high = box = intervals(kind, rng, 30)
        exact = feeler_bracket(*box).upper_um
        with monkeypatch.context() as patch:
            patch.setattr(bracket_module, "MOST_PLACES", 0)
            got = feeler_bracket(*box)
        oracle = zone_by_linear_program(along, across, high, low, least=0.0)
        assert got.upper_is == "bound"
        assert got.upper_um == pytest.approx(oracle, abs=1e-7)
        assert exact is not None
        assert got.upper_um >= exact - 1e-9


def test_more_than_forty_places_say_that_it_is_a_bound() -> None:
    along, across = (c.ravel() for c in np.meshgrid(np.arange(9.0), np.arange(5.0)))
    got = feeler_bracket(along, across, 0 * along, 0 * along + 6)
    assert got.lower_um == 0.0
    assert got.upper_um == pytest.approx(6.0)
    assert got.upper_is == "bound"


def test_twisted_corners() -> None:
    """By hand: corners high by 10 to 12 and low by 10 to 12 hold 20 to 24."""
    low, high = [10, -12, 10, -12], [12, -10, 12, -10]
    got = feeler_bracket([0, 9, 9, 0], [0, 0, 3, 3], low, high)
    assert got.lower_um == pytest.approx(20)
    assert got.upper_um == pytest.approx(24)


def test_exact_heights_close_the_bracket() -> None:
    along, across, height = hard_set("grid", np.random.default_rng(4))
    width = minimum_zone(along, across, height).width_um
    got = feeler_bracket(along, across, height, height)
    assert got.lower_um == pytest.approx(width, abs=1e-11)
    assert got.upper_um == pytest.approx(width, abs=1e-11)


INF = float("inf")


@pytest.mark.parametrize("bound", ["low", "high", "both"])
def test_a_place_without_a_bound_has_no_largest_flatness(bound: str) -> None:
    along, across = [0, 9, 9, 0, 5], [0, 0, 3, 3, 1]
    low, high = [10.0, -12, 10, -12, 0], [12.0, -10, 12, -10, 1]
    if bound != "high":
        low[4] = -INF
    if bound != "low":
        high[4] = INF
    got = feeler_bracket(along, across, low, high)
    assert got.upper_um is None
    assert got.lower_um == pytest.approx(20)


def test_a_place_that_every_plane_can_follow_needs_no_bound() -> None:
    """By hand: three places on a line hold 3 to 5; the one beside it holds nothing."""
    low, high = [0, 3, 0, -INF], [0, 5, 0, INF]
    got = feeler_bracket([0, 1, 2, 1], [0, 0, 0, 8], low, high)
    assert got.lower_um == pytest.approx(3)
    assert got.upper_um == pytest.approx(5)
    assert feeler_bracket([4], [4], [-INF], [INF]) == Bracket(
        lower_um=0.0, upper_um=0.0, upper_is="exact"
    )


def test_readings_repeated_at_one_spot() -> None:
    """By hand: at one spot the zone is the range, 1 to 8 - 0 at the least and most."""
    got = feeler_bracket([4, 4, 4], [9, 9, 9], [0, 3, 1], [2, 8, 2])
    assert got == Bracket(lower_um=1.0, upper_um=8.0, upper_is="exact")


def test_only_lower_bounds_say_nothing() -> None:
    got = feeler_bracket([0, 9, 9, 0], [0, 0, 3, 3], [1, 2, 3, 9], [INF] * 4)
    assert got == Bracket(lower_um=0.0, upper_um=None, upper_is="exact")


def test_refusals_say_what_is_wrong() -> None:
    for low, high in (([1.0], [0.0]), ([np.nan], [1.0]), ([0.0], [np.nan])):
        with pytest.raises(ValueError, match="low_um <= high_um"):
            feeler_bracket([0], [0], low, high)
    with pytest.raises(TooFewReadings, match="no place"):
        feeler_bracket([], [], [], [])


@given(st.integers(0, 10_000), st.floats(-2, 2), st.floats(-2, 2))
def test_tilt_changes_nothing_and_surfaces_lie_inside(
    seed: int, slope: float, cross: float
) -> None:
    rng = np.random.default_rng(seed)
    along, across, low, high = intervals("random", rng, 12)
    got = feeler_bracket(along, across, low, high)
    tilt = slope * along + cross * across
    tilted = feeler_bracket(along, across, low + tilt, high + tilt)
    assert tilted.lower_um == pytest.approx(got.lower_um, abs=1e-9)
    assert tilted.upper_um == pytest.approx(got.upper_um, abs=1e-9)
    inside = minimum_zone(along, across, rng.uniform(low, high)).width_um
    assert got.upper_um is not None
    assert got.lower_um - 1e-10 <= inside <= got.upper_um + 1e-10
