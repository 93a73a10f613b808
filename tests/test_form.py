"""Bows and twist: exact shapes come back, words fit, and what is not seen is named."""

from __future__ import annotations

import math

import numpy as np
import pytest

from lapping.answer import Answer, answer
from lapping.face import Face
from lapping.methods.combine import combine
from lapping.methods.dial import take_dial
from lapping.surface.form import ARCMIN_PER_RADIAN, Bow, Form, Twist, unseen_shapes
from lapping.words.figures import high_corners
from tests.made_readings import (
    FACE,
    Array,
    Shape,
    dial_set,
    form_shape,
    grid_places,
    read_shape,
)

TINY_UM = 0.01
CORNERS = [(0.0, 0.0), (0.0, 60.0), (250.0, 60.0), (250.0, 0.0)]


def answered(
    shape: Shape, n_along: int = 5, n_across: int = 5, face: Face = FACE
) -> Answer:
    """Answer for a face read to 0.01 µm on a grid from rim to rim."""
    places = grid_places(n_along, n_across, face, edge_mm=0.0)
    rows = read_shape(places, shape)
    return answer([dial_set(rows, face=face, step_um=TINY_UM)])


def whole(form: Form) -> tuple[Bow, Bow, Twist]:
    """Give all three, which every one of these readings sees."""
    assert form.along_bow is not None
    assert form.across_bow is not None
    assert form.twist is not None
    return form.along_bow, form.across_bow, form.twist


def close(found: Bow | Twist, um: float, size_um: float) -> bool:
    """Say whether a figure is right to its stated doubt, and to 2 % of the shape.

    The doubt is not the gauge's alone: between the places a face may do as it likes.
    """
    return abs(found.um - um) <= min(3 * found.u_um, 0.02 * size_um)


def test_a_plane_has_no_form() -> None:
    """check case A1: any plane, all parameters 0."""
    form = answered(lambda a, c: 100 + 0.4 * a - 2 * c).form
    for figure in whole(form):
        assert close(figure, 0.0, 1.0)


@pytest.mark.parametrize("t", [10.0, -25.0])
@pytest.mark.parametrize("n", [3, 5])
def test_pure_twist_is_four_times_the_corner_and_no_bow(t: float, n: int) -> None:
    """A2 and A3: +t, -t, +t, -t at the corners; the fourth stands 4t off the plane of
    the other three; a saddle on a grid gives zero bow both ways."""
    found = answered(form_shape(twist=4 * t), n, n)
    along, across, twist = whole(found.form)
    assert close(twist, 4 * t, 4 * abs(t))
    assert close(along, 0.0, 4 * abs(t))
    assert close(across, 0.0, 4 * abs(t))
    # A3: FLTt = 2t, both by least squares and as minimum zone.
    assert found.least_squares.total_um == pytest.approx(2 * abs(t), abs=1e-6)
    assert found.zone.width_um == pytest.approx(2 * abs(t), abs=1e-6)
    # FLTq of the saddle: t (m + 1)/(3m), n = 2m + 1.
    m = (n - 1) // 2
    assert found.least_squares.rms_um == pytest.approx(
        abs(t) * (m + 1) / (3 * m), abs=1e-6
    )


def test_twist_by_hand_from_three_corners() -> None:
    """The definition itself, without any fit: toe-left from the other three."""
    z = dict(zip(CORNERS, (v for *_, v in read_shape(CORNERS, _bent)), strict=True))
    other = z[0.0, 60.0] + z[250.0, 0.0] - z[250.0, 60.0]
    _, _, twist = whole(answered(_bent).form)
    assert z[0.0, 0.0] - other == pytest.approx(52.0)
    assert close(twist, 52.0, 52.0)


def _bent(along: Array, across: Array) -> Array:
    return (
        form_shape(along_bow=-30, across_bow=4, twist=52)(along, across) + 0.3 * along
    )


def test_arcmin_is_the_turn_of_one_end_against_the_other() -> None:
    """A2: relative twist 2t/b radians over the half width b: 4t over the width."""
    _, _, twist = whole(answered(form_shape(twist=40.0)).form)
    exact = math.degrees(twist.um * 1e-3 / FACE.width_mm) * 60
    assert twist.arcmin == pytest.approx(exact, rel=1e-6)
    assert pytest.approx(math.degrees(1) * 60, abs=1e-3) == ARCMIN_PER_RADIAN
    assert twist.arcmin == pytest.approx(2.29, abs=0.01)  # 40 µm over 60 mm


def test_the_high_corners_are_named() -> None:
    for um, names in (
        (40.0, ("toe-left", "heel-right")),
        (-40.0, ("toe-right", "heel-left")),
    ):
        _, _, twist = whole(answered(form_shape(twist=um)).form)
        assert high_corners(FACE, twist) == names
    unsure = Twist(um=10.0, u_um=6.0, arcmin=0.5)
    assert high_corners(FACE, unsure) == ()


@pytest.mark.parametrize("h", [12.0, -40.0])
def test_a_length_bow_is_its_sagitta(h: float) -> None:
    """A7: a cylinder z = h(1 - (x/s)^2) has FLTt = h over any rows."""
    found = answered(form_shape(along_bow=h))
    along, across, twist = whole(found.form)
    assert close(along, h, abs(h))
    assert close(across, 0.0, abs(h))
    assert close(twist, 0.0, abs(h))
    assert along.shape == ("crown" if h > 0 else "hollow")
    assert found.zone.width_um == pytest.approx(abs(h), abs=1e-6)


