"""Sets on several plates, or on none: what they differ in, and what stays in doubt."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations

import numpy as np
import pytest

from lapping.answer import answer
from lapping.methods.combine import combine
from lapping.methods.take import take_each
from lapping.readings import ReadingSet
from tests.made_lines import edge_set, gaps_under, level_set, slopes_of, usual_lines
from tests.made_lines import winding_set as sticks_set
from tests.made_readings import (
    FACE,
    dial_set,
    feeler_set,
    form_shape,
    grid_places,
    leaves_under,
    read_shape,
)

SHAPE = form_shape(along_bow=-60, across_bow=6, twist=50)


def dial(flatness_um: float | None, **plate: float) -> ReadingSet:
    """Read the face on a plate whose own form is added to it."""
    one, other = SHAPE, form_shape(**plate)
    rows = read_shape(grid_places(7, 4), lambda a, c: one(a, c) + other(a, c))
    return dial_set(rows, repeatability_um=0.2, reference_flatness_um=flatness_um)


def level() -> ReadingSet:
    lines = usual_lines()
    return level_set(slopes_of(SHAPE, lines, [30.0] * 8), repeatability_um=2.0)


def sticks() -> ReadingSet:
    row = (0.0, 250.0, 600.0, 500.0, "right")
    return sticks_set([row] * 4, repeatability_um=5.0)


def leaves(flatness_um: float) -> ReadingSet:
    rim = [p for p in grid_places(6, 3, edge_mm=0.0) if FACE.at_rim(*p)]
    rows = leaves_under(rim, lambda a, c: 90 - SHAPE(a, c), tuple(range(10, 300, 10)))
    return feeler_set(rows, reference_flatness_um=flatness_um)


def figures(sets: Sequence[ReadingSet]) -> dict[str, tuple[float, float]]:
    form = answer(sets).form
    assert form.along_bow is not None
    assert form.twist is not None
    return {
        "bow": (form.along_bow.um, form.along_bow.u_um),
        "twist": (form.twist.um, form.twist.u_um),
    }


@pytest.mark.parametrize("one", [40.0, 80.0])
@pytest.mark.parametrize("other", [40.0, 12.0])
def test_two_plates_doubt_less_than_the_better_of_them(
    one: float, other: float
) -> None:
    """A quarter of each stated flatness is its u; independent, they weigh by 1/u²
    (GUM H.3's weighted mean), and twist is four of its coefficient."""
    together = (16 / one**2 + 16 / other**2) ** -0.5
    found = figures([dial(one), dial(other)])
    assert found["bow"][1] == pytest.approx(together, rel=0.12)
    assert found["twist"][1] == pytest.approx(4 * together, rel=0.12)


def test_plates_that_differ_meet_where_their_doubts_say() -> None:
    """Stated 20 and 40 µm, so weights of 4 and 1."""
    found = figures([dial(20.0, along_bow=10.0), dial(40.0)])
    assert found["bow"][0] == pytest.approx(-60 + 10 * 4 / 5, abs=0.5)
    found = figures([dial(40.0, twist=20.0), dial(20.0)])
    assert found["twist"][0] == pytest.approx(50 + 20 / 5, abs=0.5)


def test_what_is_seen_without_a_plate_tells_the_plate() -> None:
    plated = figures([dial(40.0, along_bow=9.0, twist=20.0)])
    assert plated["bow"][1] == pytest.approx(10, rel=0.12)
    free = figures([dial(40.0, along_bow=9.0, twist=20.0), level()])
    for name, true in (("bow", -60), ("twist", 50)):
        assert free[name][1] < 1.5, name
        assert free[name][0] == pytest.approx(true, abs=2.5 * free[name][1]), name


def test_sticks_tell_the_twist_of_a_plate_and_not_its_bows() -> None:
    found = figures([dial(40.0, along_bow=9.0, twist=20.0), sticks()])
    assert found["twist"][1] < 5
    assert found["twist"][0] == pytest.approx(50, abs=2.5 * found["twist"][1])
    assert found["bow"] == pytest.approx((-51, 10), rel=0.12)


def test_an_edge_has_no_twist_to_doubt() -> None:
    edge = edge_set(
        gaps_under(SHAPE, usual_lines()),
        repeatability_um=1.0,
        reference_flatness_um=40.0,
    )
    found = figures([dial(40.0, twist=20.0), edge])
    assert found["twist"][0] == pytest.approx(50, abs=2.5 * found["twist"][1])
    assert found["twist"][1] < 5
    assert found["bow"][1] == pytest.approx(10 / 2**0.5, rel=0.12)


def test_which_file_is_given_first_is_nothing_but_a_datum() -> None:
    """Finely read slopes beside coarse leaves, with all the datums between them."""
    sets = [dial(10.0), leaves(10.0), level(), sticks()]
    ways = [answer(order) for order in list(permutations(sets))[::5]]
    first = ways[0]
    assert first.form.twist is not None
    for other in ways[1:]:
        assert other.form.twist is not None
        assert other.form.twist.um == pytest.approx(first.form.twist.um, abs=1e-3)
        assert other.form.twist.u_um == pytest.approx(first.form.twist.u_um, rel=0.2)
        assert other.likely.likely_um == pytest.approx(
            first.likely.likely_um, abs=0.5 * first.form.twist.u_um
        )


def test_one_set_alone_is_left_as_it_is() -> None:
    (taken,) = take_each([dial(40.0)])
    assert combine(FACE, [taken]) is taken
    assert taken.observations.unknown_u.size == 0
    np.testing.assert_array_equal(taken.observations.reference_u_um, 10.0)
