"""The width of point sets in any direction."""

from __future__ import annotations

from itertools import combinations, product
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from numpy.typing import NDArray
from scipy.spatial import ConvexHull
from scipy.spatial.transform import Rotation

from lapping.errors import TooFewReadings
from lapping.zone.minimum_zone import minimum_zone
from lapping.zone.width import orthogonal_width
from tests.test_planes import PEARSON

Block = NDArray[np.float64]


def width_by_enumeration(points: Block) -> float:
    """Try every face normal and every pair of edges of all points, hull or not."""
    pairs = list(combinations(range(points.shape[1]), 2))
    ways = np.array([points[:, j] - points[:, i] for i, j in pairs])
    one, two = np.array(list(combinations(range(len(pairs)), 2))).T
    normals = np.cross(ways[one], ways[two])
    sizes = np.linalg.norm(normals, axis=1)
    fair = sizes > 1e-9 * sizes.max()
    return float(np.ptp((normals[fair] / sizes[fair, None]) @ points, axis=1).min())


def test_simplex() -> None:
    """D3: points of a CGAL example [seen]; by hand width² = 4/9 along (1, 2, 2)/3."""
    found = orthogonal_width([2, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0])
    assert_allclose(found.width**2, 4 / 9)
    assert_allclose(found.normal, (1 / 3, 2 / 3, 2 / 3))


def test_cube() -> None:
    """D3: cube corners (±1, ±1, 2 or 4) [seen]; width² = 4 in three directions."""
    corners = np.array(list(product((-1, 1), (-1, 1), (2, 4)))).T
    found = orthogonal_width(*corners)
    assert_allclose(found.width**2, 4)
    assert sorted(np.abs(found.normal)) == pytest.approx([0, 0, 1])


@pytest.mark.parametrize(("a", "b", "t"), [(90, 30, 7), (10, 30, 40), (30, 5, 40)])
def test_disphenoid(a: float, b: float, t: float) -> None:
    """A2, by hand: the width of the four twisted corners is 2·min(a, b, t)."""
    found = orthogonal_width([-a, a, a, -a], [-b, -b, b, b], [t, -t, t, -t])
    assert_allclose(found.width, 2 * min(a, b, t))


def test_published_sets_of_five() -> None:
    """D7b, sets F1 and F2: seen points; orthogonal zone computed."""
    found = orthogonal_width(
        [11.5, 18.5, 4.5, 25.5, 11.5],
        [7, 6.9, 13, 30, 37.5],
        [1.1, 1.03, 1.02, 1.03, 1.02],
    )
    assert_allclose(found.width, 0.0672620575, rtol=1e-9)
    found = orthogonal_width(
        [1.1, 3.2, 5.3, 3.4, 1.5], [2.1, 4.2, 1.3, 2.4, 4.5], [8.1, 8.0, 8.2, 8.3, 8.0]
    )
    assert_allclose(found.width, 0.189169139, rtol=3e-9)


def test_pearson_points_are_no_wider_than_about_their_line() -> None:
    """D5: Pearson's points (1901) in two rows far apart; the line of closest fit.

    Its zone is square to y = 5.7840437745 - 0.5455611975 x, and none is narrower than
    the width, which enumeration of all normals gives as well.
    """
    x, y = PEARSON
    off = (y - 5.7840437745 + 0.5455611975 * x) / np.hypot(1, 0.5455611975)
    points = np.array([np.tile(x, 2), np.repeat((-50.0, 50.0), x.size), np.tile(y, 2)])
    found = orthogonal_width(*points)
    assert_allclose(found.width, width_by_enumeration(points), rtol=1e-9)
    assert 2 * 0.2487112300 < found.width <= np.ptp(off)
    assert abs(found.normal[1]) < 1e-9


