"""The minimum zone, its proof, and many of them at once."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import cos, pi, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from lapping.errors import TooFewReadings
from lapping.planes import least_squares, levelled
from lapping.zone import exchange as exchange_module
from lapping.zone import minimum_zone_many as many_module
from lapping.zone import search as zone_search
from lapping.zone.exchange import BOTTOM, STOP, TOP, Member, Reference, weigh
from lapping.zone.exchange_exact import exchange_exactly
from lapping.zone.levelled import PlainHeights, spread, zone_of
from lapping.zone.minimum_zone import MinimumZone, minimum_zone
from lapping.zone.minimum_zone_many import minimum_zone_many
from tests.test_planes import GIRTH, TALL, VOLUME, square_grid
from tests.zone_oracles import KINDS, Column, hard_set, zone_by_linear_program

OF_RANGE = 1e-9
"""Agreement with the linear program, as a share of the heights' range."""
PROVED = 1e-12
"""What the certificate may leave open, as a share of the heights' range."""


def check_proof(
    zone: MinimumZone, along: Column, across: Column, height: Column
) -> None:
    """Check the certificate from the contacts alone, as a reader of it would."""
    residual = height - zone.plane.at(along, across)
    span = float(np.ptp(height)) or 1.0
    assert abs(np.ptp(residual) - zone.width_um) <= 1e-11 * span
    assert zone.upper_bound_um == zone.width_um
    assert 0.0 <= zone.gap_um <= PROVED * span
    proved = 0.0
    balance = np.zeros(3)
    for contact in zone.contacts:
        side = 1.0 if contact.side == "high" else -1.0
        assert contact.weight > 0
        assert abs(residual[contact.place] - side * zone.width_um / 2) <= 1e-11 * span
        share = side * contact.weight
        proved += share * height[contact.place]
        balance += share * np.array((1, along[contact.place], across[contact.place]))
    assert_allclose(balance, 0.0, atol=1e-9)
    assert abs(proved - zone.lower_bound_um) <= 1e-10 * span


def zone_at(along: object, across: object, height: object) -> MinimumZone:
    columns = [np.asarray(c, dtype=np.float64) for c in (along, across, height)]
    zone = minimum_zone(*columns)
    check_proof(zone, *columns)
    return zone


def sides(zone: MinimumZone) -> str:
    """Give the contact case, the side with more places first."""
    high = sum(contact.side == "high" for contact in zone.contacts)
    low = len(zone.contacts) - high
    return f"{max(high, low)}-{min(high, low)}"


def test_triangle_rule() -> None:
    """By hand: one high place over the middle of three low ones."""
    zone = zone_at([0, 6, 0, 2], [0, 0, 6, 2], [0, 0, 0, 9])
    assert_allclose(zone.width_um, 9)
    assert sides(zone) == "3-1"
    assert {c.place: c.side for c in zone.contacts}[3] == "high"


def test_cross_rule_four_corner_twist() -> None:
    """A2, by hand: zone 2t."""
    zone = zone_at([-90, 90, 90, -90], [-30, -30, 30, 30], [7, -7, 7, -7])
    assert_allclose(zone.width_um, 14)
    assert sides(zone) == "2-2"
    assert_allclose([c.weight for c in zone.contacts], 0.5)


def test_line_rule_five_point_dome() -> None:
    """A4, by hand: zone h, midway plane at h/2, held by the centre and a diagonal."""
    zone = zone_at([-1, 1, 1, -1, 0], [-1, -1, 1, 1, 0], [0, 0, 0, 0, 10])
    assert_allclose(zone.width_um, 10)
    assert sides(zone) == "2-1"
    assert_allclose(zone.plane.at(0, 0), 5)


@pytest.mark.parametrize("n", [3, 5, 7, 9])
def test_grids_with_a_closed_form(n: int) -> None:
    """A3 saddle 2·c·s² and A6 bowl 2·k·s², by hand."""
    along, across = square_grid(n, 10.0)
    assert_allclose(zone_at(along, across, 0.04 * along * across).width_um, 8)
    assert_allclose(zone_at(along, across, 0.04 * (along**2 + across**2)).width_um, 8)


