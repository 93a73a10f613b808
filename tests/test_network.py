"""The lines solved together: against plain least squares, worked nets and the GUM."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import null_space

from lapping.face import Face
from lapping.methods.level import take_level
from lapping.methods.network import adjust, closures
from lapping.methods.straightedge import take_edges
from lapping.observations import Observations, plane_terms
from lapping.planes import least_squares
from lapping.zone.minimum_zone import minimum_zone
from tests.made_lines import (
    DIAGONALS,
    SQUARE,
    Line,
    along_line,
    edge_set,
    gaps_under,
    level_set,
    slopes_of,
    usual_lines,
)
from tests.made_readings import FACE, form_shape

Array = NDArray[np.float64]


def observations(
    places: Sequence[tuple[float, float]],
    weights: Array,
    value: Array,
    u: Array | float = 1.0,
    unknowns: Array | None = None,
    unknown_u: Sequence[float] = (),
) -> Observations:
    """Make readings that are values, or intervals where `value` has two columns."""
    n = len(weights)
    low, high = (value, value) if value.ndim == 1 else value.T
    middle = np.where(np.isfinite(low + high), (low + high) / 2, 0.0)
    return Observations(
        along_mm=np.array([a for a, _ in places]),
        across_mm=np.array([c for _, c in places]),
        weights=weights,
        value_um=middle,
        u_um=np.broadcast_to(u, n),
        low_um=low,
        high_um=high,
        unknowns=np.zeros((n, 0)) if unknowns is None else unknowns,
        unknown_u=np.array(unknown_u, dtype=np.float64),
        noise_doubt=0.0,
    )


# --- Plain least squares, every unknown written out


def random_lines(rng: np.random.Generator) -> Observations:
    """Lay some lines at random over some stations; each has a height and tilt.

    Some patterns are all of slopes; some have an S-shape of the edge of known size,
    some intervals, some bounds on one side, which tell nothing.
    """
    p = int(rng.integers(4, 13))
    places = [(float(a), float(c)) for a, c in rng.uniform([0, 0], [250, 60], (p, 2))]
    rows, own, tilt = [], [], []
    slopes = rng.random() < 0.3
    lines = int(rng.integers(1, 7))
    for line in range(lines):
        on = rng.permutation(p)[: rng.integers(2, min(p, 6) + 1)]
        for k, place in enumerate(on):
            row = np.zeros(p)
            if slopes:
                row[place], row[on[k - 1]] = 1.0, -1.0
            else:
                row[place] = 1.0
            rows.append(row)
            own.append(line)
            tilt.append(float(rng.uniform(-1, 1)))
    n = len(rows)
    laid = np.eye(lines)[own]
    columns = [laid * np.array(tilt)[:, None]]
    unknown_u = [np.inf] * lines
    if not slopes:
        columns.insert(0, laid)
        unknown_u += [np.inf] * lines
    for _ in range(int(rng.integers(0, 3))):
        columns.append(rng.uniform(-1, 1, (n, 1)))
        unknown_u.append(float(rng.uniform(0.5, 20)))
    low = rng.normal(0, 20, n)
    width = np.where(rng.random(n) < 0.3, rng.uniform(1, 30, n), 0.0)
    high = low + width
    high[(rng.random(n) < 0.1) & (width > 0)] = np.inf
    return observations(
        places,
        np.array(rows),
        np.column_stack([low, high]),
        rng.uniform(0.5, 5, n),
        np.concatenate(columns, axis=1),
        unknown_u,
    )


def test_as_plain_least_squares_on_random_patterns() -> None:
    """numpy.linalg.lstsq with every height and unknown as a column, one row for each
    unknown of known size, and scipy's null space of the same matrix."""
    rng = np.random.default_rng(20)
    seen_all = 0
    for _ in range(200):
        obs = random_lines(rng)
        closed = np.isfinite(obs.low_um) & np.isfinite(obs.high_um)
        if not closed.any():
            continue
        network = adjust(FACE, obs)
        np.testing.assert_array_equal(network.used, np.nonzero(closed)[0])
        on = obs.weights[closed].any(axis=0)
        np.testing.assert_array_equal(network.places, np.nonzero(on)[0])
        half = (obs.high_um - obs.low_um)[closed] / 2
        u = np.sqrt(obs.u_um[closed] ** 2 + half**2 / 3)
        value = (obs.high_um + obs.low_um)[closed] / 2
        rows = np.column_stack([obs.weights[closed][:, on], obs.unknowns[closed]])
        sized = np.nonzero(np.isfinite(obs.unknown_u))[0]
        held = np.zeros((sized.size, rows.shape[1]))
        held[np.arange(sized.size), on.sum() + sized] = 1 / obs.unknown_u[sized]
        full = np.vstack([rows / u[:, None], held])
        data = np.concatenate([value / u, np.zeros(sized.size)])
        fit = np.linalg.lstsq(full, data, rcond=1e-10)[0]
        np.testing.assert_allclose(
            network.residual_um, value - rows @ fit, atol=1e-6, rtol=1e-7
        )
        # What no reading changes with, the plane apart, and its orthogonal projector.
        p = int(on.sum())
        plane = plane_terms(FACE, obs.along_mm[on], obs.across_mm[on])
        level = np.eye(p) - plane @ np.linalg.pinv(plane)
        open_shapes = level @ null_space(full, rcond=1e-9)[:p]
        basis, extent, _ = np.linalg.svd(open_shapes, full_matrices=False)
        basis = basis[:, extent > 1e-6]
        assert network.unseen.shape == (p, basis.shape[1])
        np.testing.assert_allclose(
            network.unseen @ network.unseen.T, basis @ basis.T, atol=1e-6
        )
        seen_all += basis.shape[1] == 0
        level -= basis @ (basis.T @ level)
        np.testing.assert_allclose(
            network.heights.height_um, level @ fit[:p], atol=1e-5
        )
        covariance = (
            level @ np.linalg.pinv(full.T @ full, rcond=1e-14)[:p, :p] @ level.T
        )
        np.testing.assert_allclose(
            network.root @ network.root.T,
            covariance,
            atol=1e-5 * max(1.0, float(np.abs(covariance).max())),
        )
        np.testing.assert_allclose(
            network.heights.u_um**2,
            np.maximum(np.diag(covariance), 1e-18),
            rtol=1e-4,
            atol=1e-8,
        )
    # Both kinds of pattern were met, those that see all and those that do not.
    assert 20 < seen_all < 180


