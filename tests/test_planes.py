"""The least squares plane and the figures of ISO 12781."""

from __future__ import annotations

from math import cos, pi, sqrt
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from lapping.errors import TooFewReadings
from lapping.planes import LeastSquares, Plane, least_squares

EXACT = 1e-12


def figures(fit: LeastSquares) -> tuple[float, float, float, float]:
    return fit.total_um, fit.peak_um, fit.valley_um, fit.rms_um


def square_grid(n: int, half_mm: float) -> tuple[np.ndarray, np.ndarray]:
    line = np.linspace(-half_mm, half_mm, n)
    along, across = np.meshgrid(line, line)
    return along.ravel(), across.ravel()


def test_a_plane_leaves_nothing() -> None:
    """A1, by hand: every figure is 0 and the plane comes back."""
    along, across = square_grid(5, 100.0)
    fit = least_squares(along, across, 3.0 + 0.5 * along - 0.25 * across)
    assert_allclose(figures(fit), 0.0, atol=1e-12)
    assert_allclose(fit.plane.at(along, across), 3 + 0.5 * along - 0.25 * across)
    assert_allclose(
        (fit.plane.level_um, fit.plane.along_um_per_mm, fit.plane.across_um_per_mm),
        (3.0, 0.5, -0.25),
    )


def test_four_corner_twist() -> None:
    """A2, by hand: FLTp = FLTv = FLTq = t and FLTt = 2t."""
    fit = least_squares([-90, 90, 90, -90], [-30, -30, 30, 30], [7, -7, 7, -7])
    assert_allclose(figures(fit), (14, 7, 7, 7), rtol=EXACT)


@pytest.mark.parametrize("n", [3, 5, 7, 9])
def test_saddle_on_a_grid(n: int) -> None:
    """A3, by hand: FLTp = FLTv = c·s², FLTq = c·s²·(m + 1)/(3m)."""
    along, across = square_grid(n, 10.0)
    m = (n - 1) // 2
    fit = least_squares(along, across, 0.04 * along * across)
    assert_allclose(figures(fit), (8, 4, 4, 4 * (m + 1) / (3 * m)), rtol=EXACT)


def test_five_point_dome() -> None:
    """A4, by hand: 4h/5 above, h/5 below, FLTq = 0.4 h."""
    fit = least_squares([-1, 1, 1, -1, 0], [-1, -1, 1, 1, 0], [0, 0, 0, 0, 10])
    assert_allclose(figures(fit), (10, 8, 2, 4), rtol=EXACT)
    assert_allclose(fit.plane.level_um, 2.0)


def test_five_point_twist() -> None:
    """A5, by hand: FLTq = t·sqrt(4/5)."""
    fit = least_squares([-1, 1, 1, -1, 0], [-1, -1, 1, 1, 0], [3, -3, 3, -3, 0])
    assert_allclose(figures(fit), (6, 3, 3, 3 * sqrt(0.8)), rtol=1e-6)


@pytest.mark.parametrize(
    ("n", "peak", "valley", "rms"),
    [
        (3, 2 / 3, 4 / 3, 2 / 3),
        (5, 1, 1, 0.59160798),
        (7, 10 / 9, 8 / 9, 0.54433105),
        (9, 7 / 6, 5 / 6, 0.51706974),
    ],
)
def test_sampled_bowl(n: int, peak: float, valley: float, rms: float) -> None:
    """A6, closed form: k·s² = 1, here with s = 50 mm."""
    along, across = square_grid(n, 50.0)
    fit = least_squares(along, across, (along**2 + across**2) / 2500)
    assert_allclose(figures(fit), (2, peak, valley, rms), rtol=2e-8)


def test_length_bow() -> None:
    """A7, by hand: with many stations h/3 above, 2h/3 below, FLTq = 0.298142 h."""
    line = np.linspace(-1, 1, 4001)
    along = np.concatenate((line, line)) * 120
    across = np.repeat((-25.0, 25.0), line.size)
    fit = least_squares(along, across, 30 * (1 - (along / 120) ** 2))
    assert_allclose(figures(fit), (30, 10, 20, 30 * sqrt(4 / 45)), rtol=2e-3)