def test_other_closed_forms() -> None:
    """A5, A7, A8, A9, A10, A11, by hand."""
    cross = ([-1, 1, 1, -1, 0], [-1, -1, 1, 1, 0])
    assert_allclose(zone_at(*cross, [3, -3, 3, -3, 0]).width_um, 6)
    along, across = square_grid(5, 100.0)
    assert_allclose(zone_at(along, across, 30 * (1 - (along / 100) ** 2)).width_um, 30)
    cap = -(along**2 + across**2) / (2 * 1e6) * 1000
    assert_allclose(zone_at(along, across, cap).width_um, 10)
    samples = np.tile(np.arange(40) - 19.5, 2)
    rows = np.repeat((-1.0, 1.0), 40)
    ripple = zone_at(samples, rows, 6 * np.cos(2 * pi * samples / 8))
    assert_allclose(ripple.width_um, 12 * cos(pi / 8))
    bump = zone_at([0, 1, 3] * 2, [-1] * 3 + [1] * 3, [0, 14, 0] * 2)
    assert_allclose(bump.width_um, 14)
    step = zone_at([-2, -1, 1, 2] * 2, [-1] * 4 + [1] * 4, [0, 0, 9, 9] * 2)
    assert_allclose(step.width_um, 3)


def test_three_supports_read_twice_the_zone() -> None:
    """A12, by hand: residuals from three corners of a twist span 4t, the zone is 2t."""
    assert_allclose(
        zone_at([-1, 1, 1, -1], [-1, -1, 1, 1], [0, 0, 0, -20]).width_um, 10
    )


def test_straightness_over_a_round_hollow() -> None:
    """A13, by hand: a chord of length L on radius R leaves L²/(8R) in the middle."""
    along = np.linspace(0, 200, 41)
    height = -along * (200 - along) / (2 * 500_000) * 1000
    zone = zone_at(along, np.zeros(41), height)
    assert_allclose(zone.width_um, 200**2 / (8 * 500_000) * 1000)
    assert sides(zone) == "2-1"


WILLIAMS_X = "0 .5 1 1.5 1.9 2.5 3 3.5 4 4.5 5 5.5 6 6.6 7 7.6 8.5 9 10"
WILLIAMS_Y = "1 .9 .7 1.5 2 2.4 3.2 2 2.7 3.5 1 4 3.6 2.7 5.7 4.6 6 6.8 7.3"


def test_williams_curve() -> None:
    """D1: H. P. Williams, Model Building in Mathematical Programming, 5th ed., ex. 11.

    The line is seen in the book; the curve is from memory and computed.
    """
    x = np.array([*WILLIAMS_X.split()], dtype=float)
    y = np.array([*WILLIAMS_Y.split()], dtype=float)
    line = zone_at(x, np.zeros_like(x), y)
    assert_allclose(line.width_um, 3.45)
    assert_allclose((line.plane.along_um_per_mm, line.plane.level_um), (0.625, -0.4))
    assert line.plane.across_um_per_mm == 0.0
    curve = zone_at(x, x**2, y)
    assert_allclose(curve.width_um, 2.95)
    plane = curve.plane
    assert_allclose(
        (plane.level_um, plane.along_um_per_mm, plane.across_um_per_mm),
        (2.475, -0.625, 0.125),
    )


def test_nag_minimax_example() -> None:
    """D2: NAG E02GCF, K·e^t + L·e^-t + M; data [memory], 1.0049 2.0149 1.4822."""
    t = np.array([0, 0.2, 0.4, 0.6, 0.8])
    zone = zone_at(np.exp(t), np.exp(-t), [4.501, 4.360, 4.333, 4.418, 4.625])
    plane = zone.plane
    assert_allclose(
        (plane.along_um_per_mm, plane.across_um_per_mm, plane.level_um),
        (1.00486036, 2.01493360, 1.48224008),
        rtol=1e-8,
    )
    assert_allclose(zone.width_um / 2, 1.03403666e-3, rtol=1e-8)


def test_cherry_trees() -> None:
    """D4: data set `trees` of R [memory]; minimax fit computed."""
    columns = [np.array(text.split(), dtype=float) for text in (GIRTH, TALL, VOLUME)]
    zone = zone_at(*columns)
    plane = zone.plane
    assert_allclose(
        (plane.level_um, plane.along_um_per_mm, plane.across_um_per_mm),
        (-56.41590909, 5.05681818, 0.26477273),
        rtol=2e-8,
    )
    assert_allclose(zone.width_um, 12.42045455)


