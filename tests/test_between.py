"""Values between the places of a grid, against splines of scipy."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import RectBivariateSpline

from lapping.pictures.between import between

ALONG, ACROSS = np.linspace(0, 250, 33), np.linspace(0, 60, 9)
FINE = np.linspace(0, 250, 193), np.linspace(0, 60, 49)


def laid(a: np.ndarray, c: np.ndarray, bend: float = 0.0) -> np.ndarray:
    a, c = a[:, None] / 250, c / 60
    second = 3 + 20 * a - 7 * c + 45 * a * c - 30 * a**2 + 11 * c**2
    return np.asarray(second + bend * np.sin(6 * a) * np.cos(4 * c))


def test_second_degree_surfaces_are_exact_up_to_the_border() -> None:
    found = between(ALONG, ACROSS, laid(ALONG, ACROSS), *FINE)
    np.testing.assert_allclose(found, laid(*FINE), atol=1e-10)


def test_it_goes_through_every_place() -> None:
    values = np.random.default_rng(1).normal(size=(33, 9))
    np.testing.assert_allclose(
        between(ALONG, ACROSS, values, ALONG, ACROSS), values, atol=1e-12
    )


def test_straight_is_what_a_spline_of_degree_one_is() -> None:
    values = np.random.default_rng(2).normal(size=(33, 9))
    spline = RectBivariateSpline(ALONG, ACROSS, values, kx=1, ky=1)
    found = between(ALONG, ACROSS, values, *FINE, straight=True)
    np.testing.assert_allclose(found, spline(*FINE), atol=1e-10)


def test_a_smooth_surface_differs_little_from_a_cubic_spline() -> None:
    values = laid(ALONG, ACROSS, bend=40.0)
    spline = RectBivariateSpline(ALONG, ACROSS, values)(*FINE)
    found = between(ALONG, ACROSS, values, *FINE)
    # 40 µm of waves, the shorter with nine places to a wave: a fiftieth of them.
    assert np.abs(found - spline).max() < 0.8
    true = laid(*FINE, bend=40.0)
    assert np.abs(found - true).max() < 0.8