def test_spherical_cap() -> None:
    """A8: sagitta R - sqrt(R² - d²) = 7.8125 µm for R = 1000 m and d = 125 mm."""
    along, across = square_grid(5, 125 / sqrt(2))
    height_um = -(along**2 + across**2) / (2 * 1e6) * 1000
    assert_allclose(least_squares(along, across, height_um).total_um, 7.8125)


def test_cosine_ripple() -> None:
    """A9, by hand: FLTq = A/sqrt 2; eight samples a wave miss the crests."""
    samples = np.arange(40) - 19.5
    along = np.concatenate((samples, samples))
    across = np.repeat((-1.0, 1.0), 40)
    fit = least_squares(along, across, 6 * np.cos(2 * pi * along / 8))
    assert_allclose(fit.rms_um, 6 / sqrt(2), rtol=EXACT)
    assert_allclose(fit.total_um, 12 * cos(pi / 8), rtol=EXACT)


def test_lopsided_bump() -> None:
    """A10, by hand: FLTt = 15h/14 and FLTq = h·sqrt(3/14)."""
    fit = least_squares([0, 1, 3] * 2, [-1] * 3 + [1] * 3, [0, 14, 0] * 2)
    # The tilt of 1 µm/mm takes half a millionth off along the normal.
    assert_allclose(figures(fit), (15, 9, 6, 14 * sqrt(3 / 14)), rtol=1e-6)
    assert_allclose(fit.residual_um / fit.plane.normal_factor, [-6, 9, -3] * 2)


def test_step() -> None:
    """A11, by hand: FLTt = 0.4 h and FLTq = 0.158114 h."""
    fit = least_squares([-2, -1, 1, 2] * 2, [-1] * 4 + [1] * 4, [0, 0, 0.1, 0.1] * 2)
    assert_allclose(figures(fit)[::3], (0.04, 0.1 * sqrt(0.025)), rtol=1e-6)


def test_three_supports_read_more() -> None:
    """A12, by hand: with three corners as datum the fourth of a twist stands 4t off."""
    a, b, c, d = 5.0, -5.0, 5.0, -5.0
    assert a - b + c - d == 20.0
    fit = least_squares([-1, 1, 1, -1], [-1, -1, 1, 1], [0, 0, 0, -20])
    assert_allclose(fit.total_um, 10.0, rtol=1e-4)


def test_nine_point_block() -> None:
    """D7, constructed: plane 7/18 + (10/3)x - (5/2)y, t 97/3, p 169/9, v 122/9."""
    along, across = [0, 1, 2] * 3, [0] * 3 + [1] * 3 + [2] * 3
    fit = least_squares(along, across, [0, 4, 6, -5, 20, -9, -10, -3, 8])
    plane = fit.plane
    assert_allclose(
        (plane.level_um, plane.along_um_per_mm, plane.across_um_per_mm),
        (7 / 18, 10 / 3, -5 / 2),
    )
    vertical = np.array(figures(fit)) / plane.normal_factor
    assert_allclose(vertical, (97 / 3, 169 / 9, 122 / 9, 8.25556303), rtol=1e-8)


def test_published_sets_of_five() -> None:
    """D7b, sets F1 and F2: seen points; figures computed, in height units."""
    fit = least_squares(
        [11.5, 18.5, 4.5, 25.5, 11.5],
        [7, 6.9, 13, 30, 37.5],
        [1.1, 1.03, 1.02, 1.03, 1.02],
    )
    vertical = np.array(figures(fit)) / fit.plane.normal_factor
    assert_allclose(
        vertical, (0.0720973132, 0.0458809505, 0.0262163627, 0.0261392579), rtol=2e-9
    )
    fit = least_squares(
        [1.1, 3.2, 5.3, 3.4, 1.5], [2.1, 4.2, 1.3, 2.4, 4.5], [8.1, 8.0, 8.2, 8.3, 8.0]
    )
    vertical = np.array(figures(fit)) / fit.plane.normal_factor
    assert_allclose(
        vertical, (0.197213901, 0.141204314, 0.0560095866, 0.0732224955), rtol=3e-9
    )