def test_nine_point_block() -> None:
    """D7, constructed: 27 by the line rule; the midway plane is 13.5 - 2x - 5y."""
    along, across = [0, 1, 2] * 3, [0] * 3 + [1] * 3 + [2] * 3
    zone = zone_at(along, across, [0, 4, 6, -5, 20, -9, -10, -3, 8])
    assert_allclose(zone.width_um, 27)


def test_published_sets_of_five() -> None:
    """D7b, sets F1 and F2: seen points; zones computed along height and normal."""
    zone = zone_at(
        [11.5, 18.5, 4.5, 25.5, 11.5],
        [7, 6.9, 13, 30, 37.5],
        [1100, 1030, 1020, 1030, 1020],
    )
    assert_allclose(
        (zone.width_um, zone.normal_um), (67.2622951, 67.2620575), rtol=1e-9
    )
    zone = zone_at(
        [1.1, 3.2, 5.3, 3.4, 1.5],
        [2.1, 4.2, 1.3, 2.4, 4.5],
        [8100, 8000, 8200, 8300, 8000],
    )
    assert_allclose((zone.width_um, zone.normal_um), (189.52381, 189.169139), rtol=3e-9)


@pytest.mark.parametrize("n", [1, 2, 3])
def test_three_places_are_flat(n: int) -> None:
    zone = zone_at([0, 250, 30][:n], [0, 10, 60][:n], [5, -7, 40][:n])
    assert_allclose(zone.width_um, 0.0, atol=1e-12)
    assert zone.contacts == ()
    assert zone.plane.at(0, 0) == pytest.approx(5)


def test_repeats_at_one_spot() -> None:
    zone = zone_at([4] * 4, [9] * 4, [1, 8, 3, 5])
    assert_allclose(zone.width_um, 7)
    assert [(c.place, c.side) for c in zone.contacts] in (
        [(0, "low"), (1, "high")],
        [(1, "high"), (0, "low")],
    )
    assert zone.plane.along_um_per_mm == 0.0
    assert zone.plane.at(4, 9) == pytest.approx(4.5)


def test_repeats_at_three_spots() -> None:
    zone = zone_at([0, 0, 9, 9, 4], [0, 0, 0, 0, 7], [1, 4, 2, 4, 0])
    assert_allclose(zone.width_um, 3)


def test_no_place_is_refused() -> None:
    with pytest.raises(TooFewReadings, match="no place"):
        minimum_zone([], [], [])


