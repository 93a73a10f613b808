"""Expectation propagation against integrals by brute force and exact normals."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from lapping.observations import Observations
from lapping.surface.intervals import Sites, propagate, start_values
from lapping.surface.kriging import evidence, matern52, modes, whiten

Array = NDArray[np.float64]


def observations(low: list[float], high: list[float], u: float) -> Observations:
    """Give readings of one place each, between these ends."""
    n = len(low)
    lows, highs = np.array(low, dtype=float), np.array(high, dtype=float)
    known_low, known_high = np.isfinite(lows), np.isfinite(highs)
    ends = np.where(known_low, lows, 0) + np.where(known_high, highs, 0)
    middle = ends / np.maximum(1, known_low * 1 + known_high * 1)
    return Observations(
        along_mm=np.arange(n, dtype=float),
        across_mm=np.zeros(n),
        weights=np.eye(n),
        value_um=middle,
        u_um=np.full(n, u),
        low_um=lows,
        high_um=highs,
        unknowns=np.zeros((n, 0)),
        unknown_u=np.zeros(0),
        noise_doubt=0.0,
    )


def settled(obs: Observations, signal: Array) -> Sites:
    """Run the sites to rest, beginning again from where they stopped."""
    value, u = start_values(obs)
    sites = Sites(value_um=value, u_um=u, log_evidence=0.0)
    free = np.zeros((len(signal), 0))
    for _ in range(5):
        sites = propagate(obs, signal, free, 10.0, sites)
    return sites


def posterior(sites: Sites, signal: Array) -> tuple[Array, Array]:
    """Give mean and covariance of the heights that the sites stand for."""
    gain = signal @ np.linalg.inv(signal + np.diag(sites.u_um**2))
    return gain @ sites.value_um, signal - gain @ signal


@pytest.mark.parametrize(
    ("low", "high"),
    [(-5.0, 3.0), (8.0, 12.0), (-np.inf, -4.0), (20.0, np.inf), (25.0, 26.0)],
)
@pytest.mark.parametrize("u", [0.5, 4.0])
def test_one_interval_is_exact(low: float, high: float, u: float) -> None:
    """One normal height, sd 10, one interval: mass, mean and variance by quadrature.

    The site is at rest within 1e-3 of its spread, and the damping leaves less.
    """
    signal = np.array([[100.0]])
    sites = settled(observations([low], [high], u), signal)
    mean, cov = posterior(sites, signal)

    def weight(f: float) -> float:
        inside = norm.cdf((high - f) / u) - norm.cdf((low - f) / u)
        return float(norm.pdf(f, scale=10.0) * inside)

    def moment(k: int) -> float:
        # Parted where the ends of the interval bend it.
        ends = [-80, -20, 0, *(e for e in (low, high) if np.isfinite(e)), 20, 35, 80]
        ends = sorted(ends)
        return sum(
            quad(lambda f: f**k * weight(f), a, b, epsabs=1e-13)[0]
            for a, b in pairwise(ends)
            if b > a
        )

    mass = moment(0)
    true_mean = moment(1) / mass
    true_var = moment(2) / mass - true_mean**2
    assert mean[0] == pytest.approx(true_mean, abs=2e-3 * true_var**0.5)
    assert cov[0, 0] == pytest.approx(true_var, rel=5e-3)
    wide = (100 + u * u) ** 0.5
    exact = float(norm.cdf(high / wide) - norm.cdf(low / wide))
    assert mass == pytest.approx(exact, rel=1e-6)  # the quadrature itself
    assert sites.log_evidence == pytest.approx(np.log(exact), abs=2e-3)


@pytest.mark.parametrize("correlation", [0.0, 0.6, 0.95])
@pytest.mark.parametrize(
    ("low", "high"),
    [
        ([-5.0, -5.0], [5.0, 5.0]),
        ([0.0, -12.0], [6.0, -4.0]),
        ([-np.inf, 2.0], [-3.0, 9.0]),
        ([5.0, -np.inf], [np.inf, 20.0]),
    ],
)
def test_two_intervals_against_a_sum_over_a_fine_mesh(
    low: list[float], high: list[float], correlation: float
) -> None:
    """The true posterior is no normal one, so no normal one is exact: the mean is held
    to 5 % of the spread and the spread to 7 %, where two one-sided bounds on heights
    that move together come out worst (6 %)."""
    u = 2.0
    signal = 100 * np.array([[1.0, correlation], [correlation, 1.0]])
    obs = observations(low, high, u)
    sites = settled(obs, signal)
    mean, cov = posterior(sites, signal)
    axis = np.linspace(-60, 60, 1201)
    one, two = np.meshgrid(axis, axis, indexing="ij")
    inverse = np.linalg.inv(signal)
    density = np.exp(
        -0.5
        * (
            inverse[0, 0] * one**2
            + 2 * inverse[0, 1] * one * two
            + inverse[1, 1] * two**2
        )
    )
    for f, a, b in ((one, low[0], high[0]), (two, low[1], high[1])):
        density *= norm.cdf((b - f) / u) - norm.cdf((a - f) / u)
    density /= density.sum()
    true = np.array([(density * one).sum(), (density * two).sum()])
    off = (one - true[0], two - true[1])
    true_cov = np.array([[(density * p * q).sum() for q in off] for p in off])
    spread = np.sqrt(np.diag(true_cov))
    assert (np.abs(mean - true) < 0.05 * spread).all()
    np.testing.assert_allclose(np.sqrt(np.diag(cov)), spread, rtol=0.07)


def smooth(n: int, length: float) -> Array:
    d = np.abs(np.subtract.outer(np.arange(n), np.arange(n))) / length
    return np.asarray(100 * np.exp(-0.5 * d**2))


@pytest.mark.parametrize("n", [2, 3, 5])
@pytest.mark.parametrize("length", [0.5, 2.0])
def test_evidence_against_the_probability_of_a_box(n: int, length: float) -> None:
    """The mass that a normal vector leaves in a box, by scipy (Genz's method).

    Log evidence within 0.05: what decides between hypotheses is whole units.
    """
    rng = np.random.default_rng(n)
    signal, u = smooth(n, length), 1.0
    middle = np.linalg.cholesky(signal + 1e-6 * np.eye(n)) @ rng.standard_normal(n)
    low, high = middle - rng.uniform(1, 6, n), middle + rng.uniform(1, 6, n)
    obs = observations(low.tolist(), high.tolist(), u)
    box = multivariate_normal(
        np.zeros(n), signal + u * u * np.eye(n), seed=np.random.default_rng(1)
    ).cdf(high, lower_limit=low)
    assert settled(obs, signal).log_evidence == pytest.approx(np.log(box), abs=0.05)


def test_values_are_left_as_they_are_and_their_evidence_is_exact() -> None:
    rng = np.random.default_rng(4)
    signal = smooth(5, 1.5)
    value = rng.normal(0, 10, 5)
    obs = observations(value.tolist(), value.tolist(), 2.0)
    sites = settled(obs, signal)
    np.testing.assert_allclose(sites.value_um, value, rtol=1e-9)
    np.testing.assert_allclose(sites.u_um, 2.0, rtol=1e-9)
    exact = multivariate_normal(np.zeros(5), signal + 4 * np.eye(5)).logpdf(value)
    assert sites.log_evidence == pytest.approx(float(exact), abs=1e-8)


def test_values_and_intervals_mix() -> None:
    """A value, and an interval beside it: the joint evidence is density times mass."""
    signal = smooth(2, 1.0)
    obs = observations([4.0, -3.0], [4.0, 6.0], 1.0)
    total = signal + np.eye(2)
    centre = total[1, 0] / total[0, 0] * 4.0
    spread = (total[1, 1] - total[1, 0] ** 2 / total[0, 0]) ** 0.5
    exact = norm.logpdf(4.0, scale=total[0, 0] ** 0.5) + np.log(
        norm.cdf((6.0 - centre) / spread) - norm.cdf((-3.0 - centre) / spread)
    )
    # The value's site is exact, so that the one interval is too.
    assert settled(obs, signal).log_evidence == pytest.approx(float(exact), abs=2e-3)


def test_an_interval_without_any_bound_says_nothing() -> None:
    signal = smooth(2, 1.0)
    one = settled(observations([-3.0], [6.0], 1.0), signal[:1, :1])
    two = settled(observations([-3.0, -np.inf], [6.0, np.inf], 1.0), signal)
    np.testing.assert_allclose(
        posterior(two, signal)[0][0], posterior(one, signal[:1, :1])[0][0], atol=1e-2
    )
    assert two.log_evidence == pytest.approx(one.log_evidence, abs=1e-2)


def test_readings_all_inside_one_leaf_prefer_no_flat_face() -> None:
    """Under a wide prior less of the mass is in the box, but not nearly none of it.

    For n intervals of half width h about 0 the evidence of amplitude 0 is 1; taken as
    exact values with the same spread, amplitude 0 would be praised far more.
    """
    n = 6
    obs = observations([-20.0] * n, [20.0] * n, 1.0)
    small = settled(obs, smooth(n, 1.0) * 0.01).log_evidence
    large = settled(obs, smooth(n, 1.0)).log_evidence
    assert small == pytest.approx(0.0, abs=1e-3)
    box = multivariate_normal(
        np.zeros(n), smooth(n, 1.0) + np.eye(n), seed=np.random.default_rng(1)
    ).cdf(np.full(n, 20.0), lower_limit=np.full(n, -20.0))
    assert large == pytest.approx(np.log(box), abs=0.05)


def test_free_columns_leave_the_level_open() -> None:
    """Two places on one unknown level: intervals far apart are no surprise to it."""
    signal = np.eye(2)
    free = np.ones((2, 1))
    obs = observations([95.0, 97.0], [99.0, 101.0], 0.5)
    value, u = start_values(obs)
    sites = Sites(value_um=value, u_um=u, log_evidence=0.0)
    for _ in range(5):
        sites = propagate(obs, signal, free, 10.0, sites)
    prior = signal + 1e8 * free @ free.T
    mean = prior @ np.linalg.solve(prior + np.diag(sites.u_um**2), sites.value_um)
    assert 96 < mean[0] < 100
    assert 96 < mean[1] < 100
    assert mean[1] > mean[0]


def test_free_unknowns_take_nothing_from_fine_readings() -> None:
    """Values of 0.05 µm beside one bound too wide to tell: the evidence of amplitudes
    is the restricted likelihood of the values alone (Patterson and Thompson 1971),
    as kriging has it, with free columns that repeat each other."""
    rng = np.random.default_rng(4)
    n = 14
    place = np.linspace(0, 250, n)
    correlation = matern52(place, np.zeros(n), 60.0)
    free = np.column_stack([np.ones(n), place, place > 120, np.ones(n), 3 * place])
    value = rng.normal(0, 25, n) + 400 * free[:, 2]
    obs = replace(
        observations(value.tolist(), value.tolist(), 0.05),
        low_um=np.append(value[:-1], -1e5),
        high_um=np.append(value[:-1], 1e5),
    )
    known = replace(
        obs, weights=np.eye(n), u_um=np.append(np.full(n - 1, 0.05), 1e5 / 3**0.5)
    )
    found = modes(whiten(known.u_um, np.zeros((n, 0)), free), correlation)
    amplitudes = np.array([5.0, 20.0, 80.0])
    expected = evidence(found, value, amplitudes)
    start = Sites(value_um=known.value_um, u_um=known.u_um, log_evidence=0.0)
    ours = [
        propagate(obs, a**2 * correlation, free, 25.0, start).log_evidence
        for a in amplitudes
    ]
    np.testing.assert_allclose(np.diff(ours), np.diff(expected), atol=0.01)
