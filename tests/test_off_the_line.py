"""Places written to whole millimetres lie a little beside their line.

A bend of a diagonal must not pass for a tilt of the whole face, which such places would
otherwise seem to see: the edge's or the level's own tilt is unknown on every line.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest

from lapping.face import Face
from lapping.methods.level import take_level
from lapping.methods.network import adjust
from lapping.methods.stations import on_line
from lapping.methods.straightedge import take_edges
from lapping.methods.taken import Taken
from lapping.planes import least_squares
from lapping.readings import EdgeReading, LevelReading, ReadingSet
from lapping.surface.form import unseen_shapes
from tests.reference.line_samples import pattern

FACE = Face(length_mm=450, width_mm=64)
LINES = pattern(diagonals=True)


def height_um(along: float, across: float) -> float:
    """Give a twist, a crown and a bend that only diagonals have."""
    a, c = along / 225 - 1, across / 32 - 1
    return 40 * a * c - 20 * a * a + 30 * a * c * (a * a - 1) * (c * c - 1)


def test_the_diagonals_of_the_pattern_are_written_beside_their_lines() -> None:
    _, stations = LINES[-1]
    off = on_line(*np.array(stations, dtype=np.float64).T)[1]
    assert 0.1 < np.abs(off).max() < 1


def edges() -> Taken:
    """Read every line with an edge that lies on it at a height of its own."""
    rows = [
        EdgeReading(
            line_name=name, along_mm=a, across_mm=c, seat="1", entered_as="", line=1,
            gap_um=(gap := 300 + 20 * n - height_um(a, c)),
            goes_um=gap, stops_um=None, goes_leaves=0, stops_leaves=0,
        )
        for n, (name, stations) in enumerate(LINES)
        for a, c in stations
    ]  # fmt: skip
    return take_edges(
        ReadingSet(
            source="test",
            method="straightedge",
            face=FACE,
            unit="um",
            readings=tuple(rows),
            step_um=1,
        )
    )


def levels() -> Taken:
    """Read every line by an autocollimator that is set up anew for it."""
    rows = [
        LevelReading(
            line_name=name, along_1_mm=one[0], across_1_mm=one[1],
            along_2_mm=two[0], across_2_mm=two[1], entered_as="", line=1,
            slope_um_per_m=30 * n
            + 1000 * (height_um(*two) - height_um(*one)) / math.dist(one, two),
        )
        for n, (name, stations) in enumerate(LINES)
        for one, two in itertools.pairwise(stations)
    ]  # fmt: skip
    return take_level(
        ReadingSet(
            source="test",
            method="level",
            face=FACE,
            unit="um/m",
            readings=tuple(rows),
            step_um=1,
            datum="line",
        )
    )


@pytest.mark.parametrize("take", [edges, levels])
def test_no_tilt_of_the_face_is_seen_and_every_height_is(
    take: Callable[[], Taken],
) -> None:
    obs = take().observations
    assert unseen_shapes(FACE, obs) == ()
    network = adjust(FACE, obs)
    assert network.unseen.shape[1] == 0
    heights = network.heights
    true = [
        height_um(a, c)
        for a, c in zip(heights.along_mm, heights.across_mm, strict=True)
    ]
    level = least_squares(heights.along_mm, heights.across_mm, true).residual_um
    np.testing.assert_allclose(heights.height_um, level, atol=1.0)