# --- What lines cannot see


@pytest.mark.parametrize("m", [2, 3, 4, 5])
def test_parallel_lines_leave_so_many_shapes_unseen(m: int) -> None:
    """m lines with a height and a tilt of their own are 2m unknowns, of which the
    plane takes three: 2m - 3 are left."""
    lines: list[Line] = [
        (str(i), (0.0, c), (250.0, c), 6)
        for i, c in enumerate(np.linspace(5, 55, m).tolist())
    ]
    taken = take_edges(edge_set(gaps_under(form_shape(along_bow=-40), lines)))
    network = adjust(FACE, taken.observations)
    assert network.unseen.shape == (6 * m, 2 * m - 3)
    # Each of them is straight along every line.
    a = network.heights.along_mm - 125
    across = network.heights.across_mm
    for shape in network.unseen.T:
        for c in np.unique(across):
            on = across == c
            straight = np.polyval(np.polyfit(a[on], shape[on], 1), a[on])
            np.testing.assert_allclose(shape[on], straight, atol=1e-9)


def test_lines_along_and_across_do_not_see_twist_and_a_tied_diagonal_does() -> None:
    shape = form_shape(along_bow=-30, across_bow=10, twist=60)
    square = gaps_under(shape, usual_lines(SQUARE))
    network = adjust(FACE, take_edges(edge_set(square)).observations)
    assert network.unseen.shape[1] == 1
    a, c = network.heights.along_mm - 125, network.heights.across_mm - 30
    twist = a * c / np.linalg.norm(a * c)
    assert abs(float(twist @ network.unseen[:, 0])) == pytest.approx(1.0, abs=1e-9)
    # The stations and their bows are seen, and nothing of the twist is made up.
    np.testing.assert_allclose(network.heights.height_um @ twist, 0.0, atol=1e-9)
    for name in DIAGONALS:
        tied = gaps_under(shape, usual_lines((*SQUARE, name)))
        network = adjust(FACE, take_edges(edge_set(tied)).observations)
        assert network.unseen.shape[1] == 0
        heights = network.heights
        level = least_squares(
            heights.along_mm,
            heights.across_mm,
            shape(heights.along_mm, heights.across_mm),
        ).residual_um
        np.testing.assert_allclose(heights.height_um, level, atol=1e-9)
        np.testing.assert_allclose(network.residual_um, 0.0, atol=1e-9)


