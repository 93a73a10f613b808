"""Universal kriging against a general library and the formulas written out densely."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import ConstantKernel, DotProduct, Matern

from lapping.methods.combine import combine
from lapping.methods.dial import take_dial
from lapping.observations import Observations, form_terms, plane_terms
from lapping.surface import hypotheses
from lapping.surface import posterior as surface
from lapping.surface.kriging import (
    Modes,
    bounded_columns,
    evidence,
    free_columns,
    krige,
    matern52,
    modes,
    whiten,
)
from lapping.surface.posterior import infer_surface
from tests.made_readings import FACE, dial_set, form_shape, grid_places, read_shape

Array = NDArray[np.float64]
LENGTH_MM, AMPLITUDE, NOISE = 70.0, 6.0, 1.5
FORM = 1.5
RNG = np.random.default_rng(12)
AT = np.array(grid_places(6, 3))
VALUE = RNG.normal(0, 5, len(AT)) + 0.3 * AT[:, 0]
ELSEWHERE = np.column_stack([RNG.uniform(0, 250, 40), RNG.uniform(0, 60, 40)])


def covariances(
    *, form: bool, bounded: Array, free: Array
) -> tuple[Modes, Array, Array]:
    """Give modes, covariance of elsewhere with readings, and elsewhere's own."""
    along, across = np.vstack([AT, ELSEWHERE]).T
    whole = matern52(along, across, LENGTH_MM)
    if form:
        root = FORM * form_terms(FACE, along, across)
        whole = whole + root @ root.T
    n = len(AT)
    level = whiten(np.full(n, NOISE), bounded, free)
    return modes(level, whole[:n, :n]), whole[n:, :n], whole[n:, n:]


def dense(
    signal: Array, seen: Array, own: Array, plane: Array, free: Array, noise: Array
) -> tuple[Array, Array]:
    """Give weights and covariance of universal kriging (Cressie, Statistics for
    Spatial Data, 1993, section 3.4), written out; from memory."""
    total = AMPLITUDE**2 * signal + noise
    inverse = np.linalg.inv(total)
    gls = np.linalg.inv(free.T @ inverse @ free) @ free.T @ inverse
    # Free columns beyond the plane have no part in a height elsewhere.
    there = np.column_stack([plane, np.zeros((len(plane), free.shape[1] - 3))])
    simple = AMPLITUDE**2 * seen @ inverse
    weights = there @ gls + simple @ (np.eye(len(total)) - free @ gls)
    cov = (
        AMPLITUDE**2 * own
        - weights @ (AMPLITUDE**2 * seen).T
        - AMPLITUDE**2 * seen @ weights.T
        + weights @ total @ weights.T
    )
    return weights, cov


def plane_at(places: Array) -> Array:
    return plane_terms(FACE, places[:, 0], places[:, 1])


def test_matern_against_scikit_learn() -> None:
    ours = matern52(AT[:, 0], AT[:, 1], LENGTH_MM)
    theirs = Matern(length_scale=LENGTH_MM, nu=2.5)(AT)
    np.testing.assert_allclose(ours, theirs, rtol=1e-12, atol=1e-14)


def test_mean_and_covariance_against_scikit_learn() -> None:
    """The plane there is a linear kernel of a standard deviation of 10 000 µm.

    That is not infinite: it moves mean and covariance by some 1e-7 of the whole.
    """
    scale = 100.0  # so that the linear kernel is not the worse conditioned
    centre = AT.mean(axis=0)
    kernel = ConstantKernel(AMPLITUDE**2) * Matern(LENGTH_MM / scale, nu=2.5)
    kernel += ConstantKernel(1e8) * DotProduct(sigma_0=1.0)
    theirs = GaussianProcessRegressor(kernel, alpha=NOISE**2, optimizer=None)
    theirs.fit((AT - centre) / scale, VALUE)
    mean, cov = theirs.predict((ELSEWHERE - centre) / scale, return_cov=True)

    found, seen, own = covariances(
        form=False, bounded=np.zeros((len(AT), 0)), free=plane_at(AT)
    )
    ours = krige(found, AMPLITUDE, VALUE[None], seen, plane_at(ELSEWHERE))[0]
    np.testing.assert_allclose(ours, mean, atol=1e-4)
    # The weights are what it makes of a unit at each reading in turn.
    weights = krige(found, AMPLITUDE, np.eye(len(AT)), seen, plane_at(ELSEWHERE)).T
    power = AMPLITUDE**2
    total = power * matern52(AT[:, 0], AT[:, 1], LENGTH_MM) + NOISE**2 * np.eye(len(AT))
    ours_cov = (
        power * own
        - power * (weights @ seen.T + seen @ weights.T)
        + weights @ total @ weights.T
    )
    np.testing.assert_allclose(ours_cov, cov, atol=1e-3)


