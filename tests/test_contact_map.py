"""Contact worked out from small squares of ink; all cases by hand, no other source."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lapping.advice.first_rows import by_contact
from lapping.contact_map import SUB, ContactMap, contact_map, squares
from lapping.face import Face, Hole, Mouth
from lapping.words.contact import contact_json, contact_report

SOLE = Face(length_mm=250, width_mm=60, mouth=Mouth(from_mm=80, to_mm=90))
ROWS, COLUMNS = squares(SOLE)


def of_ink(ink: np.ndarray, *, seen: float | np.ndarray = 1.0) -> ContactMap:
    """Make a map of a sole that had a full coat everywhere."""
    full = np.ones((ROWS, COLUMNS))
    return contact_map(
        SOLE, ink=ink, was=full, seen=full * seen, u=0.04, baseline="before photo"
    )


@pytest.mark.parametrize(("left", "percent"), [(1.0, 0.0), (0.0, 100.0), (0.25, 75.0)])
def test_even_ink_gives_its_share_everywhere(left: float, percent: float) -> None:
    found = of_ink(np.full((ROWS, COLUMNS), left))
    assert found.contact_percent == pytest.approx(percent)
    assert found.unknown_percent == pytest.approx(0)
    assert set(found.zones) == {"toe", "mouth", "heel", "edges"}
    assert all(v == pytest.approx(percent) for v in found.zones.values())


def test_the_mouth_is_no_metal_and_counts_for_nothing() -> None:
    found = of_ink(np.ones((ROWS, COLUMNS)))
    assert np.isnan(found.rubbed[8]).all()
    assert np.isfinite(np.delete(found.rubbed, 8, axis=0)).all()


def test_a_cell_is_one_less_the_ink_left_of_the_ink_there_was() -> None:
    """Sums of ink, not means of shares: a square that had little ink says little."""
    ink, was = np.zeros((ROWS, COLUMNS)), np.full((ROWS, COLUMNS), 0.5)
    was[0, 0], ink[0, 0] = 2.0, 2.0
    found = contact_map(
        SOLE, ink=ink, was=was, seen=np.ones_like(ink), u=0.04, baseline="before photo"
    )
    assert found.rubbed[0, 0] == pytest.approx(1 - 2.0 / (2.0 + 15 * 0.5))


def test_rubbed_ends_are_named_and_measured() -> None:
    ink = np.ones((ROWS, COLUMNS))
    ink[: 3 * SUB] = 0
    ink[-2 * SUB :, : 2 * SUB] = 0
    found = of_ink(ink)
    first, second = found.places
    assert first.where == "toe"
    assert first.area_mm2 == pytest.approx(30 * 60)
    assert second.where == "heel-left corner"
    # A place's own corner is rounded by a square.
    assert second.area_mm2 == pytest.approx(20 * 20, rel=0.02)
    assert found.zones["toe"] == pytest.approx(100)
    # Two of the heel's two and a half rows, two of its six columns.
    assert found.zones["heel"] == pytest.approx(100 * 2 * 2 / (2.5 * 6))
    assert found.zones["mouth"] == pytest.approx(0)


def test_what_was_not_seen_is_unknown_and_never_zero() -> None:
    seen = np.ones((ROWS, COLUMNS))
    seen[: 10 * SUB] = 0
    found = of_ink(np.zeros((ROWS, COLUMNS)), seen=seen)
    assert np.isnan(found.rubbed[:10]).all()
    assert found.zones["toe"] is None
    assert found.contact_percent == pytest.approx(100)
    # Ten rows of 25, one of which is the mouth.
    assert found.unknown_percent == pytest.approx(100 * 9 / 24)
    dark = of_ink(np.zeros((ROWS, COLUMNS)), seen=0.0)
    assert dark.contact_percent is None
    assert "Cannot tell" in contact_report(dark, ["dark.jpg"])


def test_a_place_that_never_had_ink_is_not_seen() -> None:
    was = np.ones((ROWS, COLUMNS))
    was[:SUB, :SUB] = 0.05
    found = contact_map(
        SOLE,
        ink=np.zeros_like(was),
        was=was,
        seen=np.ones_like(was),
        u=0.04,
        baseline="before photo",
    )
    assert np.isnan(found.rubbed[0, 0])


@given(st.integers(0, 2**32 - 1))
def test_turning_the_face_turns_the_map(seed: int) -> None:
    rng = np.random.default_rng(seed)
    plain = Face(length_mm=180, width_mm=50, holes=())
    shape = squares(plain)
    ink, was, seen = rng.uniform(0, 1, (3, *shape))
    one, two = (
        contact_map(plain, ink=i, was=w, seen=s, u=0.1, baseline="estimated")
        for i, w, s in ((ink, was, seen), (ink[::-1], was[::-1], seen[::-1]))
    )
    np.testing.assert_allclose(one.rubbed, two.rubbed[::-1])
    assert one.zones["toe"] == pytest.approx(two.zones["heel"])
    assert one.unknown_percent == pytest.approx(two.unknown_percent)


def test_holes_take_their_part_of_a_cell() -> None:
    holed = Face(
        length_mm=100,
        width_mm=50,
        holes=(Hole(along_mm=25, across_mm=25, diameter_mm=30),),
    )
    ones = np.ones(squares(holed))
    found = contact_map(
        holed, ink=ones, was=ones, seen=ones, u=0.1, baseline="estimated"
    )
    assert np.isnan(found.rubbed[2, 2])
    lost = (1 - found.metal).sum() * 100
    assert lost == pytest.approx(np.pi * 15**2, rel=0.02)


def test_json_has_the_cells_with_none_for_what_was_not_seen() -> None:
    seen = np.ones((ROWS, COLUMNS))
    seen[-SUB:, -SUB:] = 0
    keys = contact_json(
        of_ink(np.full((ROWS, COLUMNS), 0.5), seen=seen), np.zeros((4, 2)), "given", 1.0
    )
    assert (keys["cells"]["rows"], keys["cells"]["columns"]) == (25, 6)
    assert keys["cells"]["rubbed"][0][0] == 0.5
    assert keys["cells"]["rubbed"][-1][-1] is None
    assert keys["cells"]["unknown"][-1][-1] == 1.0
    assert keys["contact_percent"] == pytest.approx(50)
    assert keys["high_spots"][0].keys() == {
        "where",
        "along_mm",
        "across_mm",
        "area_mm2",
    }


def test_the_report_says_which_zone_bears_least() -> None:
    ink = np.ones((ROWS, COLUMNS))
    ink[: 4 * SUB] = 0
    said = contact_report(of_ink(ink), ["after.jpg", "before.jpg"])
    assert said.startswith("Bears 17 ± ")
    assert "toe 100 %" in said
    assert "not even, the land ahead of the mouth bears least" in " ".join(said.split())
    assert "Flatness not measured" in said


@pytest.mark.parametrize(("land", "said"), [(0.0, "not even"), (0.5, "about alike")])
def test_zones_bear_alike_by_their_shares(land: float, said: str) -> None:
    ink = np.full((ROWS, COLUMNS), 0.4)
    ink[6 * SUB : 8 * SUB] = 1 - land
    told = contact_report(of_ink(ink), ["after.jpg"])
    assert said in " ".join(told.split())


def test_a_face_that_hardly_bears_is_not_called_even() -> None:
    said = contact_report(of_ink(np.full((ROWS, COLUMNS), 0.98)), ["after.jpg"])
    assert "hardly bear yet" in " ".join(said.split())


def test_a_place_is_named_once_and_what_to_do_comes_last() -> None:
    ink = np.ones((ROWS, COLUMNS))
    for row in (14, 17):
        ink[row * SUB : (row + 1) * SUB, 2 * SUB : 4 * SUB] = 0
    said = contact_report(of_ink(ink), ["after.jpg"])
    assert said.count("middle, centre") == 1
    assert "twenty strokes more" in said
    ink[:] = 0
    said = " ".join(contact_report(of_ink(ink), ["after.jpg"]).split())
    assert "Next Measure before you go on: it bears all over" in said
    assert by_contact(of_ink(ink)).action == "measure"
    ink[: 12 * SUB] = 1
    said = " ".join(contact_report(of_ink(ink), ["after.jpg"]).split())
    assert "look again, until toe, land ahead of the mouth and edges bear too" in said
    ink[:] = 1
    ink[: 6 * SUB, : 3 * SUB] = ink[-6 * SUB :, 3 * SUB :] = 0
    said = " ".join(contact_report(of_ink(ink), ["after.jpg"]).split())
    assert "the other two corners are not: a sign of twist." in said
    assert "Next Keep lapping: bear on toe-left corner" in said
    assert by_contact(of_ink(ink)).action == "keep lapping"


def test_lines_laid_half_a_square_aside_make_no_stripes() -> None:
    """Untouched lines 7.5 mm apart, which registration put a little to one side."""
    was = np.tile(np.array([1.0, 0.6, 0.2]), ROWS // 3 + 1)[:ROWS, None]
    ink = np.roll(was, 1, axis=0) * 0.5 + was * 0.5
    found = contact_map(
        SOLE,
        ink=ink.repeat(COLUMNS, axis=1),
        was=was.repeat(COLUMNS, axis=1),
        seen=np.ones((ROWS, COLUMNS)),
        u=0.04,
        baseline="before photo",
    )
    alone = np.clip(1 - ink / was, 0, 1)
    assert alone.max() > 0.3
    # At a rim a line has no other side.
    assert np.nanquantile(found.fine_rubbed, 0.9) < 0.01