def test_two_diagonals_and_the_rim_are_the_union_jack_and_see_all() -> None:
    """Eight lines, the pattern of the surface-plate trade (Moody, The Tool Engineer,
    1955; from memory)."""
    rows = gaps_under(form_shape(twist=60), usual_lines())
    assert len({row[0] for row in rows}) == 8
    network = adjust(FACE, take_edges(edge_set(rows)).observations)
    assert network.unseen.shape[1] == 0


def test_no_reading_bounded_on_both_sides_leaves_no_stations() -> None:
    value = np.array([[-np.inf, 3.0]] * 4)
    corners = [(0.0, 0.0), (0.0, 60.0), (250.0, 60.0), (250.0, 0.0)]
    network = adjust(FACE, observations(corners, np.eye(4), value))
    assert len(network.heights) == network.used.size == network.places.size == 0


# --- A plate whose heights are known exactly

PLATE = Face(length_mm=800.0, width_mm=600.0, kind="lap")


def plate(along: Array, across: Array) -> Array:
    """Give z = -8(x/400)² + 4(y/300)² + 6(x/400)(y/300), x and y from the middle."""
    x, y = np.asarray(along) / 400 - 1, np.asarray(across) / 300 - 1
    return -8 * x**2 + 4 * y**2 + 6 * x * y


JACK: tuple[tuple[Line, tuple[float, ...]], ...] = (
    (
        ("a", (0, 0), (800, 600), 11),
        (-0.72, -0.56, -0.4, -0.24, -0.08, 0.08, 0.24, 0.4, 0.56, 0.72),
    ),
    (
        ("b", (0, 600), (800, 0), 11),
        (3.6, 2.8, 2.0, 1.2, 0.4, -0.4, -1.2, -2.0, -2.8, -3.6),
    ),
    (("c", (0, 0), (800, 0), 9), (2, 1, 0, -1, -2, -3, -4, -5)),
    (("d", (0, 600), (800, 600), 9), (5, 4, 3, 2, 1, 0, -1, -2)),
    (
        ("e", (0, 0), (0, 600), 7),
        (-38 / 9, -30 / 9, -22 / 9, -14 / 9, -6 / 9, 2 / 9),
    ),
    (("f", (800, 0), (800, 600), 7), (-2 / 9, 6 / 9, 14 / 9, 22 / 9, 30 / 9, 38 / 9)),
    (("g", (0, 300), (800, 300), 9), (3.5, 2.5, 1.5, 0.5, -0.5, -1.5, -2.5, -3.5)),
    (
        ("h", (400, 0), (400, 600), 7),
        (-20 / 9, -12 / 9, -4 / 9, 4 / 9, 12 / 9, 20 / 9),
    ),
)
"""Rises in µm per foot of 100 mm on eight lines of an 800 × 600 mm plate; the table is
constructed, its closing errors are exactly 0."""


