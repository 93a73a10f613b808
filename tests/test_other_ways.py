"""Stock, other ways and time at the bench: data in one place, arithmetic by hand."""

from __future__ import annotations

import math

import pytest

from lapping.errors import BadInput
from lapping.face import Face
from lapping.grits import parse_grit
from lapping.planning.bench_time import (
    PAUSE_MIN,
    RUB_MIN,
    SHEET_MIN,
    STROKES_PER_MIN,
    bench_time,
)
from lapping.planning.other_ways import leaves_um, other_way
from lapping.planning.sequence import order_papers
from lapping.planning.stock import STOCK, STOCK_WORDS, stock_named
from lapping.warmth import metal_named
from lapping.wear.flattening import Depth
from lapping.wear.rate_prior import Rate

SOLE = Face(length_mm=250, width_mm=60)
SURE = Depth(likely_um=100, spread=0)


def test_filing_by_hand_worked_by_hand() -> None:
    # 100 µm off 250 × 60 mm are 1500 mm³; at 50 mm³ a minute, 30 min, and 15 before.
    found = other_way(
        "file", metal_named("cast iron"), face=SOLE, depth=SURE, out_um=300
    )
    assert found.hours[1] == pytest.approx(45 / 60)
    assert found.leaves_um == 100
    # Three times either way, and no other doubt.
    assert found.hours[2] / found.hours[1] == pytest.approx(3)
    assert found.hours[1] / found.hours[0] == pytest.approx(3)


def test_scraping_and_grinding_worked_by_hand() -> None:
    iron = metal_named("cast iron")
    # 100 µm at 3 µm a pass, 150 cm² at 10 cm² a minute: 500 min, and 15 before.
    scraped = other_way("scrape", iron, face=SOLE, depth=SURE, out_um=300)
    assert scraped.hours[1] == pytest.approx(515 / 60)
    # 300 µm at 10 µm a pass, 150 cm² at 60 cm² a minute: 75 min, and 40 before.
    ground = other_way("grind", iron, face=SOLE, depth=SURE, out_um=300)
    assert ground.hours[1] == pytest.approx(115 / 60)


def test_doubts_add_as_independent_ones_do() -> None:
    unsure = Depth(likely_um=100, spread=0.5)
    found = other_way(
        "file", metal_named("cast iron"), face=SOLE, depth=unsure, out_um=300
    )
    expected = math.hypot(1.6449 * 0.5, math.log(3))
    assert math.log(found.hours[2] / found.hours[1]) == pytest.approx(expected)


def test_soft_metal_files_faster_and_long_faces_stay_less_flat() -> None:
    hours = [
        other_way("file", metal_named(m), face=SOLE, depth=SURE, out_um=300).hours[1]
        for m in ("cast iron", "steel", "brass")
    ]
    assert hours == sorted(hours, reverse=True)
    assert leaves_um("grind", 200) == leaves_um("grind", 250)
    assert leaves_um("grind", 500) == 2 * leaves_um("grind", 250)


def test_time_at_the_bench_worked_by_hand() -> None:
    # 1000 strokes at 40 a minute are 25 min in 3 goes; 5 sheets of 3 min; 3 pauses.
    rate = Rate(um_per_100=1, spread=0.0)
    plan = order_papers({parse_grit("P80"): rate}, shape_um=10, sheet_strokes=200)
    time = bench_time(plan)
    assert (STROKES_PER_MIN, RUB_MIN, SHEET_MIN, PAUSE_MIN) == (40, 10, 3, 10)
    assert time.rubbing_hours[1] == pytest.approx(25 / 60)
    assert time.pauses[1] == 3
    assert time.hours[1] == pytest.approx((25 + 5 * 3 + 3 * 10) / 60)
    assert time.hours[0] == time.hours[1] == time.hours[2]


def test_stock_in_the_order_of_its_trade() -> None:
    # Common practice, no source: each is flatter than the one before.
    names = ("rolled", "cast", "milled", "ground")
    assert tuple(STOCK) == names
    assert set(STOCK_WORDS) == set(names)
    for k in range(3):
        by_kind = [STOCK[name].flatness_um[k] for name in names]
        assert by_kind == sorted(by_kind, reverse=True)
    for one in STOCK.values():
        assert list(one.flatness_um) == sorted(one.flatness_um)
        assert one.flatness_at(500)[1] == 2 * one.flatness_um[1]


def test_stock_of_no_kind_is_refused() -> None:
    assert stock_named(" Rolled ").name == "rolled"
    with pytest.raises(BadInput, match="write rolled, cast, milled, ground"):
        stock_named("forged")
