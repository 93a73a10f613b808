"""Winding sticks: similar triangles, which end is high, and what they leave open."""

from __future__ import annotations

import numpy as np
import pytest

from lapping.answer import answer
from lapping.face import Face
from lapping.methods.winding import RESTS_UM, take_winding
from lapping.words.answer_json import to_json
from tests.made_lines import edge_set, gaps_under, usual_lines, winding_set
from tests.made_readings import FACE, dial_set, form_shape, grid_places, read_shape


def gap_over(twist: float, along_1: float, along_2: float, stick: float) -> float:
    """Give the gap over a stick by similar triangles.

    Twist is what the fourth corner stands off the plane of the other three, so the
    slope across changes by twist/(length × width) for every millimetre along.
    """
    per_mm = twist / (FACE.length_mm * FACE.width_mm)
    return per_mm * (along_2 - along_1) * stick


def sticks(twist: float, along_1: float = 0.0, along_2: float = 250.0) -> tuple[
    float, float, float, float, str
]:  # fmt: skip
    gap = gap_over(twist, along_1, along_2, 600.0)
    high = "none" if gap == 0 else "right" if gap > 0 else "left"
    return along_1, along_2, 600.0, abs(gap), high


@pytest.mark.parametrize("stick", [60.0, 300.0, 600.0])
@pytest.mark.parametrize(("high", "sign"), [("right", 1), ("left", -1), ("none", 0)])
def test_a_gap_over_the_stick_shrinks_to_the_width(
    stick: float, high: str, sign: int
) -> None:
    """By hand: 0.5 mm over a 600 mm stick is 50 µm over a face 60 mm wide."""
    gap = 500.0 if sign else 0.0
    taken = take_winding(winding_set([(10.0, 240.0, stick, gap, high)]))
    obs = taken.observations
    assert obs.value_um.tolist() == pytest.approx([sign * gap * 60 / stick])
    if stick == 600 and sign:
        assert abs(obs.value_um[0]) == pytest.approx(50.0)
    assert taken.heights is None


def test_a_reading_is_of_twist_and_of_nothing_else() -> None:
    """High on the right at the stick nearer the heel is positive: toe-left and
    heel-right are then the high corners."""
    obs = take_winding(winding_set([sticks(40.0, 10.0, 240.0)])).observations
    places = obs.along_mm, obs.across_mm
    seen = form_shape(twist=40.0)(*places)
    np.testing.assert_allclose(obs.weights @ seen, obs.value_um)
    assert obs.value_um[0] > 0
    for other in (
        form_shape(along_bow=90.0),
        form_shape(across_bow=90.0),
        lambda a, c: 3.0 * a - 7.0 * c + 100,
    ):
        np.testing.assert_allclose(obs.weights @ other(*places), 0.0, atol=1e-9)


@pytest.mark.parametrize("twist", [80.0, -80.0, 0.0])
def test_alone_they_give_twist_and_no_heights(twist: float) -> None:
    found = answer([winding_set([sticks(twist, 10.0, 240.0)])])
    assert found.unseen == ("along-bow", "across-bow")
    measured = found.form.twist
    assert measured is not None
    assert measured.um == pytest.approx(twist, abs=measured.u_um)
    assert measured.u_um < max(abs(twist) / 2, 15)
    assert (found.heights, found.zone, found.least_squares) == (None, None, None)
    told = to_json(found)
    assert set(told["along_bow"]) == set(told["across_bow"]) == {"not_measured"}
    flatness = told["flatness"]
    for name in ("minimum_zone_um", "least_squares_um", "peak_um", "rms_um",
                 "likely_um", "certificate", "noise_floor_um"):  # fmt: skip
        assert flatness[name] is None, name
    assert flatness["interval_um"][1] is None
    high = {80.0: ["toe-left corner", "heel-right corner"],
            -80.0: ["toe-right corner", "heel-left corner"], 0.0: []}  # fmt: skip
    assert [f"{corner} corner" for corner in told["twist"]["high_corners"]] == (
        high[twist]
    )
    assert told["verdict"] == "cannot tell"


def test_twist_beyond_the_target_is_not_flat_whatever_the_bows_are() -> None:
    """Four corners out of one plane by t need t/2 at the least."""
    found = answer([winding_set([sticks(300.0)])], target_um=40.0)
    low, high = found.likely.interval_um
    assert 40 < low <= 150
    assert high is None
    assert found.verdict == "not flat"


def test_doubt_is_of_the_gap_and_of_how_the_sticks_rest() -> None:
    """GUM: the two are independent, so their squares add."""
    rows = [(0.0, 250.0, 300.0, 100.0, "right")]
    for stated, gap_u in (({"repeatability_um": 40.0}, 40.0), ({"step_um": 10.0}, 10)):
        u = take_winding(winding_set(rows, **stated)).observations.u_um
        assert u.tolist() == pytest.approx([np.hypot(gap_u * 60 / 300, RESTS_UM)])
    # A longer stick shows the same twist with a larger gap, and so more surely.
    u = [
        take_winding(winding_set([(0.0, 250.0, stick, 0.0, "none")])).observations.u_um
        for stick in (100.0, 300.0, 900.0)
    ]
    assert u[0] > u[1] > u[2] > RESTS_UM


def test_sticks_close_together_tell_less_of_the_whole_twist() -> None:
    doubt = []
    for apart in (230.0, 115.0, 23.0):
        pair = sticks(0.0, 10.0, 10.0 + apart)
        twist = answer([winding_set([pair], repeatability_um=30.0)]).form.twist
        assert twist is not None
        doubt.append(twist.u_um)
    assert doubt == sorted(doubt)
    # A tenth of the length, so ten times the doubt, and the unevenness of the face.
    assert doubt[-1] > 4 * doubt[0]


def test_sticks_show_what_lines_along_and_across_cannot() -> None:
    shape = form_shape(along_bow=-40, across_bow=5, twist=60)
    lines = usual_lines(("left", "right", "centre", "toe", "middle", "heel"))
    edges = edge_set(gaps_under(shape, lines), repeatability_um=1.0)
    assert answer([edges]).unseen == ("twist",)
    both = answer([edges, winding_set([sticks(60.0)], repeatability_um=5.0)])
    assert both.unseen == ()
    assert both.form.twist is not None
    assert both.form.twist.um == pytest.approx(60.0, abs=3 * both.form.twist.u_um)
    assert both.form.twist.u_um < 10
    assert both.heights is not None
    assert both.likely.likely_um is not None


def test_sticks_and_a_dial_agree_or_are_averaged() -> None:
    """A dial that reads 40 and sticks that read 80, both of them in doubt."""
    rows = read_shape(grid_places(5, 3), form_shape(twist=40))
    dial = dial_set(rows, repeatability_um=8.0)
    alone = answer([dial]).form.twist
    both = answer([dial, winding_set([sticks(80.0)], repeatability_um=80.0)]).form.twist
    assert alone is not None
    assert both is not None
    assert alone.um < both.um < 80
    assert both.u_um < alone.u_um


def test_a_wide_face_winds_less_for_the_same_gap() -> None:
    wide = Face(length_mm=250.0, width_mm=120.0)
    row = [(0.0, 250.0, 600.0, 500.0, "right")]
    narrow, broad = (
        take_winding(winding_set(row, face=face)).observations.value_um[0]
        for face in (FACE, wide)
    )
    assert broad == pytest.approx(2 * narrow)
