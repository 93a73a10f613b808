"""A measured plate or edge: its map is taken off, where the face lay on it."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.errors import BadInput
from lapping.face import Face
from lapping.from_files import as_reference
from lapping.grid import metal_grid
from lapping.methods.network import adjust
from lapping.methods.take import take_each
from lapping.planes import least_squares
from lapping.readings import ReadingSet, ReferenceAt, Toe
from lapping.reference import Reference, check_placing, on_reference, take_off
from lapping.surface.posterior import Surface
from tests.made_lines import edge_set, gaps_under, usual_lines, winding_set
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

Array = NDArray[np.float64]
LAP = Face(length_mm=600.0, width_mm=400.0, kind="lap")
FACE_SHAPE = form_shape(along_bow=-30, across_bow=5, twist=40)
RIM = [(a, c) for c in (0.0, 60.0) for a in np.linspace(0, 250, 6).tolist()] + [
    (0.0, 30.0),
    (250.0, 30.0),
]


def lap_map(along: Array, across: Array) -> Array:
    """Give a lap that no turn or mirroring leaves as it is; bilinear, and so exactly
    what a map on a grid can hold."""
    x, y = np.asarray(along) / 100, np.asarray(across) / 100
    return 12.0 * x * y + 2.0 * x - 5.0 * y


def level(along: Array, across: Array) -> Array:
    """Give a lap without a shape."""
    return 0.0 * np.asarray(along)


def reference(
    shape: Shape = lap_map, lap: Face = LAP, doubt_um: float = 0
) -> Reference:
    """Make the map of a lap; the doubt is a bow along of that standard uncertainty."""
    grid = metal_grid(lap, 1500)
    mean = shape(grid.along_mm, grid.across_mm)
    bow = (2 * grid.along_mm / lap.length_mm - 1) ** 2
    draws = np.random.default_rng(7).normal(0, doubt_um, (1000, 1))
    return Reference(
        source="lap.csv",
        surface=Surface(
            face=lap,
            grid=grid,
            places=0,
            along_mm=grid.along_mm,
            across_mm=grid.across_mm,
            mean_um=mean,
            draws_um=mean + draws * bow,
            length_scale_mm=100.0,
        ),
    )


# Seen from above the face points its toe away as in its own frame, or that picture
# is turned left by quarter-turns: far, left, near, right.
TURNS: tuple[Toe, ...] = ("far", "left", "near", "right")


def on_lap(at: ReferenceAt, along: Array, across: Array, *, down: bool) -> Array:
    """Give the places of the lap (2, n) by turning a drawing, in mm.

    In the face's frame along runs down the drawing and across to the right; turned
    over about its length, left and right change.
    """
    drawn = np.array([-across if down else across, -along])
    turn = np.linalg.matrix_power(np.array([[0, -1], [1, 0]]), TURNS.index(at.toe))
    return np.array([[at.along_mm], [at.across_mm]]) + turn @ drawn


PLACES: dict[Toe, ReferenceAt] = {
    "left": ReferenceAt(along_mm=120.0, across_mm=150.0),
    "right": ReferenceAt(along_mm=420.0, across_mm=250.0, toe="right"),
    "far": ReferenceAt(along_mm=300.0, across_mm=330.0, toe="far"),
    "near": ReferenceAt(along_mm=300.0, across_mm=70.0, toe="near"),
}


def dial_on(lap: Shape, at: ReferenceAt) -> ReadingSet:
    """Read with an indicator whose stand rides on the lap: proud there reads low."""

    def seen(along: Array, across: Array) -> Array:
        return np.asarray(
            FACE_SHAPE(along, across) - lap(*on_lap(at, along, across, down=False))
        )

    return dial_set(
        [(a, c, float(seen(np.array([a]), np.array([c]))[0]))
         for a, c in grid_places(7, 3)],
        reference_at=at, repeatability_um=0.2,
    )  # fmt: skip


def leaves_on(lap: Shape, at: ReferenceAt, step: float = 1.0) -> ReadingSet:
    """Read with leaves, face down: a proud place of either closes the gap."""

    def gap(along: Array, across: Array) -> Array:
        under = lap(*on_lap(at, np.atleast_1d(along), np.atleast_1d(across), down=True))
        return np.asarray(450.0 - FACE_SHAPE(along, across) - under[0])

    rows = leaves_under(RIM, gap, tuple(np.arange(step, 800, step)))
    return feeler_set(rows, reference_at=at, leaf_tolerance_um=0.1)


def left_over(readings: ReadingSet, ref: Reference) -> Array:
    """Give the heights less the map and less the face, about the plane of each."""
    check_placing(FACE, [readings], ref)
    (taken,) = take_each([readings])
    obs = take_off(readings, taken, ref).observations
    heights = adjust(FACE, obs).heights
    places = heights.along_mm, heights.across_mm
    return heights.height_um - least_squares(*places, FACE_SHAPE(*places)).residual_um


def test_all_ways_of_lying_are_tried() -> None:
    assert set(PLACES) == set(TURNS) == set(get_args(Toe))
    assert all(at.toe == toe for toe, at in PLACES.items())


@pytest.mark.parametrize("toe", PLACES)
def test_a_face_up_lies_where_a_drawing_says(toe: Toe) -> None:
    """By hand for the toe to the left: the lap's place of the face's 0,0 is given."""
    at = PLACES[toe]
    readings = dial_on(lap_map, at)
    along, across = np.array([0.0, 250, 250, 40]), np.array([0.0, 0, 60, 15])
    found = np.array(on_reference(readings, along, across))
    np.testing.assert_allclose(found, on_lap(at, along, across, down=False))
    assert found[:, 0].tolist() == [at.along_mm, at.across_mm]
    if toe == "left":
        assert found[:, 2].tolist() == [370.0, 210.0]
    if toe == "far":  # the heel points to the near edge
        assert found[:, 1].tolist() == [300.0, 80.0]


@pytest.mark.parametrize("toe", PLACES)
def test_the_map_is_taken_off_a_dial(toe: Toe) -> None:
    at = PLACES[toe]
    readings = dial_on(lap_map, at)
    np.testing.assert_allclose(left_over(readings, reference()), 0.0, atol=1e-9)
    # A quarter-turn changes the sign of the lap's twist, so it would come out double.
    turned: Toe = "left" if toe in ("far", "near") else "far"
    moved = replace(readings, reference_at=PLACES[turned])
    assert np.abs(left_over(moved, reference())).max() > 6


@pytest.mark.parametrize("toe", PLACES)
def test_the_map_is_taken_off_leaves_under_a_face_turned_over(toe: Toe) -> None:
    """Face down left and right change, and the lap's twist with them."""
    at = PLACES[toe]
    # Leaves of 1 µm and a tolerance of 0.1: every height is known within 0.6.
    np.testing.assert_allclose(
        left_over(leaves_on(lap_map, at), reference()), 0.0, atol=0.75
    )
    untouched = left_over(leaves_on(lap_map, at), reference(level))
    assert np.abs(untouched).max() > 3


