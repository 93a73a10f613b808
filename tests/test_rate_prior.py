"""The assumed rates: Archard's arithmetic, published coefficients, and what is soft."""

from __future__ import annotations

import itertools
import math

import pytest

from lapping.grits import grits_of, parse_grit
from lapping.warmth import METALS, metal_named
from lapping.wear.lap_model import Sheet
from lapping.wear.rate_prior import (
    LASTING_SHARE,
    SHEET_STROKES,
    SPREAD,
    changed_every,
    fading_strokes,
    prior_rate,
    sheet_share,
    wear_coefficient,
)

IRON = metal_named("cast iron")
PRESSURE = 50 / 7500  # N/mm²: 50 N on 150 × 50 mm


def test_the_arithmetic_is_archards() -> None:
    # Worked by hand: K = 0.05, HB 199 in the middle, so H = 1951 N/mm²; 6.67e-3 N/mm²
    # over 100 strokes of 0.5 m: 0.05 / 1951 · 0.00667 · 50 000 000 µm = 8.5 µm.
    rate = prior_rate(parse_grit("P80"), IRON, pressure_mpa=PRESSURE, stroke_mm=250)
    assert rate.um_per_100 == pytest.approx(8.54, abs=0.05)
    assert not rate.learnt


def test_a_worked_example_with_another_coefficient_lies_in_the_range() -> None:
    # 50 N on 150 × 50 mm, H = 2 GPa, K = 0.02: 0.067 µm a metre, so 3.3 in 50 m.
    low, high = prior_rate(
        parse_grit("P80"), IRON, pressure_mpa=PRESSURE, stroke_mm=250
    ).range_um
    assert low < 3.3 < high


def test_published_coefficients_of_two_bodies_lie_in_the_range() -> None:
    # Rabinowicz, Friction and Wear of Materials, from memory: K by grain in µm.
    published = [(110, 0.18), (150, 0.15), (40, 0.12), (260, 0.08), (80, 0.024)]
    factor = math.exp(1.645 * SPREAD)
    inside = 0
    for grain_um, k in published:
        grit = min(grits_of("P"), key=lambda g, um=grain_um: abs(g.grain_um - um))
        inside += wear_coefficient(grit) / factor < k < wear_coefficient(grit) * factor
    # Nine in ten, so four of five at the least.
    assert inside >= 4


def test_finer_grit_never_cuts_faster_and_softer_metal_never_slower() -> None:
    for coarse, fine in itertools.pairwise(grits_of("P")):
        rates = [
            prior_rate(g, IRON, pressure_mpa=PRESSURE).um_per_100
            for g in (coarse, fine)
        ]
        assert rates[0] >= rates[1]
    by_metal = {
        name: prior_rate(parse_grit("P120"), m, pressure_mpa=PRESSURE).um_per_100
        for name, m in METALS.items()
    }
    # Handbook hardness, from memory: iron, mild steel, then the yellow metals.
    assert by_metal["cast iron"] < by_metal["steel"] < by_metal["brass"]


def test_pressure_and_path_count_in_proportion() -> None:
    # Preston: twice the load or twice the path, twice the depth.
    grit = parse_grit("P240")
    one = prior_rate(grit, IRON, pressure_mpa=0.003, stroke_mm=200).um_per_100
    assert prior_rate(grit, IRON, pressure_mpa=0.006, stroke_mm=200).um_per_100 == (
        pytest.approx(2 * one)
    )
    assert prior_rate(grit, IRON, pressure_mpa=0.003, stroke_mm=400).um_per_100 == (
        pytest.approx(2 * one)
    )


def test_the_range_holds_nine_in_ten() -> None:
    # scipy's log-normal distribution.
    from scipy.stats import lognorm

    rate = prior_rate(parse_grit("P120"), IRON, pressure_mpa=0.003)
    low, high = rate.range_um
    spread = lognorm(s=rate.spread, scale=rate.um_per_100)
    assert spread.cdf(high) - spread.cdf(low) == pytest.approx(0.9, abs=1e-4)
    assert high / rate.um_per_100 == pytest.approx(rate.factor)


def test_a_sheet_fades_like_that_of_the_lap_model() -> None:
    grit = parse_grit("P80")
    sheet = Sheet(
        stiffness_mpa_per_um=1,
        preston_per_mpa=1,
        fading_strokes=fading_strokes(grit),
        lasting_share=LASTING_SHARE,
    )
    for strokes, used in ((1, 0), (200, 0), (200, 300), (50, 1000)):
        assert sheet_share(grit, strokes, used) == pytest.approx(
            sheet.fresh_strokes(strokes, used) / strokes
        )
    assert sheet_share(grit, 1e-6) == pytest.approx(1)
    assert sheet_share(grit, 1e7) == pytest.approx(LASTING_SHARE, rel=1e-3)
    with pytest.raises(ValueError, match="more than 0"):
        sheet_share(grit, 0)


def test_sheets_changed_more_often_cut_faster() -> None:
    grit = parse_grit("P80")
    fresh = prior_rate(grit, IRON, pressure_mpa=0.003)
    often, seldom = changed_every(fresh, grit, 50), changed_every(fresh, grit, 500)
    assert fresh.um_per_100 > often.um_per_100 > seldom.um_per_100
    assert changed_every(fresh, grit) == changed_every(fresh, grit, SHEET_STROKES)
    assert often.spread == fresh.spread


def test_a_coarse_sheet_lasts_longer() -> None:
    # Common practice, no source: fine paper clogs first.
    by_grain = [fading_strokes(parse_grit(f"P{n}")) for n in (80, 120, 240, 400)]
    assert by_grain == sorted(by_grain, reverse=True)
    assert fading_strokes(parse_grit("P120")) == pytest.approx(250)