def test_figures_are_normal_to_the_plane() -> None:
    """A steep plane: 1 mm of rise in 1 mm leaves 1/sqrt 2 of each residual."""
    along, across = square_grid(3, 10.0)
    bump = np.array([1, -1, 0, -1, 1, 0, 0, 0, 0.0])
    flat, steep = (least_squares(along, across, bump + s * along) for s in (0, 1000))
    assert_allclose(steep.total_um, flat.total_um / sqrt(2), rtol=1e-6)
    assert_allclose(Plane(0.0, 300.0, 400.0).normal_factor, 1 / sqrt(1.25))


def test_nist_norris() -> None:
    """D6: the certified line of NIST StRD Norris, shipped in the scipy wheel.

    All places lie on one line, so the plane is level across it.
    """
    folder = Path(scipy.stats.__file__).parent / "tests/data/nist_linregress"
    text = (folder / "Norris.dat").read_text().splitlines()[60:96]
    y, x = np.array([line.split() for line in text], dtype=np.float64).T
    fit = least_squares(x, np.zeros_like(x), y)
    assert_allclose(fit.plane.level_um, -0.262323073774029, rtol=1e-12)
    assert_allclose(fit.plane.along_um_per_mm, 1.00211681802045, rtol=1e-14)
    assert fit.plane.across_um_per_mm == 0.0
    vertical = fit.rms_um / fit.plane.normal_factor
    assert_allclose(vertical * sqrt(36 / 34), 0.884796396144373, rtol=1e-12)


PEARSON = np.array(
    [
        (0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4),
        (5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5),
    ]
)
"""Pearson (1901), On lines and planes of closest fit, Phil. Mag. 2, 559-572; from
memory, and they give back the line published there."""


def test_pearson_line_of_closest_fit() -> None:
    """D5: y = 5.784 - 0.546 x published; rms 0.2487112300 square to it, computed.

    Our plane goes by heights. Seen along the line of closest fit it must be level,
    and what is left is then square to it; rows at -1 and +1 make the line a plane.
    """
    middle = PEARSON.mean(axis=1)
    assert_allclose(middle, (3.82, 3.70))
    _, _, ways = np.linalg.svd((PEARSON - middle[:, None]).T)
    slope = ways[0, 1] / ways[0, 0]
    assert_allclose((middle[1] - slope * middle[0], slope), (5.784, -0.546), atol=5e-4)
    assert_allclose(slope, -0.5455611975, rtol=1e-9)
    away = np.arctan(-0.5455611975)
    along = cos(away) * PEARSON[0] + np.sin(away) * PEARSON[1]
    height = cos(away) * PEARSON[1] - np.sin(away) * PEARSON[0]
    fit = least_squares(np.tile(along, 2), [-1] * 10 + [1] * 10, np.tile(height, 2))
    assert abs(fit.plane.along_um_per_mm) < 1e-9
    assert abs(fit.plane.across_um_per_mm) < EXACT
    assert_allclose(fit.rms_um, 0.2487112300, rtol=1e-9)


GIRTH = """8.3 8.6 8.8 10.5 10.7 10.8 11.0 11.0 11.1 11.2 11.3 11.4 11.4 11.7 12.0 12.9
12.9 13.3 13.7 13.8 14.0 14.2 14.5 16.0 16.3 17.3 17.5 17.9 18.0 18.0 20.6"""
TALL = """70 65 63 72 81 83 66 75 80 75 79 76 76 69 75 74 85 86 71 64 78 80 74 72 77 81
82 80 80 80 87"""
VOLUME = """10.3 10.3 10.2 16.4 18.8 19.7 15.6 18.2 22.6 19.9 24.2 21.0 21.4 21.3 19.1
22.2 33.8 27.4 25.7 24.9 34.5 31.7 36.3 38.3 42.6 55.4 55.7 58.3 51.5 51.0 77.0"""


