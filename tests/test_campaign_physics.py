"""The simulated workshop against what is known of pressure, heat and laps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lapping.face import Face
from tests.campaign.angles import map_lap
from tests.campaign.bench import Bench
from tests.campaign.body import METALS, Body, cut, weights
from tests.campaign.contact import Cushion, settle
from tests.campaign.draw import KINDS, draw
from tests.campaign.edges import LeavesOnPlate
from tests.campaign.leaves import make_leaves
from tests.campaign.rubbing import Way, rub
from tests.campaign.surroundings import GRADES, Hand, Make, Sheet, Surface
from tests.campaign.truth import truth, zone_um

SOLE = Face(length_mm=250.0, width_mm=60.0)
LINEAR = Cushion(sinks_um=20.0, power=1.0, dish_um=0.0, reach_mm=8.0)
STEADY = Make(
    p80_um=10.0, by_grain=0.8, life_strokes=1e9, life_power=1.0, floor=1.0, clogs=0.0,
    by_pressure=1.0, scratch_share=0.1,
)  # fmt: skip
CENTRED = Hand(swing=0.0, rock_mm=0.0, load_n=60.0, tires_mm=0.0)
LAP = Surface(name="lap", kind="plate", length_mm=700, width_mm=300)
IN_THE_MIDDLE = Way(along_mm=350.0, across_mm=150.0)


def body(height_um: float = 0.0) -> Body:
    """Make a level body of cast iron that does not warm."""
    cells = cut(SOLE)
    return Body(
        face=SOLE,
        cells=cells,
        metal=METALS[0],
        height_um=np.full(cells.along_mm.size, height_um),
        heating_k=0.0,
    )


def lapped(plane: Body, lap: Surface, strokes: int, hand: Hand = CENTRED) -> Body:
    """Rub it with paper that never ages."""
    sheet = Sheet(grade=GRADES[0], make=STEADY)
    for _ in rub(plane, lap, LINEAR, sheet, hand, strokes, way=IN_THE_MIDDLE):
        pass
    return plane


@pytest.mark.parametrize("share", [0.0, 0.1, 1 / 6, 0.25, 0.3])
def test_a_load_off_the_middle_presses_as_under_a_rigid_footing(share: float) -> None:
    """Rigid footing on an even bed, load off by e: F/A·(1 + 6e/L) up to L/6, and
    2F/(3·W·(L/2 − e)) beyond, where one end lifts (textbook of foundations; from
    memory, and by statics of a triangle of pressure)."""
    cells = cut(SOLE)
    off = share * SOLE.length_mm
    pressed = np.array([[SOLE.length_mm / 2 + off, SOLE.width_mm / 2]])
    top = np.zeros((1, cells.along_mm.size))
    kpa, _ = settle(
        cells, LINEAR, top, np.ones_like(top, dtype=np.bool_), 60.0, pressed
    )
    even = 60.0e3 / (SOLE.length_mm * SOLE.width_mm)
    most = even * (1 + 6 * share)
    if share > 1 / 6:
        most = 2 * 60.0e3 / (3 * SOLE.width_mm * (SOLE.length_mm / 2 - off))
    # The outermost cell's middle is half a step in from the rim.
    last, before = (kpa[0][cells.row == cells.rows - back].mean() for back in (1, 2))
    assert last + (last - before) / 2 == pytest.approx(most, rel=0.02)
    force = (kpa * cells.area_mm2).sum() / 1e3
    assert force == pytest.approx(60.0, rel=1e-5)
    moment = (kpa[0] * cells.area_mm2 * cells.along_mm).sum() / 1e3
    assert moment == pytest.approx(60.0 * pressed[0, 0], rel=1e-5)


def test_what_is_taken_off_is_rate_times_load_and_path_wherever_it_bears() -> None:
    """Preston (1927): with wear in proportion to pressure the volume does not depend
    on how the pressure is spread."""
    level, hollow = body(), body()
    hollow.height_um = 100 * (2 * hollow.cells.along_mm / 250 - 1) ** 2
    gone = [lapped(one, LAP, 50).removed_um.mean() for one in (level, hollow)]
    even_kpa = 60.0 / (250 * 60) * 1e3
    assert gone[0] == pytest.approx(10.0 * 0.5 * even_kpa / 5.0, rel=1e-6)
    assert gone[1] == pytest.approx(gone[0], rel=1e-4)


def test_a_hollow_crowned_or_wound_face_comes_flat_on_a_flat_lap() -> None:
    a, c = cut(SOLE).along_mm / 125 - 1, cut(SOLE).across_mm / 30 - 1
    for shape in (60 * a**2, -60 * a**2, 30 * a * c):
        plane = body()
        plane.height_um = shape
        lapped(plane, LAP, 2500)
        assert truth(plane, 80.0).whole_um < 1.0


def test_a_lap_is_copied_by_the_square_of_the_lengths_and_twist_in_the_same_sense() -> (
    None
):
    """Geometry of a second-degree surface: bows upside down by the square of the
    ratio of lengths, twist in the same sense by the ratio of areas."""
    bent = replace(LAP, along_bow_um=200.0, twist_um=150.0)
    still = replace(CENTRED, stroke_mm=120.0)
    plane = lapped(body(), bent, 6000, still)
    found = truth(plane, 80.0)
    assert bent.copied_um(SOLE)[0] == pytest.approx(-200 * (250 / 700) ** 2)
    # Strokes along the lap mix places of it, which no bow or twist notices.
    assert found.along_bow_um == pytest.approx(bent.copied_um(SOLE)[0], rel=0.05)
    assert found.twist_um == pytest.approx(bent.copied_um(SOLE)[2], rel=0.05)


def test_a_load_that_swings_far_crowns_a_flat_face_and_one_off_centre_leans_it() -> (
    None
):
    quiet = lapped(body(), LAP, 1000, replace(CENTRED, swing=0.05))
    wild = lapped(body(), LAP, 1000, replace(CENTRED, swing=0.42))
    aside = lapped(body(), LAP, 1000, replace(CENTRED, off_mm=3.0))
    assert truth(quiet, 80.0).along_bow_um < 0.5
    assert truth(wild, 80.0).along_bow_um > 20
    found = truth(aside, 80.0)
    assert found.whole_um < 1
    # Off by e on a face W wide: the ends differ by 12·e/W of the mean, until it tilts.
    assert found.lean_um == pytest.approx(
        12 * 3 / 60 * aside.removed_um.mean(), rel=0.1
    )


def test_a_warm_face_bows_by_the_published_formula_and_cools() -> None:
    """Bow α·ΔT·L²/(8h): grey iron 10.8e-6, 250 mm, 50 mm, 1 K gives 1.69 µm."""
    plane = body()
    assert plane.bow_per_k == pytest.approx(1.6875)
    plane.warm_k = 1.0
    assert np.ptp(plane.seen_um()) == pytest.approx(1.69, abs=0.08)
    plane.rest(plane.settles_min)
    assert plane.warm_k == pytest.approx(np.exp(-1))


def test_the_zone_of_nine_heights_is_27() -> None:
    """The 3 × 3 block whose minimum zone is 27 exactly (optimum proved by hand)."""
    along, across = np.repeat([0.0, 1, 2], 3), np.tile([0.0, 1, 2], 3)
    height = np.array([[0.0, 4, 6], [-5, 20, -9], [-10, -3, 8]]).T.ravel()
    assert zone_um(along, across, height) == pytest.approx(27.0)


def test_readings_with_leaves_are_gaps_from_the_rim() -> None:
    plane = body()
    plane.height_um = -60 * (1 - (2 * plane.cells.along_mm / 250 - 1) ** 2)
    plate = Surface(name="p", kind="plate", length_mm=600, width_mm=400)
    rng = np.random.default_rng(1)
    leaves = make_leaves(rng, error_um=0.0)
    gauge = LeavesOnPlate(name="leaves", leaves=leaves, plate=plate, along=5)
    rows = gauge.read(plane, rng, finer=False).rows
    middle = [r for r in rows if float(r[0]) == 125.0]
    assert middle
    assert all(r[2] in ("50", "60") and r[3] in ("60", "70") for r in middle)
    ends = [r for r in rows if float(r[0]) < 5]
    assert all(r[2] == "0" for r in ends)


def test_heights_between_cells_lie_on_a_plane_and_heads_are_their_own() -> None:
    plane = body()
    plane.height_um = 3.0 * plane.cells.along_mm - 2.0 * plane.cells.across_mm
    places = [(6.0, 5.0), (100.0, 30.0), (244.0, 55.0)]
    found = weights(plane, [p[0] for p in places], [p[1] for p in places])
    assert found @ plane.height_um == pytest.approx([3 * a - 2 * c for a, c in places])


def test_a_mapped_lap_reads_as_it_is() -> None:
    lap = replace(LAP, along_bow_um=-120.0)
    taken = map_lap(lap, np.random.default_rng(2))
    line = [r for r in taken.rows if r[0] == "along 1"]
    slopes = np.array([float(r[5]) for r in line])
    # A parabola's slope falls evenly: by 8·bow/L² a mm, here per metre of 100 mm steps.
    change = np.polyfit(np.arange(slopes.size), slopes, 1)[0]
    assert change == pytest.approx(8 * 120 / 700**2 * 100 * 1000, rel=0.15)


def test_every_kind_of_workshop_is_drawn_the_same_again() -> None:
    for number, kind in enumerate(KINDS):
        one, two = draw(number, 5), draw(number, 5)
        assert one.kind == kind
        assert np.array_equal(one.height_um, two.height_um)
        start = Bench(one).truth()
        assert start.whole_um > 0
        assert one.hand == two.hand