def test_the_map_of_an_edge_is_taken_off_every_line() -> None:
    """The edge's middle lies over the line's middle; turned, it lies the other way."""
    edge = Face(length_mm=400.0, width_mm=10.0, kind="lap")

    def own(along: Array, across: Array) -> Array:
        t = (np.asarray(along) - 200) / 125
        return 20.0 * t**2 + 9.0 * t**3

    for turned in (None, "half"):
        rows = gaps_under(FACE_SHAPE, usual_lines(), bow_um=20.0, snake_um=9.0,
                          turned=turned == "half")  # fmt: skip
        readings = edge_set(rows, turned=turned)
        ref = reference(own, edge)
        # Between the map's places it is straight: 20 µm · (3 mm / 125 mm)² or so.
        np.testing.assert_allclose(left_over(readings, ref), 0.0, atol=0.05)
        assert np.abs(left_over(readings, reference(level, edge))).max() > 5


def test_sticks_and_levels_have_no_plate_under_them() -> None:
    readings = winding_set([(0.0, 250.0, 600.0, 100.0, "right")])
    (taken,) = take_each([readings])
    assert take_off(readings, taken, reference()) is taken
    check_placing(FACE, [readings], reference())


# --- Refusals


def test_a_face_that_was_not_placed_is_refused() -> None:
    readings = replace(dial_on(lap_map, PLACES["left"]), reference_at=None)
    with pytest.raises(BadInput, match="not where the face lay on it; add") as refused:
        answer([readings], reference=reference())
    assert "# reference_at: ALONG mm, ACROSS mm" in str(refused.value)


@pytest.mark.parametrize(
    ("at", "over"),
    [
        (ReferenceAt(along_mm=380.0, across_mm=100.0), 30),
        (ReferenceAt(along_mm=100.0, across_mm=-20.0), 20),
        (ReferenceAt(along_mm=240.0, across_mm=100.0, toe="right"), 10),
        (ReferenceAt(along_mm=100.0, across_mm=240.0, toe="far"), 10),
        (ReferenceAt(along_mm=50.0, across_mm=100.0, toe="near"), 10),
    ],
)
def test_a_face_that_reaches_off_the_lap_is_refused(at: ReferenceAt, over: int) -> None:
    readings = replace(dial_on(lap_map, PLACES["left"]), reference_at=at)
    words = rf"reaches {over} mm over the edge of lap\.csv, which is 600 × 400 mm"
    with pytest.raises(BadInput, match=words):
        answer([readings], reference=reference())