def test_a_cross_bow_is_its_sagitta() -> None:
    along, across, twist = whole(answered(form_shape(across_bow=9.0)).form)
    assert close(across, 9.0, 9.0)
    assert close(along, 0.0, 9.0)
    assert close(twist, 0.0, 9.0)


def test_a_paraboloid_has_both_bows() -> None:
    """A6 on a rectangle: FLTt = k (s_x^2 + s_y^2), here 20 + 5."""
    found = answered(form_shape(along_bow=-20.0, across_bow=-5.0))
    along, across, _ = whole(found.form)
    assert close(along, -20.0, 20.0)
    assert close(across, -5.0, 20.0)
    assert found.zone.width_um == pytest.approx(25.0, abs=1e-6)


def test_a_spherical_cap_has_the_sagitta_of_its_radius() -> None:
    """A8: R = 1000 m, 150 x 200 mm, so half the diagonal is 125 mm: 7.8125 µm."""
    face = Face(length_mm=200.0, width_mm=150.0)
    radius = 1e6  # mm

    def cap(along: Array, across: Array) -> Array:
        d2 = (along - 100.0) ** 2 + (across - 75.0) ** 2
        # R - sqrt(R^2 - d^2) without cancelling, in µm
        return -1e3 * d2 / (radius + np.sqrt(radius**2 - d2))

    found = answered(cap, face=face)
    assert found.zone.width_um == pytest.approx(7.8125, abs=1e-6)
    along, across, twist = whole(found.form)
    assert close(along, 1e3 * 100**2 / (2 * radius), 7.8125)
    assert close(across, 1e3 * 75**2 / (2 * radius), 7.8125)
    assert close(twist, 0.0, 7.8125)


def test_straight_is_said_below_twice_the_doubt() -> None:
    for um, shape in ((5.0, "crown"), (-5.0, "hollow"), (3.9, "straight")):
        assert Bow(um=um, u_um=2.0).shape == shape


def unseen(places: list[tuple[float, float]]) -> tuple[str, ...]:
    rows = [(a, c, 0.0) for a, c in places]
    return unseen_shapes(FACE, take_dial(dial_set(rows)).observations)


ROW = (10.0, 60.0, 125.0, 190.0, 240.0)


@pytest.mark.parametrize(
    ("places", "names"),
    [
        pytest.param(grid_places(3, 3), (), id="grid"),
        pytest.param(grid_places(5, 2), ("across-bow",), id="two rows"),
        pytest.param(grid_places(2, 5), ("along-bow",), id="two cross rows"),
        pytest.param(CORNERS, ("along-bow", "across-bow"), id="four corners"),
        # The fifth sees the sum of both bows and neither by itself.
        pytest.param([*CORNERS, (125.0, 30.0)], ("along-bow", "across-bow"), id="five"),
        pytest.param(
            CORNERS[:3], ("along-bow", "across-bow", "twist"), id="three corners"
        ),
        # Along the middle and across the middle: a saddle is straight on both.
        pytest.param(
            [*((a, 30.0) for a in ROW), *((125.0, c) for c in (5.0, 15.0, 45.0, 55.0))],
            ("twist",),
            id="plus",
        ),
        # Both diagonals see twist and the sum of the bows; their difference is hidden.
        pytest.param(
            [
                *((a, a * 60 / 250) for a in ROW),
                *((a, 60 - a * 60 / 250) for a in ROW if a != 125.0),
            ],
            ("along-bow", "across-bow"),
            id="both diagonals",
        ),
        # On one diagonal a^2, c^2 and ac are the same parabola: one reading off it
        # makes a plane, and none of the three can be told apart.
        pytest.param(
            [*((a, a * 60 / 250) for a in ROW), (0.0, 60.0)],
            ("along-bow", "across-bow", "twist"),
            id="one diagonal",
        ),
    ],
)
def test_unseen_shapes_are_named(
    places: list[tuple[float, float]], names: tuple[str, ...]
) -> None:
    assert unseen(places) == names


@pytest.mark.parametrize("places", [grid_places(5, 2), CORNERS])
def test_an_unseen_bow_is_no_figure(places: list[tuple[float, float]]) -> None:
    form = answer([dial_set(read_shape(places, form_shape(twist=40.0)))]).form
    assert form.across_bow is None
    assert form.twist is not None
    assert abs(form.twist.um - 40.0) <= 3 * form.twist.u_um


def test_unseen_is_a_matter_of_places_not_of_heights() -> None:
    rng = np.random.default_rng(5)
    for _ in range(5):
        rows = [(a, c, float(rng.normal(0, 100))) for a, c in grid_places(5, 2)]
        obs = take_dial(dial_set(rows)).observations
        assert unseen_shapes(FACE, obs) == ("across-bow",)


def test_two_files_without_a_spot_in_common_see_less() -> None:
    """Each half by itself on its own datum: 2 x 3 places tell a bow across only."""
    toe = dial_set([(a, c, 0.0) for c in (5, 30, 55) for a in (5.0, 100.0)])
    heel = dial_set([(a, c, 0.0) for c in (5, 30, 55) for a in (150.0, 245.0)])
    apart = combine(FACE, [take_dial(toe), take_dial(heel)]).observations
    assert unseen_shapes(FACE, apart) == ("along-bow",)
    one = dial_set(
        [(r.along_mm, r.across_mm, 0.0) for r in toe.readings + heel.readings]
    )
    assert unseen_shapes(FACE, take_dial(one).observations) == ()
