"""Squareness of a side to the sole: signs, angle, change along, the square's error."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lapping.answer import answer
from lapping.errors import BadInput, TooFewReadings
from lapping.face import Face
from lapping.grades import read_grade
from lapping.square_answer import answer_squares
from lapping.squareness import Squareness, squareness
from lapping.words.answer_json import squares_to_json, to_json
from tests.made_lines import square_set
from tests.made_readings import dial_set, form_shape, grid_places, read_shape

SIDE = Face(length_mm=250.0, width_mm=60.0, kind="side", left_edge="sole")


def square(*rows: tuple[float, float, str], **header: object) -> Squareness:
    found = squareness([square_set(rows, face=SIDE, **header)])
    assert found is not None
    return found


def test_a_gap_of_30_um_at_the_top_of_60_mm() -> None:
    """By hand: 0.030/60 rad is 1.72 arcminutes; the side leans in over the sole, so
    the angle through the metal is less than 90° and the figure negative."""
    found = square((20.0, 30.0, "top"), (125.0, 30.0, "top"), (230.0, 30.0, "top"))
    assert found.um == pytest.approx(-30.0)
    assert found.arcmin == pytest.approx(-1.7189, abs=5e-4)
    assert np.tan(np.radians(found.arcmin / 60)) * 60_000 == pytest.approx(-30.0)
    assert found.over_mm == 60.0
    assert found.along_um == pytest.approx(0.0, abs=1e-9)


def test_a_gap_at_the_sole_is_more_than_90_degrees() -> None:
    found = square((20.0, 30.0, "sole"), (230.0, 30.0, "sole"))
    assert found.um == pytest.approx(30.0)
    assert found.arcmin > 0


def test_the_mean_over_the_stations_and_each_of_them() -> None:
    found = square((20.0, 30.0, "top"), (125.0, 0.0, "top"), (230.0, 15.0, "sole"))
    assert found.um == pytest.approx((-30 + 0 + 15) / 3)
    assert [(s.along_mm, s.um) for s in found.stations] == [
        (20.0, -30.0), (125.0, 0.0), (230.0, 15.0),
    ]  # fmt: skip


def test_a_side_that_winds_against_the_sole_changes_along() -> None:
    """From -20 at 25 mm to +20 at 225 mm is 0.2 µm/mm, so 50 µm from toe to heel."""
    found = square((25.0, 20.0, "top"), (225.0, 20.0, "sole"), repeatability_um=4.0)
    assert found.um == pytest.approx(0.0)
    assert found.along_um == pytest.approx(50.0)
    # The difference of two readings over 200 mm, carried to 250 mm.
    assert found.along_u_um == pytest.approx(4.0 * 2**0.5 * 250 / 200)


def test_the_change_is_the_least_squares_line() -> None:
    rng = np.random.default_rng(8)
    along = np.linspace(10, 240, 7)
    off = rng.normal(0, 20, 7)
    rows = [(a, abs(v), "sole" if v > 0 else "top")
            for a, v in zip(along.tolist(), off.tolist(), strict=True)]  # fmt: skip
    found = square(*rows, repeatability_um=3.0)
    slope, level = np.polyfit(along, off, 1)
    assert found.along_um == pytest.approx(slope * 250)
    assert found.um == pytest.approx(off.mean())
    sxx = ((along - along.mean()) ** 2).sum()
    assert found.along_u_um == pytest.approx(3.0 / sxx**0.5 * 250)
    assert level + slope * along.mean() == pytest.approx(found.um)


def test_one_station_has_no_change_along() -> None:
    found = square((125.0, 30.0, "top"))
    assert found.along_um is None
    assert found.along_u_um is None


def test_the_squares_own_limit_is_in_the_doubt_and_no_number_of_readings_helps() -> (
    None
):
    """DIN 875-1 grade 0, 100 mm: 5 + L/50 = 7 µm (from memory); rectangular, so
    7/sqrt(3), beside the mean of n readings (GUM 4.3.7)."""
    limit = read_grade("DIN 875 grade 0, 100 mm").allowed_um
    assert limit == 7.0
    for n in (1, 4, 100):
        rows = [(250.0 * i / n, 10.0, "top") for i in range(n)]
        found = square(*rows, repeatability_um=6.0, reference_flatness_um=limit)
        assert found.u_um == pytest.approx(np.hypot(6.0 / n**0.5, 7.0 / 3**0.5))
    # A wrong square is wrong alike at toe and heel.
    bare = square(*rows, repeatability_um=6.0)
    assert found.along_u_um == pytest.approx(bare.along_u_um)


def test_the_doubt_of_a_gap_is_stated_or_the_gauges_or_the_step_typed() -> None:
    rows = [(125.0, 30.0, "top")]
    for header, u in (
        ({"repeatability_um": 3.0, "resolution_um": 8.0}, 3.0),
        ({"resolution_um": 8.0}, 8.0),
        ({"step_um": 10.0}, 10.0),
    ):
        assert square(*rows, **header).u_um == pytest.approx(u)


def test_two_files_are_weighed_by_their_doubt() -> None:
    fine = square_set([(125.0, 10.0, "sole")], face=SIDE, repeatability_um=1.0)
    coarse = square_set([(125.0, 35.0, "sole")], face=SIDE, repeatability_um=2.0)
    found = squareness([fine, coarse])
    assert found is not None
    assert found.um == pytest.approx((10 * 4 + 35 * 1) / 5)
    assert found.u_um == pytest.approx((1 + 0.25) ** -0.5)


def test_no_square_no_squareness() -> None:
    dial = dial_set(read_shape(grid_places(5, 3), form_shape()), face=SIDE)
    assert squareness([dial]) is None
    with pytest.raises(TooFewReadings, match="no square readings"):
        answer_squares([dial])


def test_a_square_beside_a_dial_is_in_one_answer_and_changes_no_flatness() -> None:
    dial = dial_set(
        read_shape(grid_places(5, 3, SIDE), form_shape(SIDE, along_bow=20)),
        face=SIDE, repeatability_um=1.0,
    )  # fmt: skip
    leaves = square_set([(125.0, 30.0, "top")], face=SIDE)
    alone, both = answer([dial]), answer([dial, leaves])
    assert alone.squareness is None
    assert both.squareness == squareness([leaves])
    assert both.likely.interval_um == alone.likely.interval_um
    told = to_json(both)["squareness"]
    assert told["um"] == -30.0
    assert told["arcmin"] == pytest.approx(-1.7189, abs=5e-4)
    assert to_json(alone)["squareness"] is None


def test_squares_alone_say_nothing_of_flatness() -> None:
    found = answer_squares([square_set([(125.0, 30.0, "top")], face=SIDE)])
    told = squares_to_json(found)
    assert told["squareness"]["um"] == -30.0
    assert told["verdict"] == "cannot tell"
    assert told["flatness"]["likely_um"] is None
    assert told["flatness"]["minimum_zone_um"] is None


def test_squares_of_two_sides_are_refused() -> None:
    one = square_set([(125.0, 30.0, "top")], face=SIDE)
    other = square_set(
        [(125.0, 30.0, "top")], face=replace(SIDE, left_edge="top"), source="other"
    )
    with pytest.raises(BadInput, match="other: its face"):
        answer_squares([one, other])