def test_leaves_face_down_are_placed_mirrored() -> None:
    """0,0 is the face's toe-left corner, which face down is not the nearest one."""
    at = ReferenceAt(along_mm=100.0, across_mm=30.0)
    check_placing(FACE, [replace(dial_on(lap_map, at))], reference())
    leaves = replace(leaves_on(lap_map, PLACES["left"]), reference_at=at)
    with pytest.raises(BadInput, match="reaches 30 mm over the edge"):
        check_placing(FACE, [leaves], reference())


def test_a_line_longer_than_the_measured_edge_is_refused() -> None:
    edge = Face(length_mm=200.0, width_mm=10.0, kind="lap")
    readings = edge_set(gaps_under(FACE_SHAPE, usual_lines()))
    with pytest.raises(BadInput, match="a line is 257 mm long, but the edge measured"):
        answer([readings], reference=reference(level, edge))


def test_every_mistake_of_every_file_is_told() -> None:
    one = replace(dial_on(lap_map, PLACES["left"]), reference_at=None, source="one")
    two = replace(dial_on(lap_map, PLACES["left"]), source="two",
                  reference_at=ReferenceAt(along_mm=590.0, across_mm=0.0))  # fmt: skip
    with pytest.raises(BadInput) as refused:
        answer([one, two], reference=reference())
    first, second = refused.value.mistakes
    assert first.startswith("one: ")
    assert second.startswith("two: ")


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (dial_set(read_shape(grid_places(5, 3), FACE_SHAPE)), "this is a sole"),
        (
            dial_set(read_shape(grid_places(5, 2, LAP), form_shape(LAP)), face=LAP),
            "its across-bow was not measured",
        ),
    ],
)
def test_what_is_no_reference_is_refused(readings: ReadingSet, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        as_reference(answer([readings]))


# --- Whole answers


def test_a_measured_lap_leaves_the_face_as_it_is() -> None:
    """The lap is read, its map taken off; the face comes out, and the warning goes."""
    hollow = form_shape(LAP, along_bow=-60, across_bow=-25, twist=90)
    lap = dial_set(
        read_shape(grid_places(9, 7, LAP, edge_mm=0.0), hollow),
        face=LAP, repeatability_um=0.3,
    )  # fmt: skip
    at = PLACES["right"]
    readings = dial_on(hollow, at)
    blind = answer([readings])
    found = answer([readings], reference=as_reference(answer([lap])))
    for name, true in (("along_bow", -30), ("across_bow", 5), ("twist", 40)):
        form = getattr(found.form, name)
        assert form.um == pytest.approx(true, abs=max(1.0, 2 * form.u_um)), name
    assert blind.form.twist is not None
    assert abs(blind.form.twist.um - 40) > 3
    assert any("Relative to the plate" in w for w in blind.warnings)
    assert not any("Relative to the plate" in w for w in found.warnings)


@pytest.mark.parametrize("method", ["dial", "feeler"])
def test_the_doubt_of_the_map_is_carried(method: str) -> None:
    """A doubt of 60 µm in the lap's bow over 600 mm is one of 60·(250/600)² = 10.4 µm
    under the face, wherever it lies."""
    readings = (dial_on if method == "dial" else leaves_on)(level, PLACES["left"])
    for doubt in (0.0, 60.0):
        found = answer([readings], reference=reference(level, doubt_um=doubt))
        bow, twist = found.form.along_bow, found.form.twist
        assert bow is not None
        assert twist is not None
        if doubt == 0.0:
            bare, bare_twist = bow.u_um, twist.u_um
    expected = np.hypot(bare, 60.0 * (250 / 600) ** 2)
    assert bow.u_um == pytest.approx(expected, rel=0.1)
    assert twist.u_um == pytest.approx(bare_twist, rel=0.1)


def test_the_doubt_of_an_edges_map_is_a_dome() -> None:
    edge = Face(length_mm=250.0, width_mm=10.0, kind="lap")
    rows = gaps_under(FACE_SHAPE, usual_lines((*("left", "right", "centre"), "toe",
                                               "middle", "heel")))  # fmt: skip
    sticks = winding_set([(0.0, 250.0, 600.0, 400.0, "right")])
    sets = [edge_set(rows, repeatability_um=0.5), sticks]
    u = {}
    for doubt in (0.0, 20.0):
        with pytest.raises(BadInput, match="257 mm long"):
            answer([edge_set(gaps_under(FACE_SHAPE, usual_lines()))],
                   reference=reference(level, edge))  # fmt: skip
        form = answer(sets, reference=reference(level, edge, doubt)).form
        assert form.along_bow is not None
        assert form.twist is not None
        u[doubt] = form.along_bow.u_um, form.twist.u_um
    assert u[20.0][0] == pytest.approx(np.hypot(u[0.0][0], 20.0), rel=0.1)
    assert u[20.0][1] == pytest.approx(u[0.0][1], rel=0.1)