def test_rows_of_several_amplitudes_are_what_each_is_alone() -> None:
    found, seen, _ = covariances(
        form=False, bounded=np.zeros((len(AT), 0)), free=plane_at(AT)
    )
    rows, plane = RNG.normal(size=(3, len(AT))), plane_at(ELSEWHERE)
    sizes = AMPLITUDE * np.array([0.2, 1.0, 4.0])
    alone = [
        krige(found, size, row[None], seen, plane)[0]
        for size, row in zip(sizes.tolist(), rows, strict=True)
    ]
    np.testing.assert_allclose(krige(found, sizes, rows, seen, plane), alone)


@pytest.mark.parametrize("drift", [False, True])
@pytest.mark.parametrize("plate", [0.0, 4.0])
def test_weights_against_the_dense_formula(drift: bool, plate: float) -> None:
    """With the form, a plate of known size and a free drift in reading order."""
    # In an order that is no plane itself, unlike row by row over a grid.
    order = RNG.permutation(len(AT)) / len(AT)
    free = plane_at(AT)
    if drift:
        free = np.column_stack([free, order])
    bounded = plate * form_terms(FACE, AT[:, 0], AT[:, 1])
    found, seen, own = covariances(form=True, bounded=bounded, free=free)
    weights = krige(found, AMPLITUDE, np.eye(len(AT)), seen, plane_at(ELSEWHERE)).T
    root = FORM * form_terms(FACE, AT[:, 0], AT[:, 1])
    expected, _ = dense(
        matern52(AT[:, 0], AT[:, 1], LENGTH_MM) + root @ root.T,
        seen,
        own,
        plane_at(ELSEWHERE),
        free,
        NOISE**2 * np.eye(len(AT)) + bounded @ bounded.T,
    )
    np.testing.assert_allclose(weights, expected, atol=1e-9)
    # A plane read exactly is a plane everywhere, and weights of a constant sum to 1.
    np.testing.assert_allclose(weights.sum(axis=1), 1.0, atol=1e-9)


@pytest.mark.parametrize("noise", [0.3, 1.5, 8.0])
def test_evidence_against_the_restricted_likelihood(noise: float) -> None:
    """Patterson and Thompson (1971), written out with determinants of full matrices."""
    bounded = 2.0 * form_terms(FACE, AT[:, 0], AT[:, 1])
    free = plane_at(AT)
    signal = matern52(AT[:, 0], AT[:, 1], LENGTH_MM)
    found = modes(whiten(np.full(len(AT), noise), bounded, free), signal)
    amplitudes = np.array([0.1, 1.0, 5.0, 30.0])
    ours = evidence(found, VALUE, amplitudes)
    expected = []
    for amplitude in amplitudes:
        total = amplitude**2 * signal + noise**2 * np.eye(len(AT)) + bounded @ bounded.T
        inverse = np.linalg.inv(total)
        inner = free.T @ inverse @ free
        left = inverse - inverse @ free @ np.linalg.solve(inner, free.T @ inverse)
        expected.append(
            -0.5 * np.linalg.slogdet(total)[1]
            - 0.5 * np.linalg.slogdet(inner)[1]
            - 0.5 * VALUE @ left @ VALUE
        )
    np.testing.assert_allclose(ours, expected, rtol=1e-9, atol=1e-8)