def agree_with_linear_program(cases: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    for case in range(cases):
        along, across, height = hard_set(KINDS[case % len(KINDS)], rng)
        zone = minimum_zone(along, across, height)
        check_proof(zone, along, across, height)
        oracle = zone_by_linear_program(along, across, height, height, least=None)
        span = float(np.ptp(height)) or 1.0
        assert abs(zone.width_um - oracle) <= OF_RANGE * span, (case, along.size)


def test_agrees_with_the_linear_program() -> None:
    """Outside oracle: HiGHS through scipy, on random and degenerate sets."""
    agree_with_linear_program(1500, seed=2)


@pytest.mark.long
def test_agrees_with_the_linear_program_on_ten_thousand_sets() -> None:
    agree_with_linear_program(10_000, seed=3)


def test_agrees_with_every_reference_in_fractions() -> None:
    """Exact oracle: the largest value over all references, in rational numbers."""
    rng = np.random.default_rng(4)
    for _ in range(40):
        n = int(rng.integers(4, 8))
        along, across = rng.integers(0, 5, (2, n))
        height = rng.integers(-9, 10, n)
        best = Fraction(0)
        for four in combinations(range(n), 4):
            u = [Fraction(int(along[i] - along[four[0]])) for i in four]
            v = [Fraction(int(across[i] - across[four[0]])) for i in four]
            share = [
                Fraction(0),
                u[2] * v[3] - u[3] * v[2],
                u[3] * v[1] - u[1] * v[3],
                u[1] * v[2] - u[2] * v[1],
            ]
            share[0] = -sum(share)
            total = sum(abs(x) for x in share) / 2
            if total:
                reading = sum(
                    x * int(height[i]) for x, i in zip(share, four, strict=True)
                )
                best = max(best, abs(reading) / total)
        if levelled(along, across, height).rank == 2:
            got = minimum_zone(along, across, height).width_um
            assert got == pytest.approx(float(best), abs=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_whole_numbers_find_the_same(
    kind: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second solver, forced, agrees with the first."""
    rng = np.random.default_rng(6)
    sets = [hard_set(kind, rng) for _ in range(6)]
    floats = [minimum_zone(*columns).width_um for columns in sets]
    monkeypatch.setattr(zone_search, "exchange", lambda *_: None)
    for columns, width in zip(sets, floats, strict=True):
        zone = minimum_zone(*columns)
        check_proof(zone, *columns)
        assert_allclose(zone.width_um, width, atol=1e-11)


@pytest.mark.parametrize("kind", ["clusters", "nearly one line", "two far ends"])
def test_nearly_degenerate_sets_are_proved(kind: str) -> None:
    """Here floats fail now and then, and whole numbers answer in their place."""
    rng = np.random.default_rng(14)
    for _ in range(60):
        n = int(rng.integers(4, 100))
        along, across = rng.uniform(0, 250, n), rng.uniform(0, 60, n)
        height = rng.normal(size=n)
        if kind == "clusters":
            along = np.round(along / 250) * 250 + 1e-6 * rng.normal(size=n)
            across = np.round(across / 60) * 60 + 1e-6 * rng.normal(size=n)
        if kind == "nearly one line":
            across = 0.2 * along + 1e-8 * rng.normal(size=n)
        if kind == "two far ends":
            along = np.append(100 + 1e-4 * rng.normal(size=n - 2), (0, 250))
        span = np.ptp(height)
        zone = minimum_zone(along, across, height)
        assert 0.0 <= zone.gap_um <= PROVED * span
        many = minimum_zone_many(along, across, [height, -height])
        assert_allclose(many, zone.width_um, atol=PROVED * span)


def test_exchanges_that_get_nowhere_are_given_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """No safe pivot, and too many exchanges, both lead to whole numbers."""
    columns = hard_set("random", np.random.default_rng(15))
    width = minimum_zone(*columns).width_um
    for name, value in (("SMALLEST_PIVOT", 1e9), ("MOST_EXCHANGES", 1)):
        with monkeypatch.context() as patch:
            patch.setattr(exchange_module, name, value)
            assert_allclose(minimum_zone(*columns).width_um, width)


def test_second_member_without_a_safe_pivot(monkeypatch: pytest.MonkeyPatch) -> None:
    enter = exchange_module.Reference.enter
    calls = []

    def fails_later(self: Reference, member: Member, outside: float) -> bool:
        calls.append(member)
        return len(calls) % 3 != 0 and enter(self, member, outside)

    for seed in range(12):
        columns = hard_set("random", np.random.default_rng(seed))
        width = minimum_zone(*columns).width_um
        with monkeypatch.context() as patch:
            patch.setattr(exchange_module.Reference, "enter", fails_later)
            assert_allclose(minimum_zone(*columns).width_um, width, atol=1e-11)
    assert calls


def test_whole_numbers_take_in_what_was_not_tried(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A few places first, then those that stick out, until none does."""
    along, across, height = hard_set("random", np.random.default_rng(16))
    width = minimum_zone(along, across, height).width_um
    every = PlainHeights.some
    monkeypatch.setattr(PlainHeights, "some", lambda *a: every(*a)[:8])
    monkeypatch.setattr(zone_search, "exchange", lambda *_: None)
    assert_allclose(minimum_zone(along, across, height).width_um, width)


def test_whole_numbers_end_without_the_worst_value(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Taking in the first value rather than the worst ends at the same zone."""
    monkeypatch.setattr("lapping.zone.exchange_exact.BOLD", -1)
    frame = levelled(*hard_set("quantised", np.random.default_rng(8)))
    rows = spread(frame)
    members = [
        Member(i, side, *rows[:, i].tolist())
        for i in range(rows.shape[1])
        for side in (TOP, BOTTOM)
    ]
    _, weights, (_, _, _, half) = exchange_exactly(members)
    assert_allclose(sum(weights), 2)
    zone = zone_of(rows, frame.rounding_um)
    assert_allclose(2 * half, zone.top - zone.bottom, atol=1e-11)


@pytest.mark.parametrize("high_um", [5e-324, 1e-300, 1e-20])
def test_heights_next_to_nothing_are_answered(high_um: float) -> None:
    along, across = np.meshgrid(np.linspace(0, 250, 9), np.linspace(-1, 1, 5))
    zone = minimum_zone(along.ravel(), across.ravel(), high_um * across.ravel() ** 2)
    assert zone.width_um == pytest.approx(high_um, rel=1e-9)


def test_large_sets_are_searched_in_pieces(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = np.random.default_rng(9)
    n = 40_000
    along, across = rng.uniform(0, 250, n), rng.uniform(0, 60, n)
    for height in (rng.normal(size=n), (along - 100) ** 2 * 1e-3, 0.0 * along):
        zone = zone_at(along, across, height)
        found = {c.place for c in zone.contacts}
        few = np.unique([*found, *range(0, n, 40)])
        part = minimum_zone(along[few], across[few], height[few])
        assert part.width_um == pytest.approx(zone.width_um, rel=1e-9, abs=1e-9)
    monkeypatch.setattr(zone_search, "exchange", lambda *_: None)
    height = rng.normal(size=n)
    exact = zone_at(along, across, height).width_um
    monkeypatch.undo()
    assert zone_at(along, across, height).width_um == pytest.approx(exact)


def test_large_sets_in_which_the_few_say_nothing() -> None:
    """Every block's extremes lie on one line, so the first few carry no plane."""
    n = 6144
    along = np.tile(np.arange(512.0), 12)
    across = np.zeros(n)
    height = np.zeros(n)
    across[[100, 700]] = 50.0, -50.0
    zone = zone_at(along, across, height)
    assert zone.width_um == 0.0
    height[100] = 3.0
    zone = zone_at(along, across, height)
    oracle = zone_by_linear_program(along, across, height, height, least=None)
    assert_allclose(zone.width_um, oracle, atol=1e-8)


def test_weights_of_members_that_hold_nothing() -> None:
    a, b, c = (Member(i, TOP, float(i), float(i * i), 0.0) for i in range(3))
    assert weigh([a, b, c, STOP]) == ([], 0.0)
    assert weigh([a, b, c, a._replace(side=TOP)]) == ([], 0.0)
    assert weigh([a, b, c, Member(3, BOTTOM, 9.0, -9.0, 0.0)]) == ([], 0.0)


SLOPE = st.floats(-5, 5)
SEED = st.integers(0, 10_000)


@given(SEED, SLOPE, SLOPE, st.floats(-1e4, 1e4))
def test_tilt_and_offset_change_nothing(
    seed: int, slope: float, cross: float, level: float
) -> None:
    along, across, height = hard_set("random", np.random.default_rng(seed))
    flat = minimum_zone(along, across, height)
    tilted = minimum_zone(
        along, across, height + level + slope * along + cross * across
    )
    assert tilted.width_um == pytest.approx(flat.width_um, abs=1e-10)


@given(SEED, st.floats(-1e3, 1e3), st.floats(0, 2 * pi))
def test_moving_turning_and_mirroring_change_nothing(
    seed: int, shift: float, angle: float
) -> None:
    along, across, height = hard_set("quantised", np.random.default_rng(seed))
    width = minimum_zone(along, across, height).width_um
    for one, two in (
        (250 - along, 60 - across),
        (250 - along, across),
        (along + shift, across - shift),
        (
            along * np.cos(angle) - across * np.sin(angle),
            along * np.sin(angle) + across * np.cos(angle),
        ),
    ):
        assert minimum_zone(one, two, height).width_um == pytest.approx(width, abs=1e-9)


@given(SEED, st.floats(1e-6, 1e6))
def test_scaling_heights_scales_the_zone(seed: int, factor: float) -> None:
    along, across, height = hard_set("grid", np.random.default_rng(seed))
    width = minimum_zone(along, across, height).width_um
    scaled = minimum_zone(along, across, -height * factor).width_um
    assert scaled == pytest.approx(width * factor, rel=1e-10, abs=1e-12 * (1 + factor))


@given(SEED)
def test_least_squares_is_never_narrower(seed: int) -> None:
    along, across, height = hard_set("grid", np.random.default_rng(seed))
    fit = least_squares(along, across, height)
    width = minimum_zone(along, across, height).width_um
    assert width <= fit.total_um / fit.plane.normal_factor + 1e-10


@pytest.mark.parametrize("kind", KINDS)
def test_many_give_what_each_gives(kind: str) -> None:
    rng = np.random.default_rng(10)
    for _ in range(8):
        along, across, _ = hard_set(kind, rng)
        trials = rng.normal(size=(25, along.size)) * 10
        trials[5:10] = np.round(trials[5:10] / 5) * 5
        trials[10:12] = 0.2 * along - across + 3
        trials[12] = 0.0
        trials[13:16] += 50 * along
        got = minimum_zone_many(along, across, trials)
        alone = [minimum_zone(along, across, trial).width_um for trial in trials]
        assert_allclose(got, alone, rtol=0, atol=1e-12 * np.ptp(trials))


def test_many_pool_and_repeat_to_the_bit() -> None:
    rng = np.random.default_rng(11)
    along, across = square_grid(5, 50.0)
    trials = rng.normal(size=(12_000, 25))
    got = minimum_zone_many(along, across, trials)
    np.testing.assert_array_equal(got, minimum_zone_many(along, across, trials))
    some = rng.integers(0, 12_000, 200)
    alone = [minimum_zone(along, across, trial).width_um for trial in trials[some]]
    assert_allclose(got[some], alone, rtol=1e-12)


def test_many_hand_over_what_they_cannot_prove(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rng = np.random.default_rng(12)
    along, across = rng.uniform(0, 250, 20), rng.uniform(0, 60, 20)
    trials = rng.normal(size=(9, 20))
    got = minimum_zone_many(along, across, trials)
    monkeypatch.setattr(many_module, "PASSES", 0)
    assert_allclose(minimum_zone_many(along, across, trials), got, rtol=1e-12)


@pytest.mark.parametrize("n", [1, 2, 3])
def test_many_with_few_places_are_flat(n: int) -> None:
    trials = np.random.default_rng(17).normal(size=(50, n))
    got = minimum_zone_many([0, 250, 30][:n], [0, 10, 60][:n], trials)
    assert_allclose(got, 0.0, atol=1e-14)


def test_many_refuse_what_they_cannot_use() -> None:
    assert minimum_zone_many([0, 1], [0, 1], np.empty((0, 2))).shape == (0,)
    with pytest.raises(ValueError, match=r"\(trials, n\)"):
        minimum_zone_many([0, 1], [0, 1], [1.0, 2.0])
    with pytest.raises(ValueError, match="NaN or infinity"):
        minimum_zone_many([0, 1], [0, 1], [[1.0, np.inf], [-np.inf, 1.0]])
    with pytest.raises(TooFewReadings, match="no place"):
        minimum_zone_many([], [], np.empty((3, 0)))


NOISE = [
    ((3, 3), 2.525, 0.783, 2.25),
    ((5, 3), 3.194, 0.739, 2.90),
    ((7, 3), 3.574, 0.711, 3.22),
    ((9, 3), 3.832, 0.690, 3.52),
    ((5, 5), 3.755, 0.697, 3.45),
    ((9, 5), 4.310, 0.653, 3.97),
    ((7, 7), 4.387, 0.647, 4.06),
    ((11, 7), 4.765, 0.619, 4.43),
]


@pytest.mark.parametrize(("grid", "total", "spread_of_total", "zone"), NOISE)
def test_noise_floor_table(
    grid: tuple[int, int], total: float, spread_of_total: float, zone: float
) -> None:
    """Mean figures of pure noise of 1 µm, computed earlier with other programs.

    The least squares means rest on 1e5 trials; the zone's standard error is 0.02.
    """
    trials = 4000
    along, across = (
        c.ravel() for c in np.meshgrid(*(np.arange(k) * 10.0 for k in grid))
    )
    noise = np.random.default_rng(13).normal(size=(trials, along.size))
    totals = [least_squares(along, across, one).total_um for one in noise[:2000]]
    assert abs(np.mean(totals) - total) < 3.5 * spread_of_total / sqrt(2000)
    mean = float(minimum_zone_many(along, across, noise).mean())
    assert abs(mean - zone) < 3 * 0.02 + 0.01
