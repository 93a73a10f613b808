"""How a face rests: against the convex hull of a general library, and by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from lapping.answer import answer
from lapping.face import Face, Mouth
from lapping.grid import metal_grid
from lapping.resting import HAND_SHARE, OFF_ACROSS, OFF_ALONG, rest, support_under
from tests.made_readings import (
    FACE,
    Shape,
    dial_set,
    form_shape,
    grid_places,
    read_shape,
)

Array = NDArray[np.float64]


def hull_height(
    along: Array, across: Array, height: Array, load: tuple[float, float]
) -> float:
    """Give the height of the upper hull at a place, from scipy's facets.

    The place is moved by the same hair as in `support_under`.
    """
    spread = max(np.ptp(along), np.ptp(across))
    x, y = load[0] + OFF_ALONG * spread, load[1] + OFF_ACROSS * spread
    # A far point below closes the hull of faces that are flat all through.
    points = np.column_stack([along, across, height])
    below = [along.mean(), across.mean(), height.min() - max(np.ptp(height), 1.0)]
    hull = ConvexHull(np.vstack([points, below]))
    upper = hull.equations[hull.equations[:, 2] > 1e-12]
    # Outside normals: n . p + d <= 0 inside, so each facet is a roof over the place.
    roofs = -(upper[:, 0] * x + upper[:, 1] * y + upper[:, 3]) / upper[:, 2]
    return float(roofs.min())


def check(
    along: Array, across: Array, height: Array, load: tuple[float, float]
) -> None:
    """Hold one rest to the hull, and to what resting means."""
    found = support_under(along, across, height, load)
    assert found is not None
    size = max(float(np.ptp(height)), 1e-9)
    # The plane that it rests on, from heights and gaps.
    terms = np.column_stack([np.ones_like(along), along, across])
    plane, *_ = np.linalg.lstsq(terms, height + found.gap_um, rcond=None)
    np.testing.assert_allclose(terms @ plane, height + found.gap_um, atol=1e-8 * size)
    # Nothing is through the plane, and what touches has the load between it.
    assert (found.gap_um >= 0).all()
    touching = list(found.touches)
    assert (found.gap_um[touching] <= 1e-8 * size).all()
    at = plane @ [1.0, *load]
    assert at == pytest.approx(
        hull_height(along, across, height, load), abs=1e-6 * size
    )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(seed=st.integers(0, 10**6), n=st.integers(5, 60))
def test_random_places_rest_on_the_hull(seed: int, n: int) -> None:
    rng = np.random.default_rng(seed)
    along, across = rng.uniform(0, 250, n), rng.uniform(0, 60, n)
    height = rng.normal(0, 10, n)
    # A load that is surely among the places: a mixture of three of them.
    share = rng.dirichlet([2, 2, 2])
    load = (float(share @ along[:3]), float(share @ across[:3]))
    check(along, across, height, load)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    seed=st.integers(0, 10**6),
    n_along=st.integers(3, 9),
    n_across=st.integers(2, 5),
    whole=st.booleans(),
)
def test_grids_rest_on_the_hull(
    seed: int, n_along: int, n_across: int, whole: bool
) -> None:
    """Many places on one line, and with whole numbers many ties."""
    rng = np.random.default_rng(seed)
    along, across = np.array(grid_places(n_along, n_across)).T
    height = rng.normal(0, 3, along.size)
    if whole:
        height = np.round(height)
    load = (float(rng.uniform(20, 230)), float(rng.uniform(10, 50)))
    check(along, across, height, load)


@pytest.mark.parametrize(
    "shape",
    [
        form_shape(),
        form_shape(twist=40),
        form_shape(along_bow=40),
        form_shape(along_bow=-40),
        form_shape(across_bow=-9, along_bow=20),
        lambda a, c: np.where(np.asarray(a) > 125, 10.0, 0.0),
        lambda a, c: 0.3 * a - c,
    ],
)
@pytest.mark.parametrize("load", [(125.0, 30.0), (80.0, 20.0), (5.0, 30.0)])
def test_degenerate_faces_rest_on_the_hull(
    shape: Shape, load: tuple[float, float]
) -> None:
    """Flat, cylindrical and stepped faces: many places touch at once."""
    along, across = np.array(grid_places(9, 5, edge_mm=0.0)).T
    height = np.asarray(shape(along, across), dtype=np.float64)
    check(along, across, height, load)


def test_three_known_legs_carry_a_load_between_them() -> None:
    along = np.array([0.0, 0, 250, 120, 100])
    across = np.array([0.0, 60, 30, 30, 20])
    height = np.array([10.0, 12, 11, 3, -5])
    found = support_under(along, across, height, (100.0, 30.0))
    assert found is not None
    assert found.touches == (0, 1, 2)
    # On the plane through the three, by hand: 11 over the whole middle line.
    assert found.gap_um[3] == pytest.approx(8.0, abs=1e-6)


@pytest.mark.parametrize(
    "load", [(-1.0, 30.0), (251.0, 30.0), (125.0, 61.0), (125.0, -0.1), (300.0, 90.0)]
)
def test_a_load_outside_the_places_tips_over(load: tuple[float, float]) -> None:
    along, across = np.array(grid_places(5, 3, edge_mm=0.0)).T
    assert support_under(along, across, np.zeros(along.size), load) is None


def test_the_plane_it_rests_on_is_where_its_gaps_say() -> None:
    along, across = np.array(grid_places(9, 5, edge_mm=0.0)).T
    height = 500 + 0.2 * along - 3 * across + 40 * np.sin(along / 30 + across / 9)
    found = support_under(along, across, height, (110.0, 25.0))
    assert found is not None
    np.testing.assert_allclose(
        found.plane.at(along, across), height + found.gap_um, atol=1e-6
    )


def test_a_twisted_face_rocks_over_its_high_corners() -> None:
    """With winding sticks the eye sees the same: it rests on the diagonal."""
    along, across = np.array(grid_places(9, 5, edge_mm=0.0)).T
    for twist, ends in (
        (40, {(0.0, 0.0), (250.0, 60.0)}),
        (-40, {(0.0, 60.0), (250.0, 0.0)}),
    ):
        height = np.asarray(form_shape(twist=twist)(along, across), dtype=np.float64)
        found = rest(FACE, along, across, height)
        assert found is not None
        assert found.rock_line_mm is not None
        assert set(found.rock_line_mm) == ends


def test_a_level_face_rocks_over_no_line() -> None:
    along, across = np.array(grid_places(9, 5, edge_mm=0.0)).T
    found = rest(FACE, along, across, np.zeros(along.size))
    assert found is not None
    assert found.rock_line_mm is None


def test_places_on_one_side_of_the_middle_carry_nothing() -> None:
    along, across = np.array(grid_places(5, 3)).T
    left = along < 120
    nothing = np.zeros(int(left.sum()))
    assert rest(FACE, along[left], across[left], nothing) is None
    on_a_line = np.zeros(5)
    assert support_under(np.arange(5.0), on_a_line, on_a_line, (2.0, 0.0)) is None


def places() -> tuple[Array, Array]:
    grid = metal_grid(FACE)
    return grid.along_mm, grid.across_mm


@pytest.mark.parametrize("twist", [40.0, -40.0])
def test_pure_twist_rocks_by_the_twist(twist: float) -> None:
    """A2: two opposite corners stand, the fourth is 4t off the plane of three."""
    along, across = places()
    found = rest(FACE, along, across, form_shape(twist=twist)(along, across))
    assert found is not None
    assert found.rock_um == pytest.approx(abs(twist), abs=1e-6)
    high = (along == 0) & (across == (0 if twist > 0 else 60))
    assert int(np.flatnonzero(high)[0]) in found.support.touches


def test_a_hollow_face_does_not_rock_and_a_crowned_one_does() -> None:
    """A hollow one stands on its four corners, a crown of h on its middle: with the
    load at a sixth of the length it tips until the plane is tangent there.

    Tangent at x (scaled by half the length) the gap at the far end is h (1 + x)^2,
    against h level: x is 1/3 here, so the end rises h (1.78 - 1). The places are a
    grid, so that facets stand for tangents: within a fifth of that.
    """
    along, across = places()
    hollow = rest(FACE, along, across, form_shape(along_bow=-40)(along, across))
    crown = rest(FACE, along, across, form_shape(along_bow=40)(along, across))
    assert hollow is not None
    assert crown is not None
    assert hollow.rock_um == pytest.approx(0.0, abs=1e-6)
    assert crown.rock_um == pytest.approx(40 * ((1 + HAND_SHARE) ** 2 - 1), rel=0.2)


def test_a_bowl_rests_on_its_four_corners() -> None:
    along, across = places()
    bowl = form_shape(along_bow=-30, across_bow=-10)(along, across)
    found = rest(FACE, along, across, bowl)
    assert found is not None
    corners = {(float(along[i]), float(across[i])) for i in found.support.touches}
    assert corners == {(0, 0), (0, 60), (250, 0), (250, 60)}
    gaps = dict(found.zone_gap_um)
    assert gaps["toe"] == pytest.approx(0.0, abs=1e-6)
    assert gaps["heel"] == pytest.approx(0.0, abs=1e-6)
    assert found.support.gap_um.max() == pytest.approx(40.0, rel=0.02)


def test_the_land_of_a_mouth_ground_hollow_stands_off() -> None:
    face = Face(length_mm=250.0, width_mm=60.0, mouth=Mouth(from_mm=80.0, to_mm=86.0))
    grid = metal_grid(face)
    along, across = grid.along_mm, grid.across_mm
    height = np.where(np.abs(along - 75) < 20, -25.0, 0.0)
    found = rest(face, along, across, height)
    assert found is not None
    gaps = dict(found.zone_gap_um)
    assert gaps["mouth"] == pytest.approx(25.0, abs=1e-6)
    assert gaps["toe"] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(
    ("shape", "rocks"),
    [
        (form_shape(twist=60), True),
        (form_shape(along_bow=60), True),
        (form_shape(along_bow=-60), False),
        (form_shape(along_bow=-60, across_bow=-20), False),
    ],
)
def test_the_answer_says_whether_it_rocks(shape: Shape, rocks: bool) -> None:
    rows = read_shape(grid_places(7, 3), shape)
    found = answer([dial_set(rows, repeatability_um=1.0)])
    assert found.rocks is rocks


def test_the_answer_gives_the_twist_as_its_rock() -> None:
    rows = read_shape(grid_places(7, 3), form_shape(twist=60))
    found = answer([dial_set(rows, repeatability_um=1.0)])
    assert found.rest is not None
    assert found.rest.rock_um == pytest.approx(60.0, rel=0.1)


def test_a_tiny_rock_below_the_gauge_is_no_rock() -> None:
    rows = read_shape(grid_places(7, 3), form_shape(twist=4.0))
    found = answer([dial_set(rows, repeatability_um=5.0)])
    assert found.rocks is False
