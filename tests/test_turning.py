"""The work turned on its plate: what that tells of the plate, and what it does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.methods.combine import combine
from lapping.methods.network import adjust
from lapping.methods.take import take_each
from lapping.methods.turning import share_the_plate, what_turning_tells
from lapping.planes import least_squares
from lapping.readings import ReadingSet
from lapping.words.answer_json import to_json
from tests.made_lines import along_line, edge_set, gaps_under, usual_lines
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
FACE_SHAPE = form_shape(along_bow=-20, across_bow=5, twist=40)
PLACES = grid_places(7, 4)


def plate(x: Array, y: Array) -> Array:
    """Give a plate's height in µm at x, y mm from where the middle of the face lies.

    Two bows that differ, a twist, and cubic shapes besides when asked for.
    """
    return 24.0 * (x / 125) ** 2 - 8.0 * (y / 125) ** 2 + 15.0 * (x / 125) * (y / 125)


def odd(x: Array, y: Array) -> Array:
    """Give shapes that change their sign end for end."""
    u, v = x / 125, y / 125
    return 9.0 * u**3 - 14.0 * u**2 * v + 20.0 * u * v**2 + 30.0 * v**3


def under(face: Shape, lap: Shape, turned: str | None) -> Shape:
    """Give what an indicator over the plate shows: the face less the plate."""

    def seen(along: Array, across: Array) -> Array:
        x, y = np.asarray(along) - 125.0, np.asarray(across) - 30.0
        match turned:
            case "half":
                x, y = -x, -y
            case "quarter":
                x, y = -y, x
        return np.asarray(face(along, across) - lap(x, y))

    return seen


def dial(
    lap: Shape,
    turned: str | None,
    places: Sequence[tuple[float, float]] = PLACES,
    **header: float,
) -> ReadingSet:
    return dial_set(
        read_shape(places, under(FACE_SHAPE, lap, turned)),
        turned=turned,
        **{"repeatability_um": 0.2, "step_um": 0.1, **header},
    )


def left_over(*sets: ReadingSet) -> Array:
    """Give the adjusted heights less those of the face, about their planes."""
    taken = combine(FACE, share_the_plate(FACE, sets, take_each(sets)))
    network = adjust(FACE, taken.observations)
    assert network.unseen.shape[1] == 0
    np.testing.assert_allclose(network.residual_um, 0.0, atol=1e-7)
    places = network.heights.along_mm, network.heights.across_mm
    level = least_squares(*places, FACE_SHAPE(*places)).residual_um
    return network.heights.height_um - level


def about_plane(shape: Shape) -> Array:
    """Give a shape at the places read, about its plane."""
    along, across = np.array(PLACES).T
    return least_squares(along, across, shape(along - 125, across - 30)).residual_um


def test_a_quarter_turn_separates_twist_and_the_difference_of_the_bows() -> None:
    """Exactly: the plate's two bows are 24 and -8 on one length, half their sum 8 is
    left as a dome under the face, and its twist is gone."""
    sets = dial(plate, None), dial(plate, "quarter")
    left = left_over(*sets)
    dome = about_plane(lambda x, y: -8.0 * ((x / 125) ** 2 + (y / 125) ** 2))
    np.testing.assert_allclose(left, dome, atol=1e-7)
    # Not turned, all of the plate is left in the face.
    alone = left_over(sets[0])
    np.testing.assert_allclose(alone, -about_plane(plate), atol=1e-7)


def test_a_quarter_turn_in_figures() -> None:
    """A plate of this twist shows 4 × 15 × 60/250 = 14.4 µm on the face."""
    own = 14.4
    alone = answer([dial(plate, None)]).form
    both = answer([dial(plate, None), dial(plate, "quarter")])
    assert alone.twist is not None
    assert alone.twist.um == pytest.approx(40 - own, abs=0.5)
    assert both.form.twist is not None
    assert both.form.twist.um == pytest.approx(40, abs=0.5)
    assert both.form.twist.u_um < 1.0
    assert both.form.along_bow is not None
    # A bow of +x² is a hollow: 24 of it alone, and half the sum of the two after.
    assert alone.along_bow is not None
    assert alone.along_bow.um == pytest.approx(-20 + 24, abs=0.5)
    assert both.form.along_bow.um == pytest.approx(-20 + 8, abs=0.5)
    assert both.turned is not None
    assert both.turned.separated == ("twist", "difference of the plate's two bows")
    assert both.turned.confounded == ("sum of the plate's two bows",)
    assert to_json(both)["turned"] == {
        "separated": list(both.turned.separated),
        "confounded": list(both.turned.confounded),
    }


def test_stating_how_flat_the_plate_is_takes_nothing_back() -> None:
    """The plate's form is one and the same under both sets: what the turn tells is
    told as well, and of the rest only the sum of the bows is in doubt."""
    stated = [
        dial(plate, turned, reference_flatness_um=40.0) for turned in (None, "quarter")
    ]
    one, both = answer(stated[:1]).form, answer(stated).form
    assert one.twist is not None
    assert both.twist is not None
    assert both.twist.um == pytest.approx(40, abs=0.5)
    assert both.twist.u_um < 1.0 < one.twist.u_um
    assert one.along_bow is not None
    assert both.along_bow is not None
    assert one.along_bow.u_um == pytest.approx(10.0, rel=0.15)
    assert both.along_bow.u_um == pytest.approx(10.0, rel=0.15)
    assert abs(both.along_bow.um + 20) < 2 * both.along_bow.u_um


def test_a_half_turn_leaves_both_bows_and_twist_as_they_were() -> None:
    sets = dial(plate, None), dial(plate, "half")
    np.testing.assert_allclose(left_over(*sets), -about_plane(plate), atol=1e-7)
    found = answer(sets)
    assert found.turned is not None
    assert found.turned.confounded == ("along-bow", "across-bow", "twist")
    assert found.turned.separated == (
        "shapes of the plate that change sign end for end",
    )
    assert found.form.twist is not None
    assert found.form.twist.um == pytest.approx(40 - 14.4, abs=0.5)


def test_a_half_turn_separates_what_changes_sign_end_for_end() -> None:
    once, again = dial(odd, None), dial(odd, "half")
    np.testing.assert_allclose(left_over(once, again), 0.0, atol=1e-7)
    np.testing.assert_allclose(left_over(once), -about_plane(odd), atol=1e-7)
    assert np.abs(about_plane(odd)).max() > 3


def test_a_turned_set_alone_separates_nothing() -> None:
    for turned in ("half", "quarter"):
        told = what_turning_tells([dial(plate, turned)])
        assert told is not None
        assert told.separated == ()
        assert told.confounded == ("along-bow", "across-bow", "twist")
    assert what_turning_tells([dial(plate, None)]) is None
    assert what_turning_tells([dial(plate, None), dial(plate, None)]) is None


def test_nothing_is_said_to_be_separated_that_is_not() -> None:
    """With a quarter-turn among them only its own shapes are solved for."""
    told = what_turning_tells([dial(plate, t) for t in (None, "half", "quarter")])
    assert told is not None
    assert told.separated == ("twist", "difference of the plate's two bows")
    np.testing.assert_allclose(
        left_over(*(dial(plate, t) for t in (None, "half", "quarter"))),
        about_plane(lambda x, y: -8.0 * ((x / 125) ** 2 + (y / 125) ** 2)),
        atol=1e-7,
    )


def test_leaves_turned_and_an_indicator_that_was_not_are_on_two_plates() -> None:
    """What was under the leaves need not be what the indicator stood on."""
    rim = [(a, c) for c in (0.0, 60.0) for a in np.linspace(0, 250, 6).tolist()]
    rim += [(0.0, 30.0), (250.0, 30.0)]
    rows = leaves_under(rim, lambda a, c: 60 - FACE_SHAPE(a, c),
                        tuple(np.arange(10.0, 200, 10)))  # fmt: skip
    leaves = replace(feeler_set(rows), turned="half")
    told = what_turning_tells([dial(plate, None), leaves])
    assert told is not None
    assert told.separated == ()
    assert told.confounded == ("along-bow", "across-bow", "twist")
    each = take_each([dial(plate, None), leaves])
    for one, other in zip(
        each, share_the_plate(FACE, [dial(plate, None), leaves], each), strict=True
    ):
        assert other.observations.shared == one.observations.shared == 0


def test_a_turned_dial_and_a_turned_edge_are_one_answer() -> None:
    """The plate and the edge each have shapes of their own that their sets share."""
    lines = usual_lines()
    edges = [
        edge_set(
            gaps_under(FACE_SHAPE, lines, snake_um=20.0, turned=turned == "half"),
            turned=turned, repeatability_um=0.5, reference_flatness_um=20.0,
        )
        for turned in (None, "half")
    ]  # fmt: skip
    # Read at the stations of the lines, which ties the one to the other.
    places = list(dict.fromkeys(p for line in lines for p in along_line(line)))
    dials = [dial(odd, turned, places) for turned in (None, "half")]
    sets = [dials[0], edges[0], dials[1], edges[1]]
    np.testing.assert_allclose(
        left_over(*[replace(s, reference_flatness_um=None) for s in sets]),
        0.0, atol=1e-6,
    )  # fmt: skip
    found = answer(sets)
    assert found.turned is not None
    assert "S-shape of the edge" in found.turned.separated
    assert "bow of the edge" in found.turned.confounded
    assert found.form.twist is not None
    assert found.form.twist.um == pytest.approx(40, abs=1.0)
