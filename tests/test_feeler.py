"""Leaves: what goes and stops prove, seatings, stacks, and the guaranteed bracket."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lapping.answer import answer
from lapping.errors import TooFewReadings
from lapping.face import Face, Mouth
from lapping.methods.feeler import sure_bounds, take_feeler
from lapping.observations import plane_terms
from lapping.surface.form import unseen_shapes
from lapping.surface.posterior import infer_surface
from tests.made_readings import (
    FACE,
    Shape,
    feeler_set,
    form_shape,
    grid_places,
    leaves_under,
)

MOUTHED = replace(FACE, mouth=Mouth(from_mm=80.0, to_mm=86.0))
LEAVES = (30.0, 40, 50, 60, 70, 80, 100, 150, 200, 250, 300, 400)
RIM = [
    *[(a, c) for c in (0.0, 60.0) for a in (0.0, 62.5, 125.0, 187.5, 250.0)],
    (0.0, 30.0),
    (250.0, 30.0),
]


def test_a_leaf_that_goes_and_one_that_stops_bound_the_rim() -> None:
    obs = take_feeler(
        feeler_set([(0, 0, 50, 80), (0, 60, 0, 40), (250, 30, 100, 150)])
    ).observations
    np.testing.assert_array_equal(obs.high_um, [-50, 0, -100])
    np.testing.assert_array_equal(obs.low_um, [-80, -40, -150])
    assert obs.is_interval.all()


def test_an_interior_stop_gives_no_lower_bound() -> None:
    """The leaf may have stopped anywhere on its way in."""
    obs = take_feeler(
        feeler_set(
            [(0, 0, 50, 80), (0, 60, 50, 80), (250, 0, 50, 80), (125, 30, 50, 80)]
        )
    ).observations
    np.testing.assert_array_equal(obs.low_um, [-80, -80, -80, -np.inf])
    np.testing.assert_array_equal(obs.high_um, [-50] * 4)


@pytest.mark.parametrize(
    ("along", "bounded"), [(80.0, True), (76.0, True), (89.0, True), (70.0, False)]
)
def test_the_mouth_edge_is_a_rim(along: float, bounded: bool) -> None:
    rows = [(0, 0, 50, 80), (0, 60, 50, 80), (250, 0, 50, 80), (along, 30, 50, 80)]
    with_mouth = take_feeler(feeler_set(rows, face=MOUTHED)).observations
    assert np.isfinite(with_mouth.low_um[3]) == bounded
    without = take_feeler(feeler_set(rows)).observations
    assert without.low_um[3] == -np.inf


def test_nothing_stopped_gives_no_lower_bound() -> None:
    obs = take_feeler(
        feeler_set([(0, 0, 400, None), (0, 60, 50, 80), (250, 0, 50, 80)])
    ).observations
    assert obs.low_um[0] == -np.inf
    assert obs.high_um[0] == -400


def test_tolerances_of_a_stack_add() -> None:
    """Rectangular, limits ±5 µm a leaf (assumed): 5/sqrt(3) each, in quadrature."""
    obs = take_feeler(
        feeler_set(
            [
                (0, 0, 50, 80),
                (0, 60, 150, 180, "1", (2, 3)),
                (250, 0, 0, 40),
            ]
        )
    ).observations
    one = 5 / 3**0.5
    np.testing.assert_allclose(obs.u_um, [one, one * 3**0.5, one], rtol=1e-12)


def test_sure_bounds_are_widened_by_every_leaf_and_by_the_plate() -> None:
    rows = [
        (0, 0, 50, 80, "1", (1, 1)),
        (0, 60, 150, 180, "1", (2, 3)),
        (250, 0, 0, 40, "1", (0, 1)),
    ]
    bounds = sure_bounds(
        feeler_set(rows, leaf_tolerance_um=4.0, reference_flatness_um=10.0)
    )
    assert bounds is not None
    np.testing.assert_array_equal(bounds.high_um, [-50 + 14, -150 + 18, 10])
    np.testing.assert_array_equal(bounds.low_um, [-80 - 14, -180 - 22, -40 - 14])


def test_repeats_narrow_the_sure_bounds_to_what_they_share() -> None:
    rows = [(0, 0, 50, 80), (0, 0, 60, 100), (0, 60, 50, 80), (250, 0, 50, 80)]
    bounds = sure_bounds(feeler_set(rows, leaf_tolerance_um=0.0))
    assert bounds is not None
    assert (bounds.low_um[0], bounds.high_um[0]) == (-80, -60)
    assert bounds.along_mm.size == 3


def test_repeats_that_contradict_each_other_are_refused() -> None:
    rows = [(0, 0, 50, 60), (0, 0, 150, 200), (0, 60, 50, 80), (250, 0, 50, 80)]
    found = feeler_set(rows)
    with pytest.raises(TooFewReadings, match="0 mm along, 0 mm across contradict"):
        sure_bounds(found)
    with pytest.raises(TooFewReadings, match="read that spot again"):
        answer([found])


def gap_of(twist: float, lift: float = 100.0, tilt: float = 0.0) -> Shape:
    form = form_shape(twist=twist)
    return lambda a, c: lift + tilt * a - form(a, c)


def test_a_tilted_second_seating_is_brought_to_the_first() -> None:
    """Leaves of 1 µm steps; the second seating is lifted by 30 µm and tilted."""
    fine = tuple(float(i) for i in range(1, 400))
    first = leaves_under(RIM[:8], gap_of(120.0), fine)
    again = [RIM[0], RIM[3], RIM[7], *RIM[8:]]
    second = leaves_under(again, gap_of(120.0, 130.0, 0.2), fine, seat="2")
    taken = take_feeler(feeler_set([*first, *second], leaf_tolerance_um=0.5))
    heights = taken.heights
    assert len(heights) == len(RIM)
    truth = -100 + form_shape(twist=120.0)(heights.along_mm, heights.across_mm)
    # The middle of a 1 µm interval is within half of it, and three such tie the plane.
    assert np.abs(heights.height_um - truth).max() < 2.5
    found = answer([feeler_set([*first, *second], leaf_tolerance_um=0.5)])
    assert found.form.twist is not None
    assert abs(found.form.twist.um - 120.0) < max(3 * found.form.twist.u_um, 3.0)
    assert found.bracket is None  # seatings compare only by calculation


@pytest.mark.parametrize(
    "shared", [[(0, 0), (0, 60)], [(0, 0), (125, 0), (250, 0)], [(0, 0)]]
)
def test_seatings_that_share_too_little_are_refused(
    shared: list[tuple[float, float]],
) -> None:
    first = [(a, c, 50, 80, "1") for a, c in RIM[:5]] + [
        (0, 60, 50, 80, "1"),
        (0, 30, 50, 80, "1"),
    ]
    second = [(a, c, 50, 80, "2") for a, c in [*shared, (187.5, 60.0), (250.0, 60.0)]]
    found = feeler_set([*first, *second])
    with pytest.raises(TooFewReadings, match="share fewer than three spots"):
        take_feeler(found)


def test_the_surface_stays_within_what_the_leaves_prove() -> None:
    """Exact leaves, a smooth face: mean heights inside the intervals, plane apart."""
    rows = leaves_under(RIM, gap_of(160.0, 150.0), LEAVES)
    taken = take_feeler(feeler_set(rows, leaf_tolerance_um=1.0))
    obs = taken.observations
    surface = infer_surface(FACE, obs)
    mean = surface.mean_um[: surface.places]
    plane = plane_terms(FACE, obs.along_mm, obs.across_mm)
    middle = (obs.low_um + obs.high_um) / 2
    shift = plane @ np.linalg.lstsq(plane, middle - mean, rcond=None)[0]
    widest = float((obs.high_um - obs.low_um).max())
    assert (mean + shift > obs.low_um - 0.25 * widest).all()
    assert (mean + shift < obs.high_um + 0.25 * widest).all()


def test_the_bracket_holds_the_truth() -> None:
    rows = leaves_under(RIM, gap_of(160.0, 150.0), LEAVES)
    found = answer([feeler_set(rows, leaf_tolerance_um=0.0)])
    assert found.bracket is not None
    assert found.bracket.upper_um is not None
    # Pure twist of 160 has a minimum zone of 80 over the corners (A2).
    assert found.bracket.lower_um <= 80.0 <= found.bracket.upper_um
    low, high = found.likely.interval_um
    assert high is not None
    assert low <= 80.0 <= high


def test_two_edges_alone_do_not_show_a_bow_across() -> None:
    """Nor does a leaf that stopped somewhere on its way between them."""
    edges = [(a, c, 50.0, 80.0) for c in (0.0, 60.0) for a in (0, 62, 125, 188, 250)]
    inside = [(a, 30.0, 50.0, 80.0) for a in (62, 125, 188)]
    ends = [(a, 30.0, 50.0, 80.0) for a in (0, 250)]
    for rows, unseen in (
        (edges, ("across-bow",)),
        (edges + inside, ("across-bow",)),
        (edges + ends, ()),
    ):
        obs = take_feeler(feeler_set(rows)).observations
        assert unseen_shapes(FACE, obs) == unseen


def test_no_leaf_stopping_anywhere_still_gives_an_answer() -> None:
    """All that is known is that the gap is at least so much: nothing is too flat."""
    rows = [(a, c, 50.0, None) for a, c in RIM]
    for tolerance in (5.0, 0.0):
        found = answer([feeler_set(rows, leaf_tolerance_um=tolerance)])
        assert found.unseen == ("along-bow", "across-bow", "twist")
        assert found.likely.interval_um == (0.0, None)
        assert (found.heights, found.zone, found.least_squares) == (None, None, None)
        assert (found.verdict, found.probability) == ("cannot tell", None)
        assert found.bracket is not None
        assert found.bracket.upper_um is None


def test_exact_leaves_are_weighed_like_any_others() -> None:
    """A tolerance of 0 is not infinite precision."""
    rows = leaves_under(grid_places(7, 3, edge_mm=0.0), gap_of(160.0, 150.0), LEAVES)
    taken = take_feeler(feeler_set(rows, leaf_tolerance_um=0.0))
    assert (taken.observations.u_um > 0).all()
    near = answer([feeler_set(rows, leaf_tolerance_um=0.1)]).form.twist
    zero = answer([feeler_set(rows, leaf_tolerance_um=0.0)]).form.twist
    assert near is not None
    assert zero is not None
    assert abs(near.um - zero.um) < 0.5 * near.u_um


def test_leaves_do_not_see_the_middle() -> None:
    rows = leaves_under(RIM, gap_of(160.0, 150.0), LEAVES)
    found = answer([feeler_set(rows)])
    assert any(s.startswith("the middle") for s in found.not_seen)


def test_a_narrow_face_is_all_rim() -> None:
    face = Face(length_mm=200.0, width_mm=9.0)
    obs = take_feeler(
        feeler_set([(0, 0, 5, 8), (100, 4.5, 5, 8), (200, 9, 5, 8)], face=face)
    ).observations
    assert np.isfinite(obs.low_um).all()