def one_hypothesis(monkeypatch: pytest.MonkeyPatch, share: float) -> None:
    """Leave one length scale, form, noise and amplitude, and nothing uneven."""
    for module in (hypotheses, surface):
        monkeypatch.setattr(module, "LENGTHS", np.array([share]))
        monkeypatch.setattr(module, "FORM_RATIOS", (FORM,))
    monkeypatch.setattr(hypotheses, "NOISE_STEPS", np.zeros(1))
    monkeypatch.setattr(hypotheses, "NOISE_WEIGHTS", np.ones(1))
    monkeypatch.setattr(hypotheses, "AMPLITUDES", np.ones(1))
    monkeypatch.setattr(surface, "UNEVEN", 1.0)
    monkeypatch.setattr(surface, "UNEVEN_SPREAD", 0.0)


def observed(kind: str) -> Observations:
    shape = form_shape(along_bow=10, twist=12)
    rows = read_shape(grid_places(5, 3), shape)
    one = take_dial(dial_set(rows, repeatability_um=1.0, reference_flatness_um=0.0))
    if kind == "one set":
        return one.observations
    if kind == "drift":
        again = take_dial(dial_set([*rows, rows[0]], repeatability_um=1.0))
        return again.observations
    other = read_shape(grid_places(3, 2), shape)
    two = take_dial(dial_set(other, repeatability_um=1.0, reference_flatness_um=8.0))
    return combine(FACE, [one, two]).observations


@pytest.mark.parametrize("kind", ["one set", "drift", "two plates"])
def test_draws_have_the_mean_and_covariance_of_the_closed_form(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """20 000 draws; each covariance within six of its own standard errors,
    sqrt((v_ii v_jj + v_ij^2) / draws) for normal draws (Isserlis 1918)."""
    share, draws = 0.25, 20_000
    one_hypothesis(monkeypatch, share)
    obs = observed(kind)
    found = infer_surface(FACE, obs, draws=draws)

    free = free_columns(FACE, obs)
    level = obs.value_um - free @ np.linalg.lstsq(free, obs.value_um, rcond=None)[0]
    amplitude = hypotheses.scatter_um(FACE, obs, level, obs.u_um)
    root = FORM * form_terms(FACE, found.along_mm, found.across_mm)
    whole = matern52(found.along_mm, found.across_mm, share * FACE.length_mm)
    whole = whole + root @ root.T
    p = found.places
    bounded = bounded_columns(obs)
    monkeypatch.setattr("tests.test_kriging.AMPLITUDE", amplitude)
    weights, cov = dense(
        obs.weights @ whole[:p, :p] @ obs.weights.T,
        whole[:, :p] @ obs.weights.T,
        whole,
        plane_terms(FACE, found.along_mm, found.across_mm),
        free,
        np.diag(obs.u_um**2) + bounded @ bounded.T,
    )
    np.testing.assert_allclose(found.mean_um, weights @ level, atol=1e-7)
    variance = np.diag(cov)
    off = np.abs(found.draws_um.mean(axis=0) - found.mean_um)
    assert (off < 6 * np.sqrt(variance / draws)).all()
    error = np.sqrt((np.outer(variance, variance) + cov**2) / draws)
    assert (np.abs(np.cov(found.draws_um.T) - cov) < 6 * error).all()


def test_a_plate_spreads_the_draws_by_its_form_alone(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    one_hypothesis(monkeypatch, 0.25)
    obs = observed("one set")
    bare = infer_surface(FACE, obs)
    plated = infer_surface(FACE, replace(obs, reference_u_um=np.full(3, 10.0)))
    np.testing.assert_array_equal(plated.mean_um, bare.mean_um)
    added = plated.draws_um - bare.draws_um
    terms = form_terms(FACE, bare.along_mm, bare.across_mm)
    size = np.linalg.lstsq(terms, added.T, rcond=None)[0]
    np.testing.assert_allclose(added.T, terms @ size, atol=1e-9)
    # 1000 draws: the standard error of a standard deviation is 2.2 %.
    np.testing.assert_allclose(size.std(axis=1), 10.0, rtol=0.09)
