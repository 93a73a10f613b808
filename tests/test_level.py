"""Slopes as rises: one zero for the instrument, or a tilt for every line."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.methods.level import take_level
from lapping.methods.network import adjust, closures
from lapping.planes import least_squares
from lapping.readings import ReadingSet
from tests.made_lines import SQUARE, edge_set, gaps_under, level_set, slopes_of
from tests.made_lines import usual_lines as lines_over
from tests.made_readings import FACE, form_shape

Array = NDArray[np.float64]
SHAPE = form_shape(along_bow=-30, across_bow=6, twist=50)
NO_TILT = [0.0] * 8


def read_level(
    names: tuple[str, ...] = SQUARE,
    tilts: list[float] | None = None,
    **header: object,
) -> ReadingSet:
    lines = lines_over(names)
    return level_set(
        slopes_of(SHAPE, lines, (tilts or NO_TILT)[: len(lines)]), **header
    )


def errors(readings: ReadingSet) -> Array:
    """Give what the adjusted heights are off the true ones, about their planes."""
    network = adjust(FACE, take_level(readings).observations)
    places = network.heights.along_mm, network.heights.across_mm
    level = least_squares(*places, SHAPE(*places)).residual_um
    return network.heights.height_um - level


def test_a_rise_is_slope_times_distance() -> None:
    """0.02 mm/m over a 100 mm base is 2 µm, the precision level's division; 1 arcsec
    is 0.48481 µm over the same (both computed)."""
    rows = [
        ("1", 0.0, 30.0, 100.0, 30.0, 20.0),
        ("1", 100.0, 30.0, 200.0, 30.0, np.pi / 648_000 * 1e6),
        ("2", 30.0, 0.0, 70.0, 30.0, -20.0),
    ]
    obs = take_level(level_set(rows)).observations
    assert obs.value_um.tolist() == pytest.approx([2.0, 0.48481, -1.0], abs=5e-6)
    # Positive says that place 2 stands prouder: its height less that of place 1.
    for row, (_, a1, c1, a2, c2, _) in zip(obs.weights, rows, strict=True):
        for a, c, share in ((a1, c1, -1.0), (a2, c2, 1.0)):
            assert row[(obs.along_mm == a) & (obs.across_mm == c)].tolist() == [share]
        assert np.count_nonzero(row) == 2


def test_the_doubt_of_a_rise_is_that_of_the_slope_times_the_distance() -> None:
    rows = [
        ("1", 0.0, 30.0, 100.0, 30.0, 0.0),
        ("1", 100.0, 30.0, 150.0, 30.0, 0.0),
    ]
    for header, slope_u in (
        ({"repeatability_um": 4.0, "resolution_um": 9.0}, 4.0),
        ({"resolution_um": 9.0}, 9.0),
        ({"step_um": 2.0}, 2.0),
    ):
        obs = take_level(level_set(rows, **header)).observations
        assert obs.u_um.tolist() == pytest.approx([slope_u * 0.1, slope_u * 0.05])


def test_with_gravity_lines_along_and_across_see_twist() -> None:
    """The face is not moved, so the zero of the level is one unknown for all lines."""
    for zero in (0.0, 350.0):
        readings = read_level(tilts=[zero] * 6, repeatability_um=1.0)
        np.testing.assert_allclose(errors(readings), 0.0, atol=1e-9)
        found = answer([readings])
        assert found.unseen == ()
        assert found.form.twist is not None
        assert found.form.twist.um == pytest.approx(50, abs=1.0)
        assert found.heights is not None
        level = least_squares(
            found.heights.along_mm,
            found.heights.across_mm,
            SHAPE(found.heights.along_mm, found.heights.across_mm),
        )
        assert found.least_squares is not None
        assert found.least_squares.total_um == pytest.approx(level.total_um)


def test_with_a_tilt_for_every_line_they_do_not() -> None:
    tilts = np.random.default_rng(4).normal(0, 500, 8).tolist()
    readings = read_level(tilts=tilts, datum="line", repeatability_um=1.0)
    found = answer([readings])
    assert found.unseen == ("twist",)
    assert found.form.twist is None
    assert found.heights is None
    crossed = read_level(
        (*SQUARE, "toe-right to heel-left"), tilts, datum="line", repeatability_um=1.0
    )
    np.testing.assert_allclose(errors(crossed), 0.0, atol=1e-9)
    assert answer([crossed]).unseen == ()
    # Taken as gravity's, tilts that differ from line to line contradict each other.
    wrong = take_level(level_set(slopes_of(SHAPE, lines_over(SQUARE), tilts[:6])))
    assert np.abs(adjust(FACE, wrong.observations).residual_um).max() > 10


def test_the_zero_of_the_level_changes_nothing() -> None:
    """Nor does a face that lies tilted on the bench: slopes along all grow alike."""
    plain = take_level(read_level()).observations
    one = adjust(FACE, plain).heights.height_um
    for zero in (-800.0, 12.5):
        other = take_level(read_level(tilts=[zero] * 6)).observations
        np.testing.assert_allclose(
            adjust(FACE, other).heights.height_um, one, atol=1e-7
        )
    tilted = []
    for name, a1, c1, a2, c2, slope in slopes_of(SHAPE, lines_over(SQUARE), [0.0] * 6):
        lift = 900 * (a2 - a1) - 400 * (c2 - c1)
        apart = float(np.hypot(a2 - a1, c2 - c1))
        tilted.append((name, a1, c1, a2, c2, slope + lift / apart))
    other = take_level(level_set(tilted)).observations
    np.testing.assert_allclose(adjust(FACE, other).heights.height_um, one, atol=1e-7)


def test_a_line_read_backwards_says_the_same() -> None:
    rows = slopes_of(SHAPE, lines_over(SQUARE), NO_TILT[:6])
    back = [(n, a2, c2, a1, c1, -s) for n, a1, c1, a2, c2, s in rows]
    np.testing.assert_allclose(errors(level_set(back)), 0.0, atol=1e-9)


def test_lines_that_do_not_close_say_so() -> None:
    rows = slopes_of(SHAPE, lines_over(SQUARE), NO_TILT[:6])
    good = take_level(level_set(rows)).observations
    assert all(c.spread_um < 1e-9 for c in closures(good, adjust(FACE, good)))
    name, a1, c1, a2, c2, slope = rows[1]
    rows[1] = (name, a1, c1, a2, c2, slope + 400.0)
    bad = take_level(level_set(rows)).observations
    worst = closures(bad, adjust(FACE, bad))[0]
    assert worst.spread_um > 3 * worst.u_um
    # 400 µm/m over 62.5 mm is 25 µm, and the lines cannot be further apart than that.
    assert worst.spread_um <= 25.0


def test_a_level_and_an_edge_are_one_face() -> None:
    """The edge sees bows, the level twist; together all of it, in one adjustment."""
    edge = edge_set(gaps_under(SHAPE, lines_over(SQUARE)), repeatability_um=2.0)
    rim = read_level(("left", "right", "toe", "heel"), repeatability_um=10.0)
    assert answer([edge]).unseen == ("twist",)
    both = answer([edge, rim])
    assert both.unseen == ()
    for form, true in (
        (both.form.twist, 50), (both.form.along_bow, -30), (both.form.across_bow, 6)
    ):  # fmt: skip
        assert form is not None
        assert form.um == pytest.approx(true, abs=3 * form.u_um)


def test_the_typical_doubt_of_one_rise_is_told() -> None:
    taken = take_level(read_level(("left",), repeatability_um=8.0))
    assert taken.repeatability_um == pytest.approx(8.0 * 0.0625)
    assert taken.heights is None