@pytest.mark.parametrize("shape", ["round", "steps", "thin", "steps on a slope"])
def test_agrees_with_enumeration(shape: str) -> None:
    rng = np.random.default_rng(1)
    for _ in range(25):
        points = rng.normal(size=(3, int(rng.integers(5, 10))))
        if shape == "steps":
            points = np.round(points * 1.5)
        if shape == "thin":
            points[2] *= 1e-5
        if shape == "steps on a slope":
            points = np.round(points * 2)
            points[2] = points[0] + 0.01 * points[2]
        centred = points - points.mean(axis=1)[:, None]
        if np.linalg.matrix_rank(centred) < 3:
            assert orthogonal_width(*points).width == pytest.approx(0, abs=1e-12)
            continue
        found = orthogonal_width(*points)
        assert_allclose(found.width, width_by_enumeration(points), rtol=1e-9)
        assert_allclose(np.ptp(np.array(found.normal) @ points), found.width)


@pytest.mark.parametrize("n", [60, 300])
def test_agrees_with_the_hull_of_the_library(n: int) -> None:
    """Outside hull: qhull through scipy; its edges and faces, tried one and all."""
    rng = np.random.default_rng(n)
    points = rng.normal(size=(3, n)) * [[5], [2], [1]]
    hull = ConvexHull(points.T)
    edges = {
        tuple(sorted(map(int, pair)))
        for f in hull.simplices
        for pair in combinations(f, 2)
    }
    ways = np.array([points[:, j] - points[:, i] for i, j in sorted(edges)])
    one, two = np.triu_indices(len(ways), 1)
    normals = np.concatenate((hull.equations[:, :3], np.cross(ways[one], ways[two])))
    sizes = np.linalg.norm(normals, axis=1)
    normals = normals[sizes > 1e-9] / sizes[sizes > 1e-9, None]
    best = np.ptp(normals @ points, axis=1).min()
    assert_allclose(orthogonal_width(*points).width, best, rtol=1e-12)


def test_a_level_grid_has_its_minimum_zone() -> None:
    """Many places in one plane, on one edge and twice over do not matter."""
    rng = np.random.default_rng(2)
    along, across = (c.ravel() for c in np.meshgrid(np.arange(12.0), np.arange(6.0)))
    height_mm = rng.integers(0, 4, along.size) * 0.01
    twice = [np.tile(c, 2) for c in (along, across, height_mm)]
    zone = minimum_zone(along, across, height_mm * 1000)
    assert_allclose(orthogonal_width(*twice).width * 1000, zone.normal_um, rtol=1e-5)


@pytest.mark.parametrize(
    "points",
    [
        [[1.0], [2.0], [3.0]],
        [[1.0, 1.0], [2.0, 2.0], [3.0, 3.0]],
        [[0, 1, 5.0], [0, 2, 10.0], [0, 3, 15.0]],
        [[0, 1, 0, 7.0], [0, 0, 1, 9.0], [0, 1, 1, 16.0]],
    ],
)
def test_sets_without_thickness(points: list[list[float]]) -> None:
    found = orthogonal_width(*points)
    assert found.width == pytest.approx(0, abs=1e-14)
    assert np.linalg.norm(found.normal) == pytest.approx(1)


@given(st.integers(0, 10_000))
def test_turning_changes_nothing(seed: int) -> None:
    rng = np.random.default_rng(seed)
    points = np.round(rng.normal(size=(3, 15)) * [[30], [10], [2]])
    turned = Rotation.random(random_state=seed).as_matrix() @ points
    width = orthogonal_width(*points).width
    assert orthogonal_width(*turned).width == pytest.approx(width, abs=1e-10)


def test_far_from_level() -> None:
    """A twisted face of 4 mm leaning at 45°: the height zone is wider by sqrt 2."""
    along = np.array([-90.0, 90.0, 90.0, -90.0])
    across = np.array([-30.0, -30.0, 30.0, 30.0])
    twist = np.array([2.0, -2.0, 2.0, -2.0])
    lean = sqrt(0.5)
    found = orthogonal_width(lean * (along - twist), across, lean * (along + twist))
    assert_allclose(found.width, 4.0)
    assert_allclose(found.normal, (-lean, 0, lean), atol=1e-12)


def test_refusals_say_what_is_wrong() -> None:
    with pytest.raises(TooFewReadings, match="no point"):
        orthogonal_width([], [], [])
    with pytest.raises(ValueError, match="finite numbers"):
        orthogonal_width([0, 1], [0, 1], [0, np.nan])
