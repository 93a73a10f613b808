"""Strokes on a lap: what theory says of pressure, wear and shape must come out."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from lapping.errors import BadInput
from lapping.face import Face, Mouth
from lapping.lap_limit import lap_limit_um
from lapping.surface.form import Bow, Form, Twist
from lapping.wear.lap_contact import cells_of, press
from lapping.wear.lap_model import Rubbed, Sheet, rub
from lapping.wear.lap_strokes import LapSurface, Rubbing, bowed_lap, moments_of
from lapping.zone.minimum_zone import minimum_zone

Array = NDArray[np.float64]
FACE = Face(length_mm=240, width_mm=60)
CELLS = cells_of(FACE, 30, 10)
TERMS = CELLS.terms
A, C = TERMS[:, 1], TERMS[:, 2]
MIDDLE = np.zeros((1, 2))
# 40 N, 500 mm of path, K·stiffness of 1e-8 per µm and mm: 1/(1e-8 · 1000 · 500) = 200.
SHEET = Sheet(stiffness_mpa_per_um=1e-3, preston_per_mpa=1e-5)
STROKE = Rubbing(load_n=40, stroke_mm=250)
pressed = partial(press, CELLS, stiffness_mpa_per_um=1e-3, load_n=40)


def form(along_bow: float = 0, across_bow: float = 0, twist: float = 0) -> Array:
    """Give a face of second degree, crowns positive, toe-left and heel-right high."""
    height: Array = -along_bow * A**2 - across_bow * C**2 + twist / 4 * A * C
    return height


def off_plane(height: Array) -> Array:
    """Take the least squares plane off."""
    fitted: Array = TERMS @ np.linalg.lstsq(TERMS, height, rcond=None)[0]
    return np.asarray(height - fitted)


def strokes(
    height: Array,
    count: float,
    rubbing: Rubbing = STROKE,
    lap: LapSurface | None = None,
) -> Rubbed:
    return rub(CELLS, height, rubbing, SHEET, count, lap=lap)


# Pressure: the forces on a rigid body in balance (statics).


@given(
    st.integers(0, 2**32 - 1),
    st.floats(0, 4).map(lambda power: 10.0**power),
    st.floats(-0.8, 0.8),
    st.floats(-0.8, 0.8),
)
@settings(max_examples=60, deadline=None)
def test_force_and_moments_balance_and_nothing_pulls(
    seed: int, rough_um: float, along: float, across: float
) -> None:
    # Heavy-tailed heights: a few cells stand out far and carry all of it.
    rng = np.random.default_rng(seed)
    proud = rng.standard_t(2, size=(2, len(CELLS))) * rough_um
    hand = np.array([[along, across], [0.0, 0.0]])
    found = pressed(proud, hand=hand)
    force = found.pressure_mpa * CELLS.cell_mm2
    assert (force >= 0).all()
    np.testing.assert_allclose(force.sum(axis=1), 40, rtol=1e-9)
    np.testing.assert_allclose(force @ TERMS[:, 1:], 40 * hand, atol=40 * 1e-9)


def test_the_energy_is_least_where_the_face_settles() -> None:
    # Minimum of total potential energy: that of the springs, less the load's work.
    proud = form(twist=120)[None, :]
    hand = np.array([[0.2, -0.1]])
    found = pressed(proud, hand=hand)
    springs = 1e-3 * CELLS.cell_mm2

    def energy(plane: Array) -> float:
        sunk = np.maximum(proud[0] + TERMS @ plane, 0)
        return float(springs * (sunk**2).sum() / 2 - 40 * plane @ [1, *hand[0]])

    least = energy(found.plane_um[0])
    rng = np.random.default_rng(3)
    for size in (1e-3, 1e-1, 10.0):
        for way in rng.normal(size=(20, 3)):
            assert energy(found.plane_um[0] + size * way) >= least - 1e-9


def test_a_general_minimiser_finds_the_same_pressures() -> None:
    # scipy's trust-region Newton on the same energy knows nothing of this solver.
    from scipy.optimize import minimize

    proud = form(along_bow=60, twist=80)
    hand = np.array([0.3, 0.2])
    load = 40 / (1e-3 * CELLS.cell_mm2)

    def energy(plane: Array) -> tuple[float, Array]:
        sunk = np.maximum(proud + TERMS @ plane, 0)
        wanted = load * np.array([1, *hand])
        return float((sunk**2).sum() / 2 - wanted @ plane), TERMS.T @ sunk - wanted

    best = minimize(energy, np.array([300.0, 0, 0]), jac=True, method="BFGS", tol=1e-8)
    found = pressed(proud[None, :], hand=hand[None, :])
    np.testing.assert_allclose(found.plane_um[0], best.x, atol=1e-3)


def test_a_flat_face_carries_evenly_under_its_middle() -> None:
    found = pressed(np.zeros((1, len(CELLS))), hand=MIDDLE)
    np.testing.assert_allclose(found.pressure_mpa, 40 / (240 * 60), rtol=1e-12)


def test_a_hand_off_the_middle_presses_as_the_kern_of_a_rectangle_says() -> None:
    # Strength of materials: p = F/A · (1 + 12·e·u/L²) while e is within L/6.
    e = 25.0
    found = pressed(np.zeros((1, len(CELLS))), hand=np.array([[2 * e / 240, 0]]))
    u = CELLS.along_mm - 120
    n = 30  # cells in a row have this much less of a second moment than the row
    expected = 40 / (240 * 60) * (1 + 12 * e * u / (240**2 * (1 - 1 / n**2)))
    np.testing.assert_allclose(found.pressure_mpa[0], expected, rtol=1e-9)


def test_a_hand_beyond_a_sixth_of_the_length_lifts_the_other_end() -> None:
    # The triangle of pressure is three times as long as the hand is from the end.
    fine = cells_of(FACE, 240, 2)
    hand = np.array([[2 * 70 / 240, 0]])
    found = press(
        fine,
        np.zeros((1, len(fine))),
        stiffness_mpa_per_um=1e-3,
        load_n=40,
        hand=hand,
    )
    bears = found.pressure_mpa[0] > 0
    assert 240 - fine.along_mm[bears].min() == pytest.approx(3 * (120 - 70), abs=1.5)


# Wear: Preston and Archard.


def test_one_metre_takes_off_what_archard_says() -> None:
    # V = K·W·s/H, worked by hand: 50 N on 150 × 50 mm, H = 2 GPa, K = 0.02, 1 m of
    # path: 0.067 µm.
    face = Face(length_mm=150, width_mm=50)
    cells = cells_of(face, 15, 5)
    sheet = Sheet(stiffness_mpa_per_um=1e-3, preston_per_mpa=0.02 / 2000)
    found = rub(cells, np.zeros(75), Rubbing(load_n=50, stroke_mm=500), sheet, 1)
    np.testing.assert_allclose(-found.height_um, 0.0667, atol=0.0001)
    np.testing.assert_allclose(-found.height_um, 0.02 / 2000 * 50 / 7500 * 1e6)


@pytest.mark.parametrize("height", [form(-80), form(90), form(twist=150)])
@pytest.mark.parametrize("swing_mm", [0.0, 70.0])
def test_the_metal_removed_is_that_of_the_load_and_the_path(
    height: Array, swing_mm: float
) -> None:
    # Archard: K·W·s of volume, wherever it comes off. Exact, not to a tolerance.
    rubbing = Rubbing(load_n=40, stroke_mm=250, swing_along_mm=swing_mm)
    found = strokes(height, 137, rubbing, LapSurface(length_mm=420, width_mm=200))
    removed_mm3 = (height - found.height_um).sum() / 1000 * CELLS.cell_mm2
    assert removed_mm3 == pytest.approx(1e-5 * 40 * 500 * 137, rel=1e-9)


def test_nothing_grows_and_more_strokes_never_take_off_less() -> None:
    rough = form(-60, 20, 100) + np.random.default_rng(5).normal(size=len(CELLS)) * 8
    before = rough
    for count in (1, 10, 100, 400):
        after = strokes(rough, count).height_um
        assert (after <= before + 0.02).all()
        before = after


def test_a_bearing_face_flattens_with_its_time_constant() -> None:
    # By hand: while all of it bears, p = p0 + k·(z - plane), so what is off the plane
    # falls by exp(-1) in 1/(K·k·path) strokes; here 200.
    assert SHEET.time_constant(STROKE) == pytest.approx(200, rel=1e-12)
    heavy = Rubbing(load_n=800, stroke_mm=250)
    start = form(20, -8, 30)
    assert (pressed(start[None, :], hand=MIDDLE).pressure_mpa > 0).mean() < 1
    assert (
        press(
            CELLS, start[None, :], stiffness_mpa_per_um=1e-3, load_n=800, hand=MIDDLE
        ).pressure_mpa
        > 0
    ).all()
    for count in (50, 200, 600):
        left = off_plane(strokes(start, count, heavy).height_um)
        np.testing.assert_allclose(
            left, off_plane(start) * math.exp(-count / 200), atol=0.02
        )


@pytest.mark.parametrize(
    "height", [form(-60), form(60), form(twist=120), form(40, -30, 60)]
)
def test_hollow_crown_and_wound_faces_come_to_be_flat(height: Array) -> None:
    early, late = strokes(height, 400), strokes(height, 4000)
    assert np.ptp(off_plane(early.height_um)) < np.ptp(off_plane(height))
    assert np.ptp(off_plane(late.height_um)) < 0.1
    assert (late.bearing == 1).all()
    # From there on the load is carried evenly (a plane under a central load).
    last = strokes(late.height_um, 200)
    np.testing.assert_allclose(
        late.height_um - last.height_um, 1e-5 * 40 / 14400 * 500 * 200 * 1000, rtol=5e-2
    )


def test_a_hand_that_swings_within_a_sixth_leaves_flat_flat() -> None:
    # The kern: within ±L/6 all of it bears at every moment, and even swings cancel.
    swing = Rubbing(load_n=40, stroke_mm=250, swing_along_mm=240 / 6)
    found = strokes(np.zeros(len(CELLS)), 1000, swing)
    assert np.ptp(found.height_um) < 1e-9
    assert (found.bearing == 1).all()


def test_a_hand_that_swings_beyond_a_sixth_crowns_the_face() -> None:
    swing = Rubbing(load_n=40, stroke_mm=250, swing_along_mm=240 / 3)
    found = strokes(np.zeros(len(CELLS)), 1000, swing)
    ends = np.abs(A) > 0.9
    assert found.height_um[ends].mean() < found.height_um[~ends].mean() - 0.4
    six = np.column_stack((TERMS, -(A**2)))
    # Twenty times what many strokes at once may be off by.
    assert np.linalg.lstsq(six, found.height_um, rcond=None)[0][3] > 0.4


def test_a_hand_off_the_middle_stays_flat_and_goes_out_of_square() -> None:
    # By hand: pressures of the kern, 1 + 12·e·v/W², so the face tilts across by
    # 12·e/W times the mean removal.
    off = Rubbing(load_n=40, stroke_mm=250, hand_across_mm=2)
    found = strokes(np.zeros(len(CELLS)), 1000, off)
    assert np.ptp(off_plane(found.height_um)) < 1e-6
    tilt = np.linalg.lstsq(TERMS, found.height_um, rcond=None)[0][2] * 2
    mean = -found.height_um.mean()
    row = 1 - 1 / 10**2  # ten cells across, see above
    assert tilt == pytest.approx(-12 * 2 / 60 * mean / row, rel=1e-9)


def test_an_end_that_hangs_over_the_lap_is_worn_less() -> None:
    short = LapSurface(length_mm=300, width_mm=200)
    found = strokes(np.zeros(len(CELLS)), 300, lap=short)
    end = np.abs(A) > 0.95
    middle = np.abs(A) < 0.3
    assert found.bearing[end].max() < 1
    assert found.height_um[end].min() > found.height_um[middle].max()


@pytest.mark.parametrize(
    ("bows", "heading", "becomes"),
    [
        # Geometry of second-degree surfaces, as in `lap_limit`: bows the other way
        # round by the square of the lengths, twist the same way by the areas.
        ({"along_bow_um": 40.0}, 0, (-40 * (240 / 720) ** 2, 0, 0)),
        ({"across_bow_um": 90.0}, 0, (0, -90 * (60 / 360) ** 2, 0)),
        ({"twist_um": 90.0}, 0, (0, 0, 90 * 240 * 60 / (720 * 360))),
        ({"twist_um": 90.0}, 180, (0, 0, 90 * 240 * 60 / (720 * 360))),
        ({"twist_um": 90.0}, 90, (0, 0, -90 * 240 * 60 / (720 * 360))),
        ({"across_bow_um": 40.0}, 90, (-40 * (240 / 360) ** 2, 0, 0)),
    ],
)
def test_the_shape_of_the_lap_is_copied(
    bows: dict[str, float], heading: float, becomes: tuple[float, float, float]
) -> None:
    lap = bowed_lap(720, 360, **bows)
    heavy = Rubbing(load_n=400, stroke_mm=100, heading_deg=heading)
    found = strokes(np.zeros(len(CELLS)), 6000, heavy, lap)
    np.testing.assert_allclose(
        off_plane(found.height_um), off_plane(form(*becomes)), atol=0.15
    )


def test_a_face_rubbed_long_reaches_the_limit_of_its_lap() -> None:
    lap = Face(length_mm=720, width_mm=360, kind="lap")
    shape = Form(
        along_bow=Bow(um=-60, u_um=1),
        across_bow=Bow(um=30, u_um=1),
        twist=Twist(um=80, u_um=1, arcmin=0),
    )
    limit = lap_limit_um(shape, lap, FACE)
    assert limit is not None
    bowed = bowed_lap(720, 360, along_bow_um=-60, across_bow_um=30, twist_um=80)
    heavy = Rubbing(load_n=400, stroke_mm=100)
    found = strokes(np.zeros(len(CELLS)), 6000, heavy, bowed)
    reached = minimum_zone(CELLS.along_mm, CELLS.across_mm, found.height_um).width_um
    # Cells have their middles half a cell inside the outline.
    assert reached == pytest.approx(limit, rel=0.12)


# How exact, and how the sheet fades.


@pytest.mark.parametrize("swing_mm", [0.0, 60.0])
def test_many_strokes_at_once_are_as_good_as_one_by_one(swing_mm: float) -> None:
    rough = form(-60, 20, 100) + np.random.default_rng(6).normal(size=len(CELLS)) * 8
    rubbing = Rubbing(load_n=40, stroke_mm=250, swing_along_mm=swing_mm)
    at_once = strokes(rough, 300, rubbing)
    height = rough
    for _ in range(300):
        height = strokes(height, 1, rubbing).height_um
    assert np.abs(at_once.height_um - height).max() < 0.02
    fine = rub(CELLS, rough, rubbing, SHEET, 300, tolerance_um=1e-5)
    assert np.abs(at_once.height_um - fine.height_um).max() < 0.02
    assert at_once.pressings < 300


def test_a_sheet_fades_and_the_rest_is_as_if_it_were_fresh() -> None:
    # Integral of last + (1 - last)·exp(-n/fading), by scipy's quadrature.
    from scipy.integrate import quad

    sheet = Sheet(
        stiffness_mpa_per_um=1e-3,
        preston_per_mpa=1e-5,
        fading_strokes=100,
        lasting_share=0.2,
    )
    area, _ = quad(lambda n: 0.2 + 0.8 * math.exp(-n / 100), 50, 250)
    assert sheet.fresh_strokes(200, used=50) == pytest.approx(area, rel=1e-9)
    start = form(-60)
    twice = rub(CELLS, start, STROKE, sheet, 50)
    twice = rub(CELLS, twice.height_um, STROKE, sheet, 200, used=50)
    once = rub(CELLS, start, STROKE, sheet, 250)
    np.testing.assert_allclose(twice.height_um, once.height_um, atol=0.02)
    assert (-once.height_um.mean()) < (-strokes(start, 250).height_um.mean())


def test_an_unfading_sheet_and_no_strokes() -> None:
    assert SHEET.fresh_strokes(70, used=1000) == 70
    start = form(-60)
    np.testing.assert_array_equal(strokes(start, 0).height_um, start)


def test_mouth_and_holes_are_no_cells() -> None:
    face = Face(length_mm=240, width_mm=60, mouth=Mouth(from_mm=80, to_mm=88))
    assert len(cells_of(face, 60, 20)) == 60 * 20 - 2 * 20


def test_strokes_across_the_face_move_it_across() -> None:
    lap = LapSurface(length_mm=400, width_mm=100)
    across = Rubbing(load_n=40, stroke_mm=80, across=True)
    bears = moments_of(CELLS, across, lap).bears
    assert bears is not None
    rows = bears.reshape(16, 30, 10)
    assert rows[:, :, 5].all()
    assert not rows[0, :, 9].all() or not rows[-1, :, 9].all()
    assert (rows == rows[:, :1, :]).all()


# What cannot be.


def test_a_face_that_tips_over_the_end_of_the_lap_is_refused() -> None:
    lap = LapSurface(length_mm=250, width_mm=200)
    long = Rubbing(load_n=40, stroke_mm=400)
    with pytest.raises(BadInput, match="tips over the end of the lap"):
        strokes(np.zeros(len(CELLS)), 10, long, lap)


@pytest.mark.parametrize(
    ("rubbing", "sentence"),
    [
        ({"load_n": 0.0}, "'load_n' must be more than 0"),
        ({"stroke_mm": float("nan")}, "'stroke_mm' must be more than 0"),
        ({"sub_positions": 0}, "'sub_positions' must be 1 or more"),
        ({"hand_across_mm": 31.0}, "beside the face"),
        ({"swing_along_mm": 130.0}, "beside the face"),
    ],
)
def test_a_stroke_that_nobody_can_make_is_refused(
    rubbing: dict[str, float], sentence: str
) -> None:
    given_: dict[str, float] = {"load_n": 40.0, "stroke_mm": 250.0, **rubbing}
    with pytest.raises(BadInput, match=sentence):
        moments_of(CELLS, Rubbing(**given_), None)


@pytest.mark.parametrize(
    ("sheet", "sentence"),
    [
        ({"preston_per_mpa": 0.0}, "'preston_per_mpa' must be more than 0"),
        ({"fading_strokes": 0.0}, "'fading_strokes' must be more than 0"),
        ({"lasting_share": 1.5}, "'lasting_share' must be 0 to 1"),
    ],
)
def test_a_sheet_that_is_none_is_refused(
    sheet: dict[str, float], sentence: str
) -> None:
    given_ = {"stiffness_mpa_per_um": 1e-3, "preston_per_mpa": 1e-5, **sheet}
    with pytest.raises(BadInput, match=sentence):
        Sheet(**given_)


def test_a_lap_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="2 × 2"):
        LapSurface(length_mm=100, width_mm=100, height_um=np.zeros((1, 5)))
    with pytest.raises(ValueError, match="more than 0 mm"):
        LapSurface(length_mm=0, width_mm=100)


def test_a_lap_is_interpolated_between_its_places() -> None:
    # Bilinear interpolation as scipy has it.
    from scipy.interpolate import RegularGridInterpolator

    rng = np.random.default_rng(8)
    grid = rng.normal(size=(4, 3))
    lap = LapSurface(length_mm=300, width_mm=100, height_um=grid)
    places = rng.uniform([0, 0], [300, 100], size=(50, 2))
    axes = (np.linspace(0, 300, 4), np.linspace(0, 100, 3))
    np.testing.assert_allclose(
        lap.at(places[:, 0], places[:, 1]), RegularGridInterpolator(axes, grid)(places)
    )
    np.testing.assert_array_equal(
        lap.at(np.array([-5.0, 305.0]), np.array([0.0, 100.0])),
        [grid[0, 0], grid[-1, -1]],
    )