def test_cherry_trees() -> None:
    """D4: data set `trees` of R [memory]; coefficients as R prints them."""
    girth, tall, volume = (
        np.array(text.split(), dtype=np.float64) for text in (GIRTH, TALL, VOLUME)
    )
    fit = least_squares(girth, tall, volume)
    plane = fit.plane
    assert_allclose(
        (plane.level_um, plane.along_um_per_mm, plane.across_um_per_mm),
        (-57.98765892, 4.70816050, 0.33925123),
        atol=5e-9,
    )
    vertical = np.array(figures(fit)) / plane.normal_factor
    assert_allclose(vertical[:3], (14.89117697, 8.48469518, 6.40648192), rtol=1e-8)
    assert_allclose(vertical[3] * sqrt(31 / 28), 3.88183204, rtol=1e-8)


@pytest.mark.parametrize("across_share", [0.0, 0.4, 1.0, 2.5, 1e-5])
@pytest.mark.parametrize("scatter", [0.0, 1e-3])
def test_narrow_sets_agree_with_the_library(
    across_share: float, scatter: float
) -> None:
    rng = np.random.default_rng(5)
    along = rng.uniform(0, 250, 12)
    across = along * across_share + scatter * rng.normal(size=12)
    height = rng.normal(size=12)
    for one, two in ((along, across), (across, along)):
        fit = least_squares(one, two, height)
        a = np.column_stack((one - one.mean(), two - two.mean()))
        slopes = np.linalg.lstsq(a, height - height.mean(), rcond=1e-9)[0]
        got = (fit.plane.along_um_per_mm, fit.plane.across_um_per_mm)
        assert_allclose(got, slopes, rtol=1e-5, atol=1e-9)
        residual = fit.residual_um / fit.plane.normal_factor
        assert_allclose(residual, height - height.mean() - a @ slopes, atol=1e-6)


def test_one_spot_has_a_level_plane() -> None:
    fit = least_squares([3, 3, 3], [4, 4, 4], [1, 2, 6])
    assert fit.plane == Plane(3.0, 0.0, 0.0)
    assert_allclose(figures(fit), (5, 3, 2, sqrt(14 / 3)))


def test_a_steep_tilt_costs_no_digits() -> None:
    """Exact in binary: residuals of ±1 on a tilt of 2**20 µm."""
    along, across = square_grid(3, 8.0)
    bump = np.array([1, 0, -1, 0, 0, 0, -1, 0, 1.0])
    fit = least_squares(along + 2**12, across, bump + 2.0**20 * along)
    assert_allclose(fit.residual_um / fit.plane.normal_factor, bump, atol=1e-8)


@given(st.floats(-5, 5), st.floats(-5, 5), st.floats(-1e4, 1e4))
def test_tilt_and_offset_change_no_height_residual(
    slope: float, cross: float, level: float
) -> None:
    rng = np.random.default_rng(1)
    along, across = rng.uniform(0, 250, 20), rng.uniform(0, 60, 20)
    height = rng.normal(size=20) * 10
    flat = least_squares(along, across, height)
    tilted = least_squares(
        along, across, height + level + slope * along + cross * across
    )
    assert_allclose(
        tilted.residual_um / tilted.plane.normal_factor,
        flat.residual_um / flat.plane.normal_factor,
        atol=1e-10,
    )


def test_refusals_say_what_is_wrong() -> None:
    with pytest.raises(TooFewReadings, match="no place"):
        least_squares([], [], [])
    with pytest.raises(ValueError, match="NaN or infinity"):
        least_squares([0, 1], [0, 1], [0, np.nan])
    with pytest.raises(ValueError, match="NaN or infinity"):
        least_squares([-np.inf, np.inf], [0, 1], [0, 1])
    with pytest.raises(ValueError, match="plain columns"):
        least_squares([[0, 1]], [[0, 1]], [[0, 1]])


def test_residuals_are_read_only() -> None:
    fit = least_squares([0, 1, 2], [0, 1, 0], [0, 1, 0])
    with pytest.raises(ValueError, match="read-only"):
        fit.residual_um[0] = 1.0
