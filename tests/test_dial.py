"""Indicator readings: sense, repeats, drift, many readings, the plate's own doubt."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from lapping.answer import Answer, answer
from lapping.face import Face
from lapping.methods.combine import combine
from lapping.methods.dial import EQUATIONS, take_dial
from lapping.methods.taken import STATED_DOUBT, STEP_DOUBT
from lapping.surface.posterior import infer_surface
from tests.made_readings import (
    FACE,
    dial_set,
    form_shape,
    grid_places,
    read_shape,
)

SHAPE = form_shape(along_bow=24.0, across_bow=-6.0, twist=40.0)


def read_with_drift(drift_um: float) -> list[tuple[float, float, float]]:
    """Read a 5 x 3 grid and its first spot again, the gauge drifting all the while."""
    places = grid_places(5, 3)
    rows = read_shape([*places, places[0]], SHAPE)
    order = np.linspace(0, 1, len(rows))
    return [
        (a, c, v + drift_um * t)
        for (a, c, v), t in zip(rows, order.tolist(), strict=True)
    ]


def test_low_positive_turns_the_sign() -> None:
    rows = read_shape(grid_places(3, 3), SHAPE)
    high = take_dial(dial_set(rows))
    low = take_dial(dial_set(rows, sense="low-positive"))
    np.testing.assert_array_equal(low.heights.height_um, -high.heights.height_um)
    np.testing.assert_array_equal(high.heights.height_um, [v for _, _, v in rows])


def test_repeats_are_averaged_and_give_the_repeatability() -> None:
    """Spread of repeats about their means; no more places than were read."""
    rng = np.random.default_rng(3)
    places = grid_places(4, 2)
    noise = rng.normal(0, 4.0, (50, len(places)))
    truth = np.array([v for *_, v in read_shape(places, SHAPE)])
    # Whole rounds, then each round backwards, so that no drift is to be seen.
    rows = [
        (*places[i], float(truth[i] + noise[k, i]))
        for k in range(50)
        for i in (range(8) if k % 2 == 0 else reversed(range(8)))
    ]
    taken = take_dial(dial_set(rows))
    assert len(taken.heights) == len(places)
    # By hand: pooled over 8 places, 392 degrees of freedom, with the smallest step of
    # 1 µm counted as two more; one degree goes to the drift.
    slope = taken.drift_um
    assert slope is not None
    order = np.linspace(0, 1, len(rows))
    values = np.array([v for *_, v in rows]) - slope * order
    spot = np.array([places.index((a, c)) for a, c, _ in rows])
    means = np.bincount(spot, values) / 50
    spread = float(((values - means[spot]) ** 2).sum())
    expected = ((spread + 2 * 1.0**2) / (400 - 8 - 1 + 2)) ** 0.5
    assert taken.repeatability_um == pytest.approx(expected, rel=1e-9)
    # 4 µm within three standard errors, 4/sqrt(2 * 391).
    assert abs(taken.repeatability_um - 4.0) < 3 * 4 / (2 * 391) ** 0.5
    np.testing.assert_allclose(taken.heights.height_um, means, atol=1e-9)
    np.testing.assert_allclose(
        taken.heights.u_um, taken.repeatability_um / 50**0.5, rtol=1e-12
    )
    assert taken.observations.noise_doubt == pytest.approx((2 * 393) ** -0.5)


def test_reread_first_spot_takes_a_linear_drift_out_exactly() -> None:
    taken = take_dial(dial_set(read_with_drift(30.0)))
    assert taken.drift_um == pytest.approx(30.0, abs=1e-9)
    truth = [v for *_, v in read_shape(grid_places(5, 3), SHAPE)]
    np.testing.assert_allclose(taken.heights.height_um, truth, atol=1e-9)


def test_drift_is_reported_in_words_and_a_small_one_is_not() -> None:
    loud = take_dial(dial_set(read_with_drift(-30.0)))
    assert [w for w in loud.warnings if "drifted -30 µm" in w]
    quiet = take_dial(dial_set(read_with_drift(1.0), repeatability_um=2.0))
    assert quiet.drift_um == pytest.approx(1.0, abs=1e-9)
    assert quiet.warnings == ()


def test_without_a_reread_first_spot_no_drift_is_claimed() -> None:
    places = grid_places(5, 3)
    rows = read_shape([*places, places[3]], SHAPE)
    assert take_dial(dial_set(rows)).drift_um is None
    twice_at_once = read_shape([places[0], *places], SHAPE)
    assert take_dial(dial_set(twice_at_once)).drift_um is None


def test_form_is_recovered_through_the_drift() -> None:
    """24 crown, 6 hollow across and 40 twist, read to 0.1 µm, drift 30 µm."""
    found = answer([dial_set(read_with_drift(30.0), repeatability_um=0.1)])
    form = found.form
    assert form.along_bow is not None
    assert form.across_bow is not None
    assert form.twist is not None
    for bow, true in ((form.along_bow, 24.0), (form.across_bow, -6.0)):
        assert abs(bow.um - true) <= 3 * bow.u_um
        assert abs(bow.um - true) < 0.5
    assert abs(form.twist.um - 40.0) <= 3 * form.twist.u_um
    assert abs(form.twist.um - 40.0) < 0.5
    assert any("drifted +30 µm" in w for w in found.warnings)


def test_stated_repeatability_is_taken_but_never_below_the_rounding() -> None:
    rows = read_shape(grid_places(3, 3), SHAPE)
    stated = take_dial(dial_set(rows, repeatability_um=2.5))
    assert stated.repeatability_um == 2.5
    assert stated.observations.noise_doubt == STATED_DOUBT
    coarse = take_dial(dial_set(rows, repeatability_um=0.5, resolution_um=10.0))
    # Rectangular rounding: step / sqrt(12) (GUM 4.3.7).
    assert coarse.repeatability_um == pytest.approx(10 / 12**0.5)


def test_without_repeats_the_smallest_step_stands_in() -> None:
    rows = read_shape(grid_places(3, 3), SHAPE)
    typed = take_dial(dial_set(rows, step_um=5.0))
    assert typed.repeatability_um == 5.0
    assert typed.observations.noise_doubt == STEP_DOUBT
    assert take_dial(dial_set(rows, resolution_um=2.0)).repeatability_um == 2.0


def test_identical_repeats_do_not_claim_a_perfect_gauge() -> None:
    rows = read_shape(grid_places(3, 2), lambda a, c: np.zeros_like(a))
    rows = [*rows, *rows, *rows]
    taken = take_dial(dial_set(rows, step_um=10.0))
    assert taken.repeatability_um >= 10 / 12**0.5


def dense(n_along: int, n_across: int, **header: Any) -> Answer:
    rng = np.random.default_rng(8)
    rows = read_shape(grid_places(n_along, n_across), SHAPE)
    rows = [(a, c, v + float(rng.normal(0, 2.0))) for a, c, v in rows]
    return answer([dial_set(rows, repeatability_um=2.0, **header)])


def test_more_than_300_readings_say_the_same_within_their_doubt() -> None:
    many, few = dense(45, 9), dense(27, 9)
    assert len(many.heights) == 405 > EQUATIONS > len(few.heights)
    assert many.surface.places <= 1.3 * EQUATIONS
    for one, other in (
        (many.form.along_bow, few.form.along_bow),
        (many.form.across_bow, few.form.across_bow),
        (many.form.twist, few.form.twist),
    ):
        assert one is not None
        assert other is not None
        assert abs(one.um - other.um) <= 3 * np.hypot(one.u_um, other.u_um)
    assert many.form.twist is not None
    assert abs(many.form.twist.um - 40.0) <= 3 * many.form.twist.u_um
    assert many.likely.likely_um is not None
    assert few.likely.interval_um[1] is not None
    low, high = few.likely.interval_um
    assert low <= many.likely.likely_um <= high
    # The plain figures still use every reading.
    assert many.least_squares.residual_um.size == 405


def test_many_repeats_at_few_places_stay_at_those_places() -> None:
    places = grid_places(5, 3)
    rows = [r for _ in range(25) for r in read_shape(places, SHAPE)]
    assert len(rows) > EQUATIONS
    obs = take_dial(dial_set(rows)).observations
    assert obs.value_um.size == len(places)
    np.testing.assert_allclose(obs.along_mm, [a for a, _ in places], rtol=1e-12)
    np.testing.assert_allclose(obs.u_um, 1 / 12**0.5 / 5, rtol=0.2)


def test_a_long_file_combines_with_a_short_one() -> None:
    """Cells that stand for many readings are no places of the other file."""
    long = dial_set(read_shape(grid_places(45, 9), SHAPE))
    short = dial_set(
        [(a, c, v + 7 + 0.01 * a) for a, c, v in read_shape(grid_places(5, 3), SHAPE)]
    )
    taken = combine(FACE, [take_dial(long), take_dial(short)])
    truth = [
        v
        for *_, v in read_shape(
            zip(
                taken.heights.along_mm.tolist(),
                taken.heights.across_mm.tolist(),
                strict=True,
            ),
            SHAPE,
        )
    ]
    np.testing.assert_allclose(taken.heights.height_um, truth, atol=1e-6)


@pytest.mark.parametrize("flatness", [5.0, 40.0])
def test_a_stated_plate_adds_its_bows_and_twist_to_the_doubt(flatness: float) -> None:
    """A quarter of it on each form coefficient; twist is four coefficients.

    Standard deviations of 1000 draws have a standard error of 2.2 %; 10 % is allowed.
    """
    rows = read_shape(grid_places(5, 3), SHAPE)
    bare = answer([dial_set(rows, repeatability_um=1.0)])
    stated = answer(
        [dial_set(rows, repeatability_um=1.0, reference_flatness_um=flatness)]
    )
    for name, part in (("along_bow", 1), ("across_bow", 1), ("twist", 4)):
        alone, doubted = getattr(bare.form, name), getattr(stated.form, name)
        expected = np.hypot(alone.u_um, part * flatness / 4)
        assert doubted.u_um == pytest.approx(expected, rel=0.1)
        # The plate's doubt widens the figure, and moves it nowhere.
        assert doubted.um == pytest.approx(alone.um, abs=1e-9)
    assert stated.likely.interval_um[1] > bare.likely.interval_um[1]
    assert stated.likely.interval_um[0] < bare.likely.interval_um[0]


def test_a_poor_plate_does_not_explain_a_large_twist_away() -> None:
    """400 µm of twist on a plate of 80 µm is a twisted sole."""
    rows = read_shape(grid_places(5, 3), form_shape(twist=400.0))
    found = answer([dial_set(rows, reference_flatness_um=80.0)])
    assert found.form.twist is not None
    assert found.form.twist.um == pytest.approx(400.0, abs=4.0)
    assert found.verdict == "not flat"


def test_a_face_read_flat_on_a_poor_plate_is_not_proved_flat() -> None:
    rows = [(a, c, 0.0) for a, c in grid_places(5, 3)]
    found = answer([dial_set(rows, reference_flatness_um=80.0)], target_um=20.0)
    assert found.likely.interval_um[0] == 0.0
    assert found.verdict == "cannot tell"
    assert not any("reference_flatness" in w for w in found.warnings)


def test_an_unstated_plate_is_said_to_be_unstated() -> None:
    found = answer([dial_set(read_shape(grid_places(3, 3), SHAPE))])
    assert any("reference_flatness" in w for w in found.warnings)


def test_the_better_plate_settles_the_form_of_two_sets() -> None:
    """One set from a perfect plate, one from a plate that adds 60 µm of twist."""
    rows = read_shape(grid_places(5, 3), SHAPE)
    bent = read_shape(
        grid_places(5, 3), form_shape(along_bow=24, across_bow=-6, twist=100)
    )
    good = dial_set(rows, repeatability_um=0.5, reference_flatness_um=0.0)
    poor = dial_set(bent, repeatability_um=0.5, reference_flatness_um=100.0)
    for sets in ([good, poor], [poor, good]):
        twist = answer(sets).form.twist
        assert twist is not None
        assert abs(twist.um - 40.0) < max(3 * twist.u_um, 2.0)
        assert twist.u_um < 5.0


def test_the_surface_follows_exact_readings() -> None:
    face = Face(length_mm=200.0, width_mm=50.0)
    shape = form_shape(face, along_bow=10.0)
    rows = read_shape(grid_places(5, 3, face), shape)
    obs = take_dial(dial_set(rows, face=face, step_um=0.01)).observations
    surface = infer_surface(face, obs)
    level = surface.mean_um[: surface.places] - [v for *_, v in rows]
    terms = np.column_stack([np.ones(15), obs.along_mm, obs.across_mm])
    level -= terms @ np.linalg.lstsq(terms, level, rcond=None)[0]
    assert np.abs(level).max() < 0.05
