"""The least zone over unseen shapes: the linear program against plain searches."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.observations import form_terms, plane_terms
from lapping.surface.least_zone import least_zones
from lapping.zone.minimum_zone import minimum_zone
from tests.made_readings import FACE, form_shape, grid_places

Array = NDArray[np.float64]


def level_basis(shapes: Array, along: Array, across: Array) -> Array:
    """Give an orthonormal basis of shapes (p, q), their planes taken out."""
    plane = plane_terms(FACE, along, across)
    return np.linalg.qr(shapes - plane @ np.linalg.pinv(plane) @ shapes)[0]


def least_by_search(f: Callable[[float], float], reach: float) -> float:
    """Find the least of a convex function by thirds."""
    low, high = -reach, reach
    for _ in range(90):
        one, two = low + (high - low) / 3, high - (high - low) / 3
        if f(one) <= f(two):
            high = two
        else:
            low = one
    return f((low + high) / 2)


def zone_with(along: Array, across: Array, height: Array, shapes: Array) -> float:
    """Search the least zone over any amount of each shape, one inside the other."""
    if shapes.shape[1] == 0:
        return minimum_zone(along, across, height).width_um

    def zone(amount: float) -> float:
        moved = height + amount * shapes[:, 0]
        return zone_with(along, across, moved, shapes[:, 1:])

    return least_by_search(zone, 200.0)


def random_case(
    rng: np.random.Generator, q: int, most: int = 12
) -> tuple[Array, Array, Array, Array]:
    p = int(rng.integers(4 + q, most))
    along, across = rng.uniform(0, 250, p), rng.uniform(0, 60, p)
    shapes = level_basis(rng.normal(0, 1, (p, q)), along, across)
    return along, across, rng.normal(0, 20, p), shapes


def test_one_unseen_shape_against_a_search() -> None:
    """The zone is convex in the amount of the shape: thirds, and the exact zone."""
    rng = np.random.default_rng(2)
    for _ in range(15):
        along, across, height, shape = random_case(rng, 1)
        (found,) = least_zones(along, across, height[None], shape)
        expected = zone_with(along, across, height, shape)
        assert found == pytest.approx(expected, abs=1e-6)
        assert found <= minimum_zone(along, across, height).width_um


def test_no_amount_of_two_unseen_shapes_is_better() -> None:
    """Brute force: 400 amounts near the best of a coarse lattice, none below it."""
    rng = np.random.default_rng(3)
    for _ in range(6):
        along, across, height, shapes = random_case(rng, 2)
        (found,) = least_zones(along, across, height[None], shapes)
        best, at, reach = np.inf, np.zeros(2), 120.0
        for _ in range(12):
            tried = at + np.vstack([np.zeros(2), rng.uniform(-reach, reach, (60, 2))])
            widths = [
                minimum_zone(along, across, height + shapes @ amount).width_um
                for amount in tried
            ]
            best = min(best, min(widths))
            at, reach = tried[int(np.argmin(widths))], reach / 1.9
        assert found <= best + 1e-9
        assert best == pytest.approx(found, abs=0.3)


def test_with_twist_unseen_a_pure_twist_may_be_flat() -> None:
    along, across = np.array(grid_places(5, 3)).T
    twist = level_basis(form_terms(FACE, along, across)[:, 2:], along, across)
    heights = np.array(
        [
            form_shape(twist=300)(along, across) + 0.3 * along - 2 * across,
            form_shape(twist=-40)(along, across),
            form_shape(twist=300, along_bow=50)(along, across),
        ]
    )
    found = least_zones(along, across, heights, twist)
    np.testing.assert_allclose(found[:2], 0.0, atol=1e-6)
    # The bow is seen whatever the twist is: 50 µm over the whole length, read from
    # 5 mm to 245 mm.
    assert found[2] == pytest.approx(50 * (240 / 250) ** 2)
    assert minimum_zone(along, across, heights[0]).width_um > 100


def test_what_is_unseen_changes_nothing() -> None:
    """Nor do a tilt and an offset; twice the heights are twice the zone."""
    rng = np.random.default_rng(5)
    along, across, height, shapes = random_case(rng, 2)
    (one,) = least_zones(along, across, height[None], shapes)
    moved = height + shapes @ np.array([70.0, -900.0]) + 0.4 * along - 3 * across + 55
    turned = shapes @ np.array([[0.6, -0.8], [0.8, 0.6]])
    for heights, basis, factor in (
        (moved, shapes, 1.0), (height, turned, 1.0), (2e-4 * height, shapes, 2e-4),
        (3e5 * height, shapes, 3e5), (-height, shapes, 1.0),
    ):  # fmt: skip
        (found,) = least_zones(along, across, heights[None], basis)
        assert found == pytest.approx(factor * one, rel=1e-6)


def test_without_unseen_shapes_it_is_the_minimum_zone() -> None:
    rng = np.random.default_rng(6)
    along, across, height, _ = random_case(rng, 0)
    heights = np.array([height, 2 * height, 0 * height])
    expected = [minimum_zone(along, across, h).width_um for h in heights]
    found = least_zones(along, across, heights, np.zeros((along.size, 0)))
    np.testing.assert_allclose(found, expected, atol=1e-9)


def test_heights_that_are_all_unseen_have_no_zone() -> None:
    """Three places and one shape, or a level face: nothing is left, and no error."""
    along, across = np.array([0.0, 250, 0, 250]), np.array([0.0, 0, 60, 60])
    twist = np.array([[1.0], [-1], [-1], [1]]) / 2
    heights = np.array([[0.0, 0, 0, 0], [9.0, 0, 0, 0], [5.0, 5, 5, 5]])
    found = least_zones(along, across, heights, twist)
    np.testing.assert_allclose(found, 0.0, atol=1e-9)


def test_places_on_one_line_are_no_trouble() -> None:
    along, across = np.linspace(0, 250, 5), np.full(5, 30.0)
    bow = level_basis((along[:, None] - 125) ** 2, along, across)
    snake = np.array([0.0, 6.0, 0.0, -6.0, 0.0])
    heights = np.array([3.0 * (along - 125) ** 2, snake])
    found = least_zones(along, across, heights, bow)
    assert found[0] == pytest.approx(0.0, abs=1e-6)
    # A bow is even about the middle and takes nothing from what is odd.
    assert found[1] == pytest.approx(minimum_zone(along, across, snake).width_um)