@pytest.mark.parametrize("datum", ["gravity", "line"])
def test_a_union_jack_of_which_every_rise_is_known(datum: str) -> None:
    """Figures worked by hand: minimum zone and least squares FLTt 137/9 µm, FLTp
    6.597576, FLTv 8.624646, FLTq 4.382534 over the 55 distinct stations."""
    rng = np.random.default_rng(3)
    rows = []
    zero = 37.0
    for line, rises in JACK:
        if datum == "line":
            zero = float(rng.normal(0, 200))
        places = along_line(line)
        true = np.diff(plate(*np.array(places).T))
        np.testing.assert_allclose(rises, true, atol=1e-9)
        assert len(rises) == len(places) - 1
        rows += [
            (line[0], *one, *other, rise * 10 + zero)
            for one, other, rise in zip(places[:-1], places[1:], rises, strict=True)
        ]
    taken = take_level(level_set(rows, face=PLATE, datum=datum))
    network = adjust(PLATE, taken.observations)
    assert network.unseen.shape[1] == 0
    np.testing.assert_allclose(network.residual_um, 0.0, atol=1e-9)
    found = network.heights
    assert len(found) == 55
    columns = found.along_mm, found.across_mm, found.height_um
    level = least_squares(*columns)
    # Which heights, and not only how far apart: about the constant -1.597576.
    expected = plate(found.along_mm, found.across_mm) + 1.597576
    np.testing.assert_allclose(level.residual_um, expected, atol=1e-6)
    assert minimum_zone(*columns).width_um == pytest.approx(137 / 9, abs=1e-9)
    assert level.total_um == pytest.approx(137 / 9, abs=1e-9)
    assert level.peak_um == pytest.approx(6.597576, abs=1e-6)
    assert level.valley_um == pytest.approx(8.624646, abs=1e-6)
    assert level.rms_um == pytest.approx(4.382534, abs=1e-6)
    assert all(c.spread_um < 1e-8 for c in closures(taken.observations, network))


def test_one_zero_for_all_lines_doubts_less_than_a_tilt_for_each() -> None:
    """Haitjema, Metrology 6(2), 27 (2026): levels that keep gravity's datum leave less
    uncertainty than straight lines do."""
    lines = [line for line, _ in JACK]
    u = {}
    for datum in ("gravity", "line"):
        rows = slopes_of(plate, lines, [0.0] * 8)
        taken = take_level(level_set(rows, face=PLATE, datum=datum))
        u[datum] = adjust(PLATE, taken.observations).heights.u_um
    assert (u["gravity"] <= u["line"] + 1e-9).all()
    assert u["gravity"].mean() < 0.95 * u["line"].mean()


# --- Loops that do not close

CORNERS = [(0.0, 0.0), (250.0, 0.0), (250.0, 60.0), (0.0, 60.0)]
ROUND = np.array([[-1.0, 1, 0, 0], [0, -1, 1, 0], [0, 0, -1, 1], [1, 0, 0, -1]])
"""Rises from A to B, B to C, C to D and D to A."""


def test_a_misclosure_is_shared_out_evenly_round_the_loop() -> None:
    """Least squares by hand: the correction is -w/4 each, w = d1 + d2 + d3 + d4."""
    d = np.array([3.0, -1.0, 5.0, 1.0])
    obs = observations(CORNERS, ROUND, d)
    network = adjust(FACE, obs)
    w = float(d.sum())
    np.testing.assert_allclose(network.residual_um, w / 4, atol=1e-12)
    # At each corner one rise ends w/4 too high and the next begins w/4 too low.
    for closure in closures(obs, network):
        assert closure.spread_um == pytest.approx(w / 2)
        assert closure.u_um == pytest.approx(2**0.5)
    assert len(closures(obs, network)) == 4


def test_a_loop_with_a_diagonal() -> None:
    """Worked by hand: C = e/2 + (d1 + d2)/4 - (d3 + d4)/4, B = (C + d1 - d2)/2,
    D = (C + d3 - d4)/2; with d = (1, 2, -1, -1) and e = 2.5 that is 2.5, 0.75, 1.25."""
    diagonal = np.array([[-1.0, 0, 1, 0]])
    d, e = np.array([1.0, 2.0, -1.0, -1.0]), 2.5
    network = adjust(
        FACE, observations(CORNERS, np.vstack([ROUND, diagonal]), np.append(d, e))
    )
    a, b, c, d4 = 0.0, 0.75, 2.5, 1.25
    assert c == e / 2 + (d[0] + d[1]) / 4 - (d[2] + d[3]) / 4
    np.testing.assert_allclose(
        network.residual_um,
        [d[0] - (b - a), d[1] - (c - b), d[2] - (d4 - c), d[3] - (a - d4), e - (c - a)],
        atol=1e-12,
    )
    # Of four corners only the contrast is not a plane: a quarter of it at each.
    contrast = (a - b + c - d4) / 4
    np.testing.assert_allclose(
        network.heights.height_um, contrast * np.array([1, -1, 1, -1]), atol=1e-12
    )


