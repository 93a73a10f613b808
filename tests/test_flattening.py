"""The metal a shape costs: plane geometry, and what springy paper adds to it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from lapping.face import Face
from lapping.wear.flattening import (
    EXACT,
    GIVE_UM,
    Depth,
    depth_of_many,
    depths_to_flatten_um,
    rub_until,
)
from lapping.wear.lap_contact import cells_of
from lapping.wear.lap_model import Sheet, rub
from lapping.wear.lap_strokes import Rubbing
from lapping.zone.minimum_zone import minimum_zone

Array = NDArray[np.float64]
CELLS = cells_of(Face(length_mm=250, width_mm=60), 20, 8)
TERMS = CELLS.terms
A, C = TERMS[:, 1], TERMS[:, 2]
SHAPES = {"hollow": 300 * A**2, "crown": -300 * A**2, "wound": 150 * A * C}


def depth_to_flatten_um(
    height: Array, target_um: float, give_um: float = GIVE_UM
) -> float:
    (found,) = depths_to_flatten_um(CELLS, height, [target_um], give_um=give_um)
    return found


def cut_off(height: Array, target_um: float) -> float:
    """Give the mean depth of a cut parallel to the face that leaves so much."""
    return float(np.maximum(height - height.min() - target_um, 0).mean())


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("target_um", [80, 20])
def test_on_hard_paper_it_is_what_a_plane_cuts_off(
    shape: str, target_um: float
) -> None:
    # Geometry: with no give, all that stands more than the target over the lowest
    # place comes off, and nothing else, by a cut parallel to the face. For these
    # shapes that cut is the best there is, by symmetry.
    height = SHAPES[shape]
    found = depth_to_flatten_um(height, target_um, give_um=0.5)
    assert found == pytest.approx(cut_off(height, target_um), rel=2 * EXACT, abs=0.5)


@pytest.mark.parametrize("shape", SHAPES)
def test_springy_paper_takes_metal_off_the_hollows_too(shape: str) -> None:
    height = SHAPES[shape]
    by_give = [depth_to_flatten_um(height, 20, give_um=give) for give in (2, 30, 100)]
    assert by_give == sorted(by_give)
    assert by_give[-1] > 1.1 * by_give[0]


def test_a_shape_that_bears_all_over_falls_by_its_time_constant() -> None:
    # By hand: on paper that gives more than the shape is high, what is off the plane
    # falls to 1/e for each give of depth: give · ln(width/20).
    height = 30 * A * C
    width = minimum_zone(CELLS.along_mm, CELLS.across_mm, height).width_um
    found = depth_to_flatten_um(height, 20, give_um=100)
    assert found == pytest.approx(100 * math.log(width / 20), rel=2 * EXACT)


@given(st.floats(-200, 200), st.floats(-60, 60), st.floats(-200, 200))
@settings(max_examples=6, deadline=None)
def test_so_much_off_is_enough_and_a_little_less_is_not(
    along_bow: float, across_bow: float, twist: float
) -> None:
    height = -along_bow * A**2 - across_bow * C**2 + twist / 4 * A * C
    found = depth_to_flatten_um(height, 40)
    # The same by the lap model in other units: 0.01 µm of depth a stroke.
    rubbing = Rubbing(load_n=100, stroke_mm=200)
    pressure = 100 / (250 * 60)
    sheet = Sheet(
        stiffness_mpa_per_um=pressure / 6,
        preston_per_mpa=0.01 / (pressure * 400 * 1000),
    )

    def left(depth_um: float) -> float:
        after = rub(CELLS, height, rubbing, sheet, depth_um / 0.01).height_um
        return minimum_zone(CELLS.along_mm, CELLS.across_mm, after).width_um

    assert left(found) <= 40 * (1 + EXACT)
    if found > 2:
        assert left(found * (1 - 3 * EXACT) - 1) > 40 * (1 - EXACT)


def test_a_flat_face_costs_nothing() -> None:
    assert depth_to_flatten_um(5 + 3 * A - 2 * C, 1) == 0
    assert depth_to_flatten_um(SHAPES["wound"], 400) == 0
    for targets in ([0.0], [20.0, 80.0]):
        with pytest.raises(ValueError, match="more than 0 and fall"):
            depths_to_flatten_um(CELLS, SHAPES["wound"], targets)


def test_one_target_after_another_costs_what_each_does_alone() -> None:
    together = depths_to_flatten_um(CELLS, SHAPES["crown"], [150, 80, 20])
    alone = [depth_to_flatten_um(SHAPES["crown"], target) for target in (150, 80, 20)]
    assert together == pytest.approx(alone, rel=3 * EXACT)


def test_any_other_end_may_be_asked_for() -> None:
    def middle_down(height: Array) -> bool:
        return bool(height[np.abs(A) < 0.2].max() <= -10)

    # A flat face comes down everywhere alike: 10 µm it is.
    flat = np.zeros(len(CELLS))
    found, height = rub_until(CELLS, flat, middle_down, exact_um=0.1)
    assert found == pytest.approx(10, rel=2 * EXACT)
    np.testing.assert_allclose(height, -found, atol=1e-6)


def test_many_depths_are_a_log_normal_of_their_upper_half() -> None:
    # A sample from a known log-normal gives its parameters back.
    rng = np.random.default_rng(4)
    sample = np.exp(np.log(30) + 0.4 * rng.normal(size=4001))
    found = depth_of_many(sample.tolist())
    assert found.likely_um == pytest.approx(30, rel=0.03)
    assert found.spread == pytest.approx(0.4, rel=0.05)
    few, likely, many = found.range_um
    assert (sample < few).mean() == pytest.approx(0.05, abs=0.01)
    assert (sample > many).mean() == pytest.approx(0.05, abs=0.01)
    assert likely == found.likely_um


def test_depths_of_nothing_do_not_upset_it() -> None:
    assert depth_of_many([0, 0, 0, 5]) == Depth(likely_um=0, spread=0)
    found = depth_of_many([0, 0, 4, 5, 6])
    assert found.likely_um == 4
    assert 0 < found.spread < 0.5
