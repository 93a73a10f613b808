"""The whole answer: JSON to the key, several files, and what must change nothing."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lapping.answer import BS_3623_UM, Answer, answer
from lapping.errors import BadInput
from lapping.face import Face, Mouth
from lapping.planes import least_squares
from lapping.readings import DialReading, FeelerReading, ReadingSet
from lapping.words.answer import report
from lapping.words.answer_json import to_json
from tests.made_readings import (
    FACE,
    Shape,
    dial_set,
    feeler_set,
    form_shape,
    grid_places,
    leaves_under,
    read_shape,
)

MOUTHED = replace(FACE, mouth=Mouth(from_mm=80.0, to_mm=86.0))
LEAVES = (30.0, 40, 50, 60, 70, 80, 100, 150, 200, 250, 300, 400)
Json = dict[str, Any]


def dial(shape: Shape | None = None, face: Face = MOUTHED, **header: Any) -> ReadingSet:
    shape = shape or form_shape(face, along_bow=-20, twist=40)
    return dial_set(
        read_shape(grid_places(6, 3, face), shape),
        face=face,
        **{"repeatability_um": 2.0, **header},
    )


def feeler(face: Face = MOUTHED, **header: Any) -> ReadingSet:
    form = form_shape(face, along_bow=-20, twist=100)
    rim = [(a, c) for c in (0.0, 60.0) for a in np.linspace(0, 250, 6).tolist()]
    rim += [(0.0, 30.0), (250.0, 30.0), (80.0, 30.0)]
    rows = leaves_under(rim, lambda a, c: 80 - form(a, c), LEAVES)
    return feeler_set(rows, face=face, **header)


KEYS = {
    "files", "methods", "points", "face", "flatness", "twist", "along_bow",
    "across_bow", "high_spots", "low_spots", "rest", "target_um", "verdict",
    "probability", "working", "squareness", "turned", "not_seen", "warnings",
}  # fmt: skip
FLATNESS = {
    "least_squares_um", "minimum_zone_um", "peak_um", "valley_um", "rms_um",
    "likely_um", "interval_um", "noise_floor_um", "bracket_um", "certificate",
}  # fmt: skip
SPOT = {
    "where", "along_mm", "across_mm", "height_um", "u_um", "area_mm2", "sure",
}  # fmt: skip


def is_number(value: object) -> bool:
    return isinstance(value, float | int) and not isinstance(value, bool)


def check_shape(found: Json, *, seen: bool) -> None:
    """Hold an answer to the keys and kinds that are promised, none more, none less."""
    assert set(found) == KEYS
    assert all(isinstance(f, str) for f in found["files"])
    assert set(found["methods"]) <= {"dial", "feeler"}
    assert isinstance(found["points"], int)
    assert found["face"] == {"length_mm": 250.0, "width_mm": 60.0}
    flatness = found["flatness"]
    assert set(flatness) == FLATNESS
    for name in ("peak_um", "valley_um", "rms_um"):
        assert is_number(flatness[name])
    assert is_number(flatness["least_squares_um"])
    assert is_number(flatness["minimum_zone_um"])
    assert is_number(flatness["noise_floor_um"])
    assert len(flatness["interval_um"]) == 2
    assert is_number(flatness["interval_um"][0])
    assert is_number(flatness["likely_um"]) == seen
    assert is_number(flatness["interval_um"][1]) == seen
    certificate = flatness["certificate"]
    assert set(certificate) == {"contacts", "gap_um"}
    assert is_number(certificate["gap_um"])
    for contact in certificate["contacts"]:
        assert set(contact) == {"where", "along_mm", "across_mm", "side", "weight"}
        assert contact["side"] in {"high", "low"}
    for name, keys in (
        ("twist", {"um", "u_um", "arcmin", "high_corners"}),
        ("along_bow", {"um", "u_um", "shape"}),
        ("across_bow", {"um", "u_um", "shape"}),
    ):
        if set(found[name]) != {"not_measured"}:
            assert set(found[name]) == keys
            assert found[name]["u_um"] > 0
    for spot in found["high_spots"] + found["low_spots"]:
        assert set(spot) == SPOT
        assert isinstance(spot["where"], str)
        assert isinstance(spot["sure"], bool)
    assert all(s["height_um"] > 0 for s in found["high_spots"])
    assert all(s["height_um"] < 0 for s in found["low_spots"])
    assert set(found["rest"]) == {"touches", "rocks", "rock_um", "gap_um"}
    assert set(found["rest"]["gap_um"]) == {"toe", "mouth", "heel"}
    assert isinstance(found["rest"]["rocks"], bool) == seen
    for touch in found["rest"]["touches"]:
        assert set(touch) == {"where", "along_mm", "across_mm"}
    assert is_number(found["target_um"])
    assert found["verdict"] in {"flat", "not flat", "cannot tell"}
    assert set(found["working"]) == {"verdict", "zones"}
    assert found["working"]["verdict"] in {"flat", "not flat", "cannot tell"}
    for zone in found["working"]["zones"]:
        assert set(zone) == {"zone", "height_um", "u_um"}
    assert found["squareness"] is None
    assert found["turned"] is None
    assert all(isinstance(s, str) for s in found["not_seen"] + found["warnings"])


def test_the_keys_of_a_dial_answer() -> None:
    found = to_json(answer([dial()]))
    check_shape(found, seen=True)
    assert found["methods"] == ["dial"]
    assert found["points"] == 18
    assert found["flatness"]["bracket_um"] is None
    assert all(is_number(g) for g in found["rest"]["gap_um"].values())
    assert [z["zone"] for z in found["working"]["zones"]] == ["toe", "mouth", "heel"]


def test_the_keys_of_a_feeler_answer() -> None:
    found = to_json(answer([feeler()]))
    check_shape(found, seen=True)
    assert found["methods"] == ["feeler"]
    low, high = found["flatness"]["bracket_um"]
    assert 0 <= low < high


def test_a_face_without_a_mouth_has_no_gap_there() -> None:
    found = to_json(answer([dial(face=FACE)]))
    check_shape(found, seen=True)
    assert found["rest"]["gap_um"]["mouth"] is None
    assert found["rest"]["gap_um"]["toe"] is not None


def test_the_keys_while_a_shape_is_unseen() -> None:
    """Two rows: no upper end, no height that needs the middle, no verdict."""
    rows = read_shape(grid_places(6, 2), form_shape(twist=40))
    found = to_json(answer([dial_set(rows, face=MOUTHED)]))
    check_shape(found, seen=False)
    assert found["flatness"]["likely_um"] is None
    assert found["flatness"]["interval_um"][1] is None
    assert set(found["across_bow"]) == {"not_measured"}
    assert found["rest"] == {
        "touches": [],
        "rocks": None,
        "rock_um": None,
        "gap_um": {"toe": None, "mouth": None, "heel": None},
    }
    assert {z["height_um"] for z in found["working"]["zones"]} == {None}
    assert (found["verdict"], found["probability"]) == ("cannot tell", None)
    assert found["working"]["verdict"] == "cannot tell"
    assert any(s.startswith("across-bow") for s in found["not_seen"])


def test_leaves_on_two_edges_have_no_upper_bracket() -> None:
    form = form_shape(twist=100)
    edges = [(a, c) for c in (0.0, 60.0) for a in np.linspace(0, 250, 6).tolist()]
    rows = leaves_under(edges, lambda a, c: 80 - form(a, c), LEAVES)
    found = to_json(answer([feeler_set(rows)]))
    check_shape(found, seen=False)
    low, high = found["flatness"]["bracket_um"]
    assert low > 0
    assert high is None


def test_not_flat_may_be_said_while_a_shape_is_unseen() -> None:
    rows = read_shape(grid_places(6, 2), form_shape(twist=400))
    found = to_json(answer([dial_set(rows)]))
    assert found["flatness"]["interval_um"][0] > found["target_um"] == 80
    assert found["verdict"] == "not flat"


def test_figures_of_one_answer_agree_with_each_other() -> None:
    for sets in ([dial()], [feeler()], [dial(), feeler()]):
        found = to_json(answer(sets))
        flatness = found["flatness"]
        # ISO 12781: FLTt = FLTp + FLTv; the minimum zone is the least of all.
        assert flatness["least_squares_um"] == pytest.approx(
            flatness["peak_um"] + flatness["valley_um"], rel=1e-12
        )
        assert flatness["minimum_zone_um"] <= flatness["least_squares_um"] + 1e-6
        assert flatness["rms_um"] <= max(flatness["peak_um"], flatness["valley_um"])
        low, high = flatness["interval_um"]
        assert low <= flatness["likely_um"] <= high
        assert 0 <= found["probability"] <= 1
        certificate = flatness["certificate"]
        assert 0 <= certificate["gap_um"] < 1e-6
        for side in ("high", "low"):
            weights = [
                c["weight"] for c in certificate["contacts"] if c["side"] == side
            ]
            assert sum(weights) == pytest.approx(1.0, abs=1e-9)
        gaps = found["rest"]["gap_um"].values()
        assert all(g >= 0 for g in gaps if g is not None)


def test_every_answer_is_json_without_nan() -> None:
    for sets in ([dial()], [feeler()], [dial(), feeler()]):
        text = json.dumps(to_json(answer(sets)), allow_nan=False)
        assert json.loads(text)["points"] > 0


def test_the_same_readings_give_the_same_bits() -> None:
    for make in (dial, feeler):
        one, two = (json.dumps(to_json(answer([make()]))) for _ in range(2))
        assert one == two
        assert report(answer([make()])) == report(answer([make()]))


def test_the_target_given_beats_the_files_and_the_files_beat_the_default() -> None:
    default = answer([dial()])
    assert (default.target_um, default.target_is_default) == (BS_3623_UM, True)
    assert BS_3623_UM == 80.0  # BS 3623:1981 clause 8.1: ±0.04 mm [seen]
    filed = answer([dial(target_um=50.0)])
    assert (filed.target_um, filed.target_is_default) == (50.0, False)
    # Two files that disagree are held to the stricter.
    both = answer([dial(target_um=50.0), feeler(target_um=30.0)])
    assert both.target_um == 30.0
    given = answer([dial(target_um=50.0)], target_um=20.0)
    assert (given.target_um, given.target_is_default) == (20.0, False)


def test_a_wider_target_is_never_less_likely_met() -> None:
    chances = [
        answer([dial()], target_um=target).probability
        for target in (5.0, 20.0, 30.0, 40.0, 80.0, 500.0)
    ]
    known = [c for c in chances if c is not None]
    assert len(known) == 6
    assert known == sorted(known)
    assert (known[0], known[-1]) == (0.0, 1.0)


def test_files_of_one_face_are_combined() -> None:
    one, other = dial(), replace(feeler(), source="leaves")
    found = answer([one, other])
    both = to_json(found)
    assert both["files"] == ["dial", "leaves"]
    assert both["methods"] == ["dial", "feeler"]
    assert both["points"] == 18 + 15
    assert both["flatness"]["bracket_um"] is None
    assert any("the middle" in s for s in to_json(answer([other]))["not_seen"])
    assert not any("the middle" in s for s in both["not_seen"])


def test_a_second_file_on_another_datum_changes_little_but_the_doubt() -> None:
    """The same face read twice, the second time lifted and tilted."""
    first = dial(repeatability_um=4.0)
    lifted = tuple(
        replace(r, value_um=r.value_um + 300 + 0.7 * r.along_mm - r.across_mm)
        for r in first.readings
        if isinstance(r, DialReading)
    )
    second = replace(first, source="again", readings=lifted)
    alone, both = answer([first]), answer([first, second])
    assert alone.form.twist is not None
    assert both.form.twist is not None
    assert abs(both.form.twist.um - alone.form.twist.um) < alone.form.twist.u_um
    assert both.form.twist.u_um < alone.form.twist.u_um
    assert both.zone.width_um == pytest.approx(alone.zone.width_um, abs=1e-6)
    # Heights averaged over two readings know their places sqrt(2) better.
    np.testing.assert_allclose(both.heights.u_um, alone.heights.u_um / 2**0.5)


def test_differing_faces_are_refused_with_a_sentence_each() -> None:
    longer = replace(MOUTHED, length_mm=260.0)
    moved = replace(FACE, mouth=Mouth(from_mm=90.0, to_mm=96.0))
    sets = [
        dial(),
        replace(dial(face=longer), source="longer"),
        replace(dial(face=moved), source="moved"),
    ]
    with pytest.raises(BadInput) as refused:
        answer(sets)
    first, second = refused.value.mistakes
    assert "longer: its face (sole, 260 × 60 mm" in first
    assert "is not the face of dial (sole, 250 × 60 mm, mouth 80 to 86 mm)" in first
    assert "moved: its face (sole, 250 × 60 mm, mouth 90 to 96 mm)" in second


def test_a_mouth_told_in_one_file_holds_for_all() -> None:
    """Sticks need no mouth; the places of the others keep out of it all the same."""
    rows = read_shape(grid_places(6, 3), form_shape(along_bow=-20, twist=40))
    plain = replace(dial_set(rows, repeatability_um=2.0), source="plain")
    for sets in ([dial(), plain], [plain, dial()]):
        assert answer(sets).face == MOUTHED


def test_a_turned_file_alone_says_that_nothing_was_separated() -> None:
    """It takes a set that was not turned as well to tell the plate from the face."""
    found = answer([dial(turned="half")])
    assert found.turned is not None
    assert found.turned.separated == ()
    assert found.turned.confounded == ("along-bow", "across-bow", "twist")
    assert to_json(found)["turned"] == {
        "separated": [],
        "confounded": ["along-bow", "across-bow", "twist"],
    }
    assert to_json(answer([dial()]))["turned"] is None


def test_the_report_says_what_the_figures_say() -> None:
    text = report(answer([dial(form_shape(MOUTHED, twist=400))]))
    assert "Not flat" in text
    assert "toe-left and heel-right high" in text
    assert "BS 3623" in text
    assert max(len(line) for line in text.splitlines()) <= 80
    rows = read_shape(grid_places(6, 2), form_shape(twist=40))
    unseen = report(answer([dial_set(rows)]))
    assert "upper limit not known" in unseen
    assert "cannot tell, see what was not seen" in unseen


# --- What must change nothing, or change it in a known way -----------------------


def bumpy(seed: int, n_bumps: int = 2) -> Shape:
    """Give a form with some bumps, all of it about 20 to 60 µm."""
    rng = np.random.default_rng(seed)
    form = form_shape(
        along_bow=rng.normal(0, 20),
        across_bow=rng.normal(0, 8),
        twist=rng.normal(0, 40),
    )
    bumps = rng.uniform([0, 0, 10, -15], [250, 60, 30, 15], (n_bumps, 4))

    def shape(along: np.ndarray, across: np.ndarray) -> np.ndarray:
        z = form(along, across)
        for x, y, radius, height in bumps:
            d2 = (along - x) ** 2 + (across - y) ** 2
            z = z + height * np.exp(-d2 / (2 * radius**2))
        return np.asarray(z)

    return shape


def read_bumpy(seed: int, method: str) -> ReadingSet:
    shape = bumpy(seed)
    if method == "dial":
        rng = np.random.default_rng(seed)
        rows = read_shape(grid_places(6, 3), shape)
        noisy = [(a, c, v + float(rng.normal(0, 1))) for a, c, v in rows]
        return dial_set(noisy, repeatability_um=1.0)
    rim = [(a, c) for c in (0.0, 60.0) for a in np.linspace(0, 250, 6).tolist()]
    rim += [(0.0, 30.0), (250.0, 30.0)]
    return feeler_set(leaves_under(rim, lambda a, c: 90 - shape(a, c), LEAVES))


def moved(readings: ReadingSet, change: Any) -> ReadingSet:
    return replace(readings, readings=tuple(change(r) for r in readings.readings))


def exact_figures(found: Answer) -> np.ndarray:
    """Give the figures that no draw enters, lengths in µm; twist is the last."""
    form, level = found.form, found.least_squares
    assert form.along_bow is not None
    assert form.across_bow is not None
    assert form.twist is not None
    return np.array(
        [
            level.total_um,
            level.peak_um,
            level.valley_um,
            level.rms_um,
            found.zone.width_um,
            form.along_bow.um,
            form.across_bow.um,
            form.twist.um,
        ]
    )


def face_map(found: Answer) -> np.ndarray:
    """Give the best heights over their own plane, as rows along and columns across."""
    p, surface = found.surface.places, found.surface
    level = least_squares(
        surface.along_mm[p:], surface.across_mm[p:], surface.mean_um[p:]
    )
    return surface.grid.spread(level.residual_um)


def gaps_if_settled(found: Answer) -> list[float] | None:
    """Give the least gap at toe and heel, or None for a face that rocks.

    Pressed in its very middle a rocking face may rest on one of two facets, and which
    is decided by a hair.
    """
    assert found.rest is not None
    if found.rest.rock_um > 1e-6 * found.least_squares.total_um:
        return None
    return [gap for _, gap in found.rest.zone_gap_um]


def close_to(found: object, expected: object, answered: Answer) -> None:
    """Hold figures to a millionth of the range, or of 1 µm where that is less."""
    size = max(answered.least_squares.total_um, 1.0)
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-6 * size)


def drawn_figures(found: Answer) -> np.ndarray:
    """Give the figures that come from draws, lengths in µm."""
    assert found.likely.likely_um is not None
    assert found.likely.interval_um[1] is not None
    assert found.form.twist is not None
    assert found.form.along_bow is not None
    return np.array(
        [
            found.likely.likely_um,
            *found.likely.interval_um,
            found.floor.mean_um,
            found.floor.clear_um,
            found.form.twist.u_um,
            found.form.along_bow.u_um,
            found.working.together_um,
        ]
    )


def alike(one: Answer, other: Answer) -> None:
    """Hold two answers of 1000 draws each to each other within Monte Carlo error.

    As shares of the interval's width w, about 4 standard deviations: the median has a
    standard error of 0.01 w, the lower end 0.03 w, the upper one, with its longer
    tail, 0.04 w, each sqrt(2) more for two answers; six of these are allowed.
    Standard uncertainties have one of 2.2 %, sqrt(2) more for two.
    """
    low, high = one.likely.interval_um
    assert one.likely.likely_um is not None
    assert other.likely.likely_um is not None
    assert high is not None
    assert other.likely.interval_um[1] is not None
    width = high - low
    assert abs(one.likely.likely_um - other.likely.likely_um) < 0.09 * width
    assert abs(low - other.likely.interval_um[0]) < 0.25 * width
    assert abs(high - other.likely.interval_um[1]) < 0.34 * width
    for name in ("along_bow", "across_bow", "twist"):
        ours, theirs = getattr(one.form, name), getattr(other.form, name)
        assert theirs.u_um == pytest.approx(ours.u_um, rel=6 * 0.022 * 2**0.5)
    # A chance has a standard error of at most 0.5/sqrt(1000), sqrt(2) more for two.
    assert one.probability == pytest.approx(other.probability, abs=6 * 0.022)


seeds = st.integers(0, 10_000)
methods = st.sampled_from(["dial", "feeler"])
few = settings(max_examples=8, deadline=None, derandomize=True)


@few
@given(
    seed=seeds,
    lift=st.floats(-5000, 5000),
    along=st.floats(-0.5, 0.5),
    across=st.floats(-0.5, 0.5),
)
def test_tilt_and_offset_change_nothing(
    seed: int, lift: float, along: float, across: float
) -> None:
    """The setting up of a dial is no property of the face; the draws are the same too.

    Least squares deviations are taken along the normal (ISO 12781-1), so a slope of
    0.5 µm/mm, a tenth of a millimetre over the length, takes 1e-7 off them.
    """
    plain = read_bumpy(seed, "dial")
    steep = moved(
        plain,
        lambda r: replace(
            r, value_um=r.value_um + lift + along * r.along_mm + across * r.across_mm
        ),
    )
    one, other = answer([plain]), answer([steep])
    close_to(exact_figures(other), exact_figures(one), one)
    close_to(drawn_figures(other), drawn_figures(one), one)
    close_to(face_map(other), face_map(one), one)
    assert other.probability == one.probability


@few
@given(seed=seeds, method=methods)
def test_turned_end_for_end_toe_and_heel_swap(seed: int, method: str) -> None:
    """A half turn keeps which diagonal is high: the sign of twist stays."""
    plain = read_bumpy(seed, method)
    turned = moved(
        plain,
        lambda r: replace(r, along_mm=250 - r.along_mm, across_mm=60 - r.across_mm),
    )
    one, other = answer([plain]), answer([turned])
    close_to(exact_figures(other), exact_figures(one), one)
    close_to(face_map(other), face_map(one)[::-1, ::-1], one)
    gaps = gaps_if_settled(one)
    if gaps is not None:
        close_to(gaps_if_settled(other), gaps[::-1], one)
    alike(one, other)


def test_a_toe_that_is_high_becomes_a_heel_that_is_high() -> None:
    """What the half turn swaps is no matter of rounding: 30 µm at one end."""

    def shape(along: np.ndarray, across: np.ndarray) -> np.ndarray:
        return np.asarray(30.0 * (np.asarray(along) < 40))

    high_toe = answer([dial(shape, face=FACE)])
    assert high_toe.high_spots[0].along_mm < 40
    turned = answer([dial(lambda a, c: shape(250 - a, 60 - c), face=FACE)])
    assert turned.high_spots[0].along_mm > 210


@few
@given(seed=seeds, method=methods)
def test_mirrored_the_twist_changes_its_sign(seed: int, method: str) -> None:
    plain = read_bumpy(seed, method)
    mirrored = moved(plain, lambda r: replace(r, across_mm=60 - r.across_mm))
    one, other = answer([plain]), answer([mirrored])
    expected = exact_figures(one)
    expected[-1] *= -1
    close_to(exact_figures(other), expected, one)
    close_to(face_map(other), face_map(one)[:, ::-1], one)
    alike(one, other)


@few
@given(seed=seeds, method=methods, k=st.floats(0.1, 10))
def test_scaling_the_heights_and_the_gauge_scales_everything(
    seed: int, method: str, k: float
) -> None:
    """A plain unit mistake, in other words; the draws are the same too."""
    plain = read_bumpy(seed, method)

    def scaled(r: Any) -> Any:
        if isinstance(r, FeelerReading):
            stops = None if r.stops_um is None else k * r.stops_um
            return replace(r, goes_um=k * r.goes_um, stops_um=stops)
        return replace(r, value_um=k * r.value_um)

    stated = plain.repeatability_um
    larger = replace(
        moved(plain, scaled),
        step_um=k * plain.step_um,
        repeatability_um=None if stated is None else k * stated,
        leaf_tolerance_um=k * plain.leaf_tolerance_um,
    )
    one, other = answer([plain]), answer([larger], target_um=k * BS_3623_UM)
    size = max(one.least_squares.total_um, 1.0)
    # Along the normal of a plane that tilts k times as much: 1e-5 at most.
    np.testing.assert_allclose(
        exact_figures(other) / k, exact_figures(one), rtol=1e-5, atol=1e-6 * size
    )
    close_to(drawn_figures(other) / k, drawn_figures(one), one)
    assert other.probability == one.probability
    assert other.verdict == one.verdict


@few
@given(seed=seeds)
def test_the_other_sense_with_the_other_sign_is_the_same(seed: int) -> None:
    plain = read_bumpy(seed, "dial")
    other = replace(
        moved(plain, lambda r: replace(r, value_um=-r.value_um)), sense="low-positive"
    )
    assert to_json(answer([other])) == to_json(answer([plain]))


@few
@given(seed=seeds, method=methods)
def test_the_order_of_reading_changes_nothing_without_drift(
    seed: int, method: str
) -> None:
    plain = read_bumpy(seed, method)
    order = np.random.default_rng(seed).permutation(len(plain.readings))
    shuffled = tuple(plain.readings[i] for i in order)
    one, other = answer([plain]), answer([replace(plain, readings=shuffled)])
    close_to(exact_figures(other), exact_figures(one), one)
    close_to(face_map(other), face_map(one), one)
    alike(one, other)