def test_lines_that_agree_and_a_reading_that_does_not() -> None:
    """All lines read twice, so that one wrong reading shows its line; read once, the
    union jack closes in so few ways that it shows no more than that one is wrong."""
    once = gaps_under(form_shape(along_bow=-40, twist=60), usual_lines())
    twice = once + [(f"{name} again", *rest) for name, *rest in once]
    for rows in (once, twice):
        obs = take_edges(edge_set(rows)).observations
        found = closures(obs, adjust(FACE, obs))
        assert all(c.spread_um < 1e-9 for c in found)
        # Corners, middles of sides and the centre are on two or more lines.
        assert len(found) == (9 if rows is once else 25)
    for wrong in range(len(once)):
        bad = [(*row[:3], row[3] + 30.0 * (i == wrong)) for i, row in enumerate(twice)]
        obs = take_edges(edge_set(bad)).observations
        found = closures(obs, adjust(FACE, obs))
        worst = found[0]
        assert worst.spread_um == max(c.spread_um for c in found)
        assert worst.spread_um > 3 * worst.u_um
        on_line = {row[1:3] for row in once if row[0] == once[wrong][0]}
        assert (worst.along_mm, worst.across_mm) in on_line


def test_a_spot_read_twice_by_hand() -> None:
    """0, 4 and 2 µm at one spot: the spread is 4, and sqrt(3) what noise would make."""
    places = [(10.0, 10.0), (200.0, 10.0), (100.0, 50.0)]
    weights = np.eye(3)[[0, 0, 0, 1, 2]]
    obs = observations(places, weights, np.array([0.0, 4.0, 2.0, 7.0, -3.0]))
    (only,) = closures(obs, adjust(FACE, obs))
    assert (only.along_mm, only.across_mm) == places[0]
    assert only.spread_um == pytest.approx(4.0)
    assert only.u_um == pytest.approx(3**0.5)


# --- One line


@pytest.mark.parametrize(
    ("um_per_arcsec", "straightness"), [(0.5, 3.0), (0.48481, 2.9089)]
)
def test_an_autocollimator_line(um_per_arcsec: float, straightness: float) -> None:
    """A worked straightness example seen in print: base 100 mm, mean angles 130, 133,
    137, 128, 130, 134 arcsec from the second position on, result |+2| + |-1| = 3 µm.

    The columns between were worked again: deviations from the line through the end
    points -1, -0.5, +2, 0, -1, 0. One arcsec over 100 mm is 0.48481 µm; the example
    rounds it to 0.5.
    """
    arcsec = [130.0, 133, 137, 128, 130, 134]
    rows = [
        ("1", 100.0 * i, 30.0, 100.0 * (i + 1), 30.0, angle * um_per_arcsec * 10)
        for i, angle in enumerate(arcsec)
    ]
    face = Face(length_mm=600.0, width_mm=60.0)
    taken = take_level(level_set(rows, face=face, datum="line"))
    network = adjust(face, taken.observations)
    assert network.unseen.shape[1] == 0
    place, height = network.heights.along_mm, network.heights.height_um
    assert place.tolist() == [100.0 * i for i in range(7)]
    ends = height[0] + (height[-1] - height[0]) * place / 600
    deviation = (height - ends) / um_per_arcsec * 0.5
    np.testing.assert_allclose(deviation, [0, -1, -0.5, 2, 0, -1, 0], atol=1e-9)
    assert np.ptp(height - ends) == pytest.approx(straightness, abs=5e-5)


# --- The GUM's own least squares


