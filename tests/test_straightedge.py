"""Gaps under an edge: each lies on two high points or two leaves, as it fell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.answer import Answer, answer
from lapping.methods.combine import combine
from lapping.methods.network import Network, adjust
from lapping.methods.straightedge import take_edges
from lapping.methods.take import take_each
from lapping.methods.turning import what_turning_tells
from lapping.planes import least_squares
from lapping.readings import NO_LIGHT_UM, ReadingSet
from tests.made_lines import (
    SQUARE,
    Line,
    along_line,
    edge_set,
    gaps_under,
    usual_lines,
)
from tests.made_readings import FACE, Shape, form_shape

Array = NDArray[np.float64]
FACE_SHAPE = form_shape(along_bow=-60, across_bow=8, twist=50)


def solved(*sets: ReadingSet) -> Network:
    taken = combine(FACE, take_each(sets))
    return adjust(FACE, taken.observations)


def off_shape(network: Network, shape: Shape) -> Array:
    """Give the adjusted heights less the true ones, both about their own plane."""
    heights = network.heights
    places = heights.along_mm, heights.across_mm
    level = least_squares(*places, shape(*places)).residual_um
    return heights.height_um - level


def same(one: Answer, other: Answer, rel: float = 1e-6) -> None:
    """Hold two answers to the same figures."""
    assert one.zone is not None
    assert other.zone is not None
    assert one.likely.likely_um is not None
    for a, b in (
        (one.zone.width_um, other.zone.width_um),
        (one.likely.likely_um, other.likely.likely_um),
        (one.likely.interval_um, other.likely.interval_um),
        (one.probability, other.probability),
    ):
        assert b == pytest.approx(a, rel=rel, abs=1e-6)
    np.testing.assert_allclose(
        one.surface.mean_um - one.surface.mean_um.mean(),
        other.surface.mean_um - other.surface.mean_um.mean(),
        atol=1e-3,
    )


# --- A hollow worked by hand


def test_gaps_over_a_circular_hollow() -> None:
    """By geometry the gap at u from the end of a chord L on a radius R is u(L-u)/(2R),
    at most L²/(8R): 80 µm over 250 mm on 97.65625 m."""
    length_mm, radius_mm = 250.0, 97_656.25
    assert length_mm**2 / (8 * radius_mm) * 1000 == pytest.approx(80.0)
    rows = []
    for line in usual_lines():
        straight_across = line[0] in ("toe", "middle", "heel")
        for u, c in along_line(line):
            gap = u * (length_mm - u) / (2 * radius_mm) * 1000
            rows.append((line[0], u, c, 0.0 if straight_across else gap))
    taken = take_edges(edge_set(rows))
    np.testing.assert_array_equal(taken.observations.value_um, [-r[3] for r in rows])
    network = adjust(FACE, taken.observations)
    np.testing.assert_allclose(network.residual_um, 0.0, atol=1e-9)
    np.testing.assert_allclose(
        off_shape(network, form_shape(along_bow=-80)), 0.0, atol=1e-9
    )
    found = answer([edge_set(rows, repeatability_um=0.5)])
    assert found.zone is not None
    assert found.zone.width_um == pytest.approx(80.0)
    assert found.form.along_bow is not None
    assert found.form.along_bow.shape == "hollow"
    assert found.form.along_bow.um == pytest.approx(-80, abs=2)
    assert found.form.twist is not None
    assert abs(found.form.twist.um) < 2


def test_the_largest_gap_is_the_lowest_place() -> None:
    rows = gaps_under(FACE_SHAPE, usual_lines())
    network = solved(edge_set(rows))
    largest = max((r for r in rows if r[0] == "left"), key=lambda r: r[3])
    on = (network.heights.across_mm == 0) & (network.heights.along_mm == largest[1])
    left = network.heights.across_mm == 0
    chord = np.polyfit(
        network.heights.along_mm[left][[0, -1]],
        network.heights.height_um[left][[0, -1]],
        1,
    )
    sag = network.heights.height_um - np.polyval(chord, network.heights.along_mm)
    assert sag[on][0] == min(sag[left])


# --- How the edge lies


def test_an_edge_on_two_leaves_says_what_it_says_on_two_high_points() -> None:
    """Over a crown the edge rocks on one high point, so it stands on leaves; the
    answer is the same, however high and uneven they are."""
    for shape in (FACE_SHAPE, form_shape(along_bow=40, across_bow=5, twist=-30)):
        resting = edge_set(gaps_under(shape, usual_lines()), repeatability_um=2.0)
        standing = edge_set(
            gaps_under(shape, usual_lines(), seed=5),
            repeatability_um=2.0,
            stands_on_um=500.0,
        )
        for one in (resting, standing):
            np.testing.assert_allclose(off_shape(solved(one), shape), 0.0, atol=1e-9)
        same(answer([resting]), answer([standing]))


def test_where_it_rests_the_gap_is_nothing() -> None:
    for line in usual_lines():
        gaps = np.array([g for *_, g in gaps_under(FACE_SHAPE, [line])])
        assert gaps.min() == pytest.approx(0.0, abs=1e-9)
        assert np.sum(gaps < 1e-9) >= 2


def test_an_edge_that_rocked_is_two_seatings() -> None:
    """On a crown it lies on the middle and one half, and then on the other half."""
    shape = form_shape(along_bow=30, across_bow=4, twist=20)
    others = [line for line in usual_lines() if line[0] != "centre"]
    rows: list[tuple[str, float, float, float, str]] = [
        (*row, "1") for row in gaps_under(shape, others)
    ]
    centre = along_line(("centre", (0.0, 30.0), (250.0, 30.0), 5))
    height = np.array([float(shape(np.array(a), np.array(c))) for a, c in centre])
    for seat, tilt in (("1", 12.0), ("2", -12.0)):
        edge = tilt * np.linspace(-1, 1, 5)
        gap = edge - height
        rows += [
            ("centre", a, c, float(g - gap.min()), seat)
            for (a, c), g in zip(centre, gap, strict=True)
        ]
    rocked = take_edges(edge_set(rows))
    one_seat = take_edges(edge_set([(*row[:4], "1") for row in rows]))
    assert (
        rocked.observations.unknown_u.size == one_seat.observations.unknown_u.size + 2
    )
    network = adjust(FACE, rocked.observations)
    np.testing.assert_allclose(network.residual_um, 0.0, atol=1e-9)
    np.testing.assert_allclose(off_shape(network, shape), 0.0, atol=1e-9)
    # Taken for one seating, the two would contradict each other.
    assert np.abs(adjust(FACE, one_seat.observations).residual_um).max() > 5


def test_lines_are_told_apart_by_their_names_alone() -> None:
    """Seat 1 of one line is no seating of another, and the order of rows is nothing."""
    rows = gaps_under(FACE_SHAPE, usual_lines(), seed=2)
    shuffled = [rows[i] for i in np.random.default_rng(0).permutation(len(rows))]
    for one in (rows, shuffled):
        network = solved(edge_set(one))
        np.testing.assert_allclose(off_shape(network, FACE_SHAPE), 0.0, atol=1e-9)


# --- Gaps as leaves find them


def leaves(gap: float, step: float) -> tuple[float, float]:
    goes = float(np.floor(gap / step) * step)
    return goes, goes + step


def test_fine_leaves_say_what_measured_gaps_say() -> None:
    rows = gaps_under(FACE_SHAPE, usual_lines())
    measured = answer([edge_set(rows, repeatability_um=0.5)])
    fine = [(*row[:3], leaves(row[3], 1.0)) for row in rows]
    found = answer([edge_set(fine, leaf_tolerance_um=0.1)])
    for one, other in (
        (measured.form.twist, found.form.twist),
        (measured.form.along_bow, found.form.along_bow),
        (measured.form.across_bow, found.form.across_bow),
    ):
        assert one is not None
        assert other is not None
        assert other.um == pytest.approx(one.um, abs=2.0)
    assert found.zone is not None
    assert measured.zone is not None
    assert found.zone.width_um == pytest.approx(measured.zone.width_um, abs=2.0)


def test_leaves_bound_the_height_from_both_sides() -> None:
    """A leaf that goes says at most so high, one that stops says at least; a reading
    in steps f has f/sqrt(12) of its own (rectangular)."""
    rows = [(*row[:3], leaves(row[3], 20.0)) for row in gaps_under(
        FACE_SHAPE, usual_lines())]  # fmt: skip
    taken = take_edges(edge_set(rows, leaf_tolerance_um=3.0))
    obs = taken.observations
    gaps = np.array([g for *_, g in gaps_under(FACE_SHAPE, usual_lines())])
    assert (obs.low_um <= -gaps).all()
    assert (-gaps <= obs.high_um).all()
    np.testing.assert_allclose(obs.high_um - obs.low_um, 20.0)
    np.testing.assert_allclose(obs.value_um, (obs.high_um + obs.low_um) / 2)
    np.testing.assert_allclose(obs.u_um, 3.0 / 3**0.5)
    # In the network they weigh as their middles with both doubts.
    one = adjust(FACE, replace(obs, u_um=np.zeros(obs.u_um.size)))
    plain = replace(
        obs,
        low_um=obs.value_um,
        high_um=obs.value_um,
        u_um=np.full(obs.u_um.size, 20 / 12**0.5),
    )
    np.testing.assert_allclose(one.heights.u_um, adjust(FACE, plain).heights.u_um)


def test_the_truth_lies_within_what_coarse_leaves_leave() -> None:
    rows = [(*row[:3], leaves(row[3], 25.0)) for row in gaps_under(
        FACE_SHAPE, usual_lines(), seed=8)]  # fmt: skip
    found = answer([edge_set(rows)])
    for form, true in (
        (found.form.along_bow, -60),
        (found.form.across_bow, 8),
        (found.form.twist, 50),
    ):
        assert form is not None
        assert abs(form.um - true) < 2.5 * form.u_um


def test_no_light_is_an_interval_from_nothing_to_what_light_needs() -> None:
    """Where no light shows the gap is under 5 µm, an assumption that can be set."""
    rows = gaps_under(form_shape(), usual_lines())
    for limit in (NO_LIGHT_UM, 2.0):
        dark = [(*row[:3], (0.0, limit)) for row in rows]
        obs = take_edges(edge_set(dark)).observations
        np.testing.assert_allclose(obs.low_um, -limit)
        np.testing.assert_allclose(obs.high_um, 0.0)
    found = answer([edge_set([(*row[:3], (0.0, NO_LIGHT_UM)) for row in rows])])
    assert found.verdict == "flat"
    assert found.likely.interval_um[0] == 0.0
    assert found.likely.likely_um is not None
    assert found.likely.likely_um < 4 * NO_LIGHT_UM


def test_what_is_only_known_to_go_in_bounds_one_side() -> None:
    rows = [
        (*row[:3], (float(np.floor(row[3] / 5) * 5), None))
        for row in gaps_under(FACE_SHAPE, usual_lines())
    ]
    obs = take_edges(edge_set(rows)).observations
    assert np.isneginf(obs.low_um).all()
    assert np.isfinite(obs.high_um).all()
    found = answer([edge_set(rows)])
    assert found.unseen == ("along-bow", "across-bow", "twist")
    assert found.likely.interval_um == (0.0, None)
    assert found.heights is None


# --- The edge's own shape


def both_ways(
    bow: float, snake: float, lines: list[Line] | None = None, **header: float
) -> tuple[ReadingSet, ReadingSet]:
    """Read all lines, and all again with the edge turned end for end."""
    lines = lines or usual_lines()
    return (
        edge_set(gaps_under(FACE_SHAPE, lines, bow_um=bow, snake_um=snake), **header),
        edge_set(
            gaps_under(FACE_SHAPE, lines, bow_um=bow, snake_um=snake, turned=True),
            **{**header, "turned": "half"},
        ),
    )


def test_turned_end_for_end_an_edge_tells_its_s_shape() -> None:
    """It changes its sign under the turn, so the two sets differ by it twice over."""
    once, again = both_ways(bow=0.0, snake=25.0)
    np.testing.assert_allclose(
        off_shape(solved(once, again), FACE_SHAPE), 0.0, atol=1e-8
    )
    assert np.abs(off_shape(solved(once), FACE_SHAPE)).max() > 3
    # And the two that are not said to be turned contradict each other.
    silent = solved(once, replace(again, turned=None))
    assert np.abs(silent.residual_um).max() > 3


def test_the_bow_of_an_edge_stays_in_the_face() -> None:
    """A bow looks the same from both ends, so the face seems hollow by as much."""
    once, again = both_ways(bow=30.0, snake=25.0)
    left = off_shape(solved(once, again), FACE_SHAPE)
    heights = solved(once, again).heights
    a = 2 * heights.along_mm / 250 - 1
    c = (2 * heights.across_mm / 60 - 1) * 60 / 250
    dome = 30.0 * (a**2 + c**2)
    plane = least_squares(heights.along_mm, heights.across_mm, dome).residual_um
    np.testing.assert_allclose(left, plane, atol=1e-8)
    told = what_turning_tells([once, again])
    assert told is not None
    assert told.separated == ("S-shape of the edge",)
    assert told.confounded == ("bow of the edge",)


def test_turned_lines_alone_separate_nothing() -> None:
    once, again = both_ways(bow=0.0, snake=0.0)
    told = what_turning_tells([again])
    assert told is not None
    assert told.separated == ()
    assert told.confounded == ("bow of the edge",)
    assert what_turning_tells([once]) is None


def test_a_turned_pair_is_one_edge_with_one_bow() -> None:
    """Stated to 40 µm, the bow of the edge is the same doubt in both sets."""
    once, again = both_ways(0.0, 0.0, repeatability_um=1.0, reference_flatness_um=40.0)
    one, both = answer([once]).form.along_bow, answer([once, again]).form.along_bow
    assert one is not None
    assert both is not None
    assert both.u_um == pytest.approx(one.u_um, rel=0.15)
    assert both.um == pytest.approx(-60, abs=2 * both.u_um)


def test_a_stated_edge_doubts_the_bows_and_not_the_twist() -> None:
    """An edge may be bowed and S-shaped, but a line has no twist. A quarter of what is
    stated is the standard uncertainty of the bow, over a length of the face."""
    rows = gaps_under(FACE_SHAPE, usual_lines())
    bare, stated = (
        answer([edge_set(rows, repeatability_um=1.0, reference_flatness_um=flat)])
        for flat in (None, 60.0)
    )
    assert bare.form.along_bow is not None
    assert stated.form.along_bow is not None
    assert bare.form.across_bow is not None
    assert stated.form.across_bow is not None
    assert bare.form.twist is not None
    assert stated.form.twist is not None
    expected = np.hypot(bare.form.along_bow.u_um, 15.0)
    assert stated.form.along_bow.u_um == pytest.approx(expected, rel=0.15)
    # Only so much of the edge as lies over the width.
    across = np.hypot(bare.form.across_bow.u_um, 15.0 * (60 / 250) ** 2)
    assert stated.form.across_bow.u_um == pytest.approx(across, rel=0.5)
    assert stated.form.twist.u_um < bare.form.twist.u_um + 1.0
    low, high = stated.likely.interval_um
    assert bare.likely.interval_um[1] is not None
    assert high is not None
    assert high - low > bare.likely.interval_um[1] - bare.likely.interval_um[0]
    assert any("Relative to the straightedge" in w for w in bare.warnings)
    assert not any("Relative to the straightedge" in w for w in stated.warnings)


def test_an_edge_bent_within_its_stated_flatness_is_held() -> None:
    found = answer(
        [
            edge_set(
                gaps_under(FACE_SHAPE, usual_lines(), bow_um=15.0, snake_um=10.0),
                repeatability_um=1.0,
                reference_flatness_um=40.0,
            )
        ]
    )
    for form, true in ((found.form.along_bow, -60), (found.form.twist, 50)):
        assert form is not None
        assert abs(form.um - true) < 2 * form.u_um


# --- With lines that share no station


def test_lines_that_meet_nowhere_are_tied_by_the_face_alone() -> None:
    """A diagonal beside all other stations: twist is seen, by the smoothness of the
    face, and less surely than where it meets them."""
    tied = gaps_under(FACE_SHAPE, usual_lines((*SQUARE, "toe-left to heel-right")))
    loose = [
        *gaps_under(FACE_SHAPE, usual_lines(SQUARE)),
        *gaps_under(FACE_SHAPE, [("loose", (20.0, 4.8), (230.0, 55.2), 6)]),
    ]
    both = [answer([edge_set(rows, repeatability_um=1.0)]) for rows in (tied, loose)]
    u = []
    for found in both:
        assert found.unseen == ()
        assert found.heights is not None
        assert found.form.twist is not None
        assert found.form.twist.um == pytest.approx(50, abs=3 * found.form.twist.u_um)
        u.append(found.form.twist.u_um)
    assert u[1] > u[0]
