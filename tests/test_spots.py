"""High and low spots: peaks that stand over their saddles, by hand-made maps."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.answer import answer
from lapping.face import Face, Hole
from lapping.grid import Grid, metal_grid
from lapping.surface.spots import LEAST_SHARE, SHOWN, Read, Spot, spots
from tests.made_readings import FACE, dial_set, grid_places, read_shape

Array = NDArray[np.float64]
GRID = metal_grid(FACE)


def bump(along: float, across: float, height: float, radius: float) -> Array:
    d2 = (GRID.along_mm - along) ** 2 + (GRID.across_mm - across) ** 2
    return np.asarray(height * np.exp(-d2 / (2 * radius**2)))


def read_at(*rows: tuple[float, float, float], u: float = 0.5) -> Read:
    """Give places read (along, across, height), none of them as a rule."""
    along, across, height = np.array(rows, dtype=np.float64).reshape(-1, 3).T
    return Read(
        along_mm=along,
        across_mm=across,
        height_um=height,
        u_um=np.full(along.size, u),
    )


NOTHING = read_at()
Spots = tuple[tuple[Spot, ...], tuple[Spot, ...]]


def found(
    height: Array, u: float = 0.5, grid: Grid = GRID, read: Read = NOTHING
) -> Spots:
    everywhere = np.ones(height.size, dtype=np.bool_)
    return spots(grid, height, np.full(height.size, u), shown=everywhere, read=read)


def test_a_flat_map_has_no_spots() -> None:
    assert found(np.zeros(GRID.along_mm.size)) == ((), ())


def test_a_bump_is_a_high_spot_and_a_dip_a_low_one() -> None:
    height = bump(60, 15, 20.0, 12) - bump(190, 45, 15.0, 15)
    high, low = found(height)
    (top,), (bottom,) = high, low
    step = max(np.diff(GRID.along_axis_mm[:2])[0], np.diff(GRID.across_axis_mm[:2])[0])
    assert np.hypot(top.along_mm - 60, top.across_mm - 15) <= step
    assert np.hypot(bottom.along_mm - 190, bottom.across_mm - 45) <= step
    assert top.height_um == pytest.approx(height.max())
    assert bottom.height_um == pytest.approx(height.min())
    assert top.height_um > 0 > bottom.height_um
    assert top.sure
    assert bottom.sure


def test_turning_the_map_over_swaps_high_and_low() -> None:
    height = bump(60, 15, 20.0, 12) - bump(190, 45, 15.0, 15)
    high, low = found(height)
    other_high, other_low = found(-height)
    for ours, theirs in ((high, other_low), (low, other_high)):
        assert [(s.along_mm, s.across_mm, -s.height_um) for s in ours] == [
            (s.along_mm, s.across_mm, s.height_um) for s in theirs
        ]


def test_the_area_is_that_above_half_the_prominence() -> None:
    """A cone over a plate at 0: half its height is at half its radius."""
    d = np.hypot(GRID.along_mm - 125, GRID.across_mm - 30)
    cone = np.maximum(0.0, 1 - d / 28) * 20
    (top,), _ = found(cone)
    assert top.area_mm2 == GRID.cell_mm2 * np.sum(cone >= cone.max() / 2)
    assert top.area_mm2 == pytest.approx(np.pi * 14**2, rel=0.35)


def test_two_bumps_are_two_spots_with_the_saddle_between_them() -> None:
    height = bump(60, 30, 20.0, 15) + bump(190, 30, 12.0, 15)
    high, _ = found(height)
    assert [round(s.height_um) for s in high] == [20, 12]
    # Sure or not goes by the height over the saddle, here near 0.
    barely = 12.0 / 2.05
    assert [s.sure for s in found(height, u=barely)[0]] == [True, True]
    assert [s.sure for s in found(height, u=12.0 / 1.9)[0]] == [True, False]
    assert len(found(height, u=12.0 / 0.9)[0]) == 1


def test_a_shoulder_that_no_saddle_parts_is_no_spot_of_its_own() -> None:
    height = bump(100, 30, 20.0, 25) + bump(125, 30, 10.0, 25)
    assert len(found(height)[0]) == 1


def test_little_spots_are_not_listed() -> None:
    least = LEAST_SHARE * 20.0
    with_big = bump(60, 30, 20.0, 12) + bump(190, 30, 0.8 * least, 12)
    assert len(found(with_big, u=0.01)[0]) == 1
    with_bigger = bump(60, 30, 20.0, 12) + bump(190, 30, 1.2 * least, 12)
    assert len(found(with_bigger, u=0.01)[0]) == 2


def test_at_most_so_many_are_shown_and_the_most_prominent_first() -> None:
    centres = [(a, c) for a in (25, 75, 125, 175, 225) for c in (10, 50)]
    height = sum(
        (bump(a, c, 10.0 + i, 7) for i, (a, c) in enumerate(centres)),
        start=np.zeros(GRID.along_mm.size),
    )
    high, _ = found(height)
    assert len(high) == SHOWN
    tops = [s.height_um for s in high]
    assert tops == sorted(tops, reverse=True)


def test_what_is_not_shown_holds_no_spot() -> None:
    height = bump(60, 15, 20.0, 12) + bump(190, 45, 30.0, 12)
    shown = GRID.along_mm < 125
    u = np.full(height.size, 0.5)
    high, _ = spots(GRID, height, u, shown=shown, read=NOTHING)
    assert [round(s.height_um) for s in high] == [20]
    nowhere = np.zeros(height.size, dtype=np.bool_)
    assert spots(GRID, height, u, shown=nowhere, read=NOTHING) == ((), ())


def test_ground_below_the_plane_is_no_high_spot() -> None:
    """A rise inside a hollow stands over its saddle and still meets no lap."""
    height = bump(125, 30, 3.0, 8) - bump(125, 30, 20.0, 40) + 2.0
    high, _ = found(height, u=0.1)
    assert all(s.height_um > 0 for s in high)


def test_metal_on_both_sides_of_a_hole_is_parted_by_it() -> None:
    face = Face(length_mm=250.0, width_mm=60.0, holes=(Hole(
        along_mm=125.0, across_mm=30.0, diameter_mm=59.0),))  # fmt: skip
    grid = metal_grid(face)
    assert grid.along_mm.size < GRID.along_mm.size
    height = np.abs(grid.along_mm - 125)
    high, _ = found(height, grid=grid)
    assert {s.along_mm < 125 for s in high} == {True, False}


def test_a_higher_place_read_beside_a_peak_is_the_peak() -> None:
    """The grid passes beside a rivet head; the indicator stood on it."""
    height = bump(60, 15, 20.0, 12)
    (top,), _ = found(height)
    beside = (top.along_mm + 2.0, top.across_mm + 1.0)
    (spot,), _ = found(height, read=read_at((*beside, 25.0), u=0.7))
    assert (spot.along_mm, spot.across_mm) == beside
    assert (spot.height_um, spot.u_um) == (25.0, 0.7)
    assert spot.area_mm2 == top.area_mm2
    for other in ((*beside, 19.0), (top.along_mm + 40, top.across_mm, 25.0)):
        assert found(height, read=read_at(other))[0] == (top,)
    _, (low,) = found(-height, read=read_at((*beside, -25.0)))
    assert (low.along_mm, low.across_mm, low.height_um) == (*beside, -25.0)


def test_a_rivet_in_an_answer_is_found_where_it_is() -> None:
    """30 µm proud, 14 mm wide, read on a grid that passes over it."""
    places = grid_places(9, 5)

    def proud(along: Array, across: Array) -> Array:
        d2 = (along - 65.0) ** 2 + (across - 30.0) ** 2
        return np.asarray(30 * np.exp(-d2 / (2 * 14.0**2)))

    result = answer([dial_set(read_shape(places, proud), repeatability_um=0.5)])
    top = result.high_spots[0]
    assert np.hypot(top.along_mm - 65, top.across_mm - 30) < 16
    assert top.sure
    assert top.height_um > 15