def test_the_calibration_line_of_the_gum() -> None:
    """JCGM 100:2008, H.3: a thermometer's correction b = y1 + y2 (t - 20), eleven
    readings of equal weight: y1 -0.1712 (0.0029), y2 0.00218 (0.00067), r -0.930,
    s 0.0035, and b(30) -0.1494 (0.0041). More digits computed from the same table.

    Compared: the weighted adjustment itself. y1 and y2 are the heights of two stations
    over a plane that three others hold at 0; what the network gives is level, and
    taking the plane of those three off again gives the two back with their covariance.
    """
    t = np.array([21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002,
                  25.503, 26.010, 26.511])  # fmt: skip
    b = np.array([-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157,
                  -0.159, -0.161, -0.160])  # fmt: skip
    places = [(0.0, 0.0), (250.0, 0.0), (0.0, 60.0), (100.0, 20.0), (200.0, 50.0)]
    weights = np.zeros((3 + t.size, 5))
    weights[:3, :3] = np.eye(3)
    weights[3:, 3], weights[3:, 4] = 1.0, t - 20
    value = np.concatenate([np.zeros(3), b])
    held = np.full(3, 1e-6)
    plane = plane_terms(FACE, *np.array(places).T)
    above = np.eye(5) - plane @ np.linalg.inv(plane[:3]) @ np.eye(3, 5)

    network = adjust(
        FACE,
        observations(places, weights, value, np.concatenate([held, np.ones(t.size)])),
    )
    y1, y2 = (above @ network.heights.height_um)[3:]
    assert y1 == pytest.approx(-0.171204, abs=5e-7)
    assert y2 == pytest.approx(0.0021827, abs=5e-8)
    s = float(np.sqrt((network.residual_um[3:] ** 2).sum() / (t.size - 2)))
    assert s == pytest.approx(0.00349756, abs=5e-9)

    again = adjust(
        FACE,
        observations(places, weights, value, np.concatenate([held, [s] * t.size])),
    )
    root = (above @ again.root)[3:]
    covariance = root @ root.T
    u1, u2 = np.sqrt(np.diag(covariance))
    assert u1 == pytest.approx(0.0028776, abs=5e-8)
    assert u2 == pytest.approx(0.00066794, abs=5e-9)
    assert covariance[0, 1] / (u1 * u2) == pytest.approx(-0.930430, abs=5e-6)
    at_30 = np.array([1.0, 10.0])
    assert at_30 @ [y1, y2] == pytest.approx(-0.149377, abs=5e-7)
    assert np.sqrt(at_30 @ covariance @ at_30) == pytest.approx(0.0041386, abs=5e-8)


def test_the_end_gauge_of_the_gum() -> None:
    """JCGM 100:2008, H.1: an end gauge of 50 000 838 nm, combined uncertainty 31.66 nm
    (printed as 32).

    Compared: that effects of a known size add to a reading's own noise as the root of
    the sum of squares. One reading, the mean of five differences (5.8 nm); the standard
    (25), the comparator's random and systematic effects (3.9, 6.7), the expansion
    coefficients' difference (2.887) and the temperatures' (16.599) are unknowns.
    """
    places = [(0.0, 0.0), (250.0, 0.0), (0.0, 60.0), (100.0, 20.0)]
    effects = (25.0, 3.9, 6.7, 2.88679, 16.599)
    unknowns = np.zeros((4, 5))
    unknowns[3] = 1.0
    network = adjust(
        FACE,
        observations(
            places,
            np.eye(4),
            np.array([0.0, 0.0, 0.0, 50_000_623.0 + 215.0]),
            np.array([1e-4, 1e-4, 1e-4, 5.8]),
            unknowns,
            effects,
        ),
    )
    plane = plane_terms(FACE, *np.array(places).T)
    above = np.eye(4) - plane @ np.linalg.inv(plane[:3]) @ np.eye(3, 4)
    assert (above @ network.heights.height_um)[3] == pytest.approx(50_000_838, abs=1e-2)
    root = (above @ network.root)[3]
    assert np.sqrt(root @ root) == pytest.approx(31.66388, abs=1e-4)
