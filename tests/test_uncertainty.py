"""Noise floor, quantiles and verdicts against published tables and examples."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import norm

from lapping.answer import answer
from lapping.grid import metal_grid
from lapping.heights import Heights
from lapping.methods.dial import take_dial
from lapping.readings_file.reading import read_file
from lapping.surface.posterior import Surface
from lapping.surface.uncertainty import (
    COVER,
    Floor,
    Likely,
    likely_flatness,
    noise_floor,
    verdict_of,
)
from lapping.zone.minimum_zone import minimum_zone
from tests.made_readings import FACE, dial_set, form_shape, grid_places, read_shape

Array = NDArray[np.float64]

D2 = {
    2: 1.12838, 3: 1.69257, 4: 2.05875, 5: 2.32593, 9: 2.97003, 15: 3.47183,
    21: 3.77834, 25: 3.93063, 30: 4.08552, 50: 4.49815, 77: 4.82543,
}  # fmt: skip
"""Mean of the range of n normal values: the control-chart constant d2, as in ASTM
MNL 7A; the source from memory, the figures seen in a published table."""


KNOWN = np.zeros(3)
"""Bows and twist of a plate without doubt."""


def heights_at(places: list[tuple[float, float]], u_um: float = 1.0) -> Heights:
    rows = [(a, c, 0.0) for a, c in places]
    taken = take_dial(dial_set(rows, repeatability_um=u_um, step_um=0.001))
    assert taken.repeatability_um == u_um
    assert taken.heights is not None
    return taken.heights


@pytest.mark.parametrize(
    ("n_along", "n_across", "mean", "clear"),
    [
        (3, 3, 2.25, 3.5),
        (5, 3, 2.90, 4.0),
        (7, 3, 3.22, 4.3),
        (9, 3, 3.52, 4.5),
        (5, 5, 3.45, 4.6),
        (9, 5, 3.97, 5.0),
        (7, 7, 4.06, 5.1),
        (11, 7, 4.43, 5.4),
    ],
)
def test_the_noise_floor_of_grids(
    n_along: int, n_across: int, mean: float, clear: float
) -> None:
    """Minimum zone of pure noise of 1 µm; the table was computed by linear programming,
    1500 trials, standard error 0.02 and one decimal in the 95 % column.

    Ours has 4000 trials, so a standard error of 0.011; four of both together.
    """
    floor = noise_floor(
        FACE, heights_at(grid_places(n_along, n_across)), KNOWN, trials=4000
    )
    assert floor.mean_um == pytest.approx(mean, abs=4 * np.hypot(0.02, 0.011))
    assert floor.clear_um == pytest.approx(clear, abs=0.05 + 4 * np.hypot(0.03, 0.02))
    # Levelling can only take from the range of the noise itself.
    assert floor.mean_um < min(d2 for n, d2 in D2.items() if n >= n_along * n_across)


@pytest.mark.parametrize("places", [3, 4])
def test_the_noise_floor_by_hand(places: int) -> None:
    """Through three places goes a plane. Over four corners the zone is half the
    contrast z1 - z2 + z3 - z4, whose size has the mean 2 sqrt(2/pi), like d2 of two."""
    corners = [(0.0, 0.0), (0.0, 60.0), (250.0, 60.0), (250.0, 0.0)]
    floor = noise_floor(FACE, heights_at(corners[:places]), KNOWN, trials=20_000)
    if places == 3:
        assert floor.mean_um == pytest.approx(0.0, abs=1e-9)
        return
    # |N(0, 2)| / 2 = |N(0, 1)|: mean sqrt(2/pi) = d2(2)/sqrt(2), 95 % at 1.95996.
    expected = D2[2] / 2**0.5
    assert expected == pytest.approx((2 / np.pi) ** 0.5, abs=1e-5)
    spread = (1 - 2 / np.pi) ** 0.5
    assert floor.mean_um == pytest.approx(expected, abs=4 * spread / 20_000**0.5)
    assert floor.clear_um == pytest.approx(norm.ppf(0.975), abs=0.06)


@pytest.mark.parametrize("n", [2, 3, 4, 5, 9])
def test_d2_is_the_floor_where_a_plane_takes_nothing_out(n: int) -> None:
    """n readings on one spot and one at each of two others: a plane through the others
    is free to follow, and what is left is the range of n normal values."""
    heights = Heights(
        along_mm=np.array([125.0] * n + [0.0, 250.0]),
        across_mm=np.array([60.0] * n + [0.0, 0.0]),
        height_um=np.zeros(n + 2),
        u_um=np.ones(n + 2),
    )
    floor = noise_floor(FACE, heights, KNOWN, trials=20_000)
    # Four standard errors, d3/sqrt(trials) with d3 at most 0.89.
    assert floor.mean_um == pytest.approx(D2[n], abs=4 * 0.89 / 20_000**0.5)


def test_the_noise_floor_grows_with_the_gauge() -> None:
    one = noise_floor(FACE, heights_at(grid_places(5, 3)), KNOWN)
    five = noise_floor(FACE, heights_at(grid_places(5, 3), 5.0), KNOWN)
    assert five.mean_um == pytest.approx(5 * one.mean_um, rel=1e-9)
    assert five.clear_um == pytest.approx(5 * one.clear_um, rel=1e-9)


def test_a_stated_plate_is_in_what_is_clear_and_not_in_the_floor() -> None:
    heights = heights_at(grid_places(5, 3))
    bare = noise_floor(FACE, heights, KNOWN)
    plated = noise_floor(FACE, heights, np.full(3, 20.0))
    assert plated.mean_um == bare.mean_um
    assert plated.clear_um > bare.clear_um + 20


def likely_of(draws: Array, measured_um: float = 1e9, clear_um: float = 0.0) -> Likely:
    """Give the answer for draws of which the zone is known: a bow of that height."""
    grid = metal_grid(FACE)
    cup = 1.0 - (2 * grid.along_mm / FACE.length_mm - 1) ** 2
    assert np.ptp(cup) == pytest.approx(1.0, abs=0.02)
    cup /= np.ptp(cup)
    # Read at the ends and at the top, so that the places read show all of the bow.
    read = np.nonzero((cup == cup.min()) | (cup == cup.max()))[0]
    every = np.concatenate([read, np.arange(cup.size)])
    surface = Surface(
        face=FACE,
        grid=grid,
        places=read.size,
        along_mm=grid.along_mm[every],
        across_mm=grid.across_mm[every],
        mean_um=cup[every] * draws.mean(),
        draws_um=draws[:, None] * cup[every],
        length_scale_mm=100.0,
    )
    flat = minimum_zone([0, 250, 0], [0, 0, 60], [0, 0, 0])
    measured = replace(flat, width_um=measured_um)
    return likely_flatness(surface, measured, Floor(mean_um=0.0, clear_um=clear_um))


@pytest.mark.parametrize(
    ("kinds", "half"),
    [
        (["normal"] * 4, 3.92),
        (["rectangular"] * 4, 3.88),
        (["rectangular"] * 3 + ["wide"], 17.0),
    ],
)
def test_intervals_of_added_quantities(kinds: list[str], half: float) -> None:
    """JCGM 101:2008 clause 9.2, additive model: 95 % intervals ±3.92, ±3.88 and ±17.0;
    inputs from memory, the figures computed besides.

    Our interval is that of the minimum zones of the draws: here 100 plus the sum. With
    20 000 draws the ends have a standard error of about 0.04 (0.06 for the third).
    """
    rng = np.random.default_rng(101)
    total = np.full(20_000, 100.0)
    for kind in kinds:
        if kind == "normal":
            total += rng.standard_normal(total.size)
        else:
            sd = 10.0 if kind == "wide" else 1.0
            total += rng.uniform(-(3**0.5) * sd, 3**0.5 * sd, total.size)
    found = likely_of(total)
    low, high = found.interval_um
    assert high is not None
    assert found.likely_um == pytest.approx(100.0, abs=0.15 if half < 10 else 0.5)
    assert 100 - low == pytest.approx(half, abs=0.2)
    assert high - 100 == pytest.approx(half, abs=0.2)


@pytest.mark.parametrize(
    ("sigmas", "p_c"),
    [
        (0.0, 0.5),
        (1.40, 0.9192),
        (1.645, 0.95),
        (2.0, 0.97725),
        (-1.645, 0.05),
        (-1.40, 0.0808),
    ],
)
def test_conformance_probabilities(sigmas: float, p_c: float) -> None:
    """JCGM 106:2012: p_c = Phi((T - y)/u) for one upper limit T; the 0.9192 is its
    example of the breakdown voltage, -5.40 V, -5.47 V, 0.05 V (from memory).

    Evenly spread quantiles stand for draws, so only their number limits the figure.
    """
    assert norm.cdf(sigmas) == pytest.approx(p_c, abs=1e-4)
    n = 4000
    target, u = 80.0, 5.0
    y = target - sigmas * u
    draws = y + u * norm.ppf((np.arange(n) + 0.5) / n)
    chance = likely_of(draws).chance_within(target)
    assert chance == pytest.approx(p_c, abs=1e-3)


@pytest.mark.parametrize(
    ("probability", "verdict"),
    [
        (1.0, "flat"),
        (0.951, "flat"),
        (0.95, "flat"),
        (0.949, "cannot tell"),
        (0.5, "cannot tell"),
        (0.051, "cannot tell"),
        (0.05, "not flat"),
        (1 - COVER, "not flat"),
        (0.0, "not flat"),
        (None, "cannot tell"),
    ],
)
def test_verdicts_at_their_borders(probability: float | None, verdict: str) -> None:
    """ISO 14253-1:2017: proved within, proved outside, or neither, at 95 %."""
    assert verdict_of(probability) == verdict


@pytest.mark.parametrize(
    ("within", "verdict"),
    [(950, "flat"), (949, "cannot tell"), (51, "cannot tell"), (50, "not flat")],
)
def test_counts_of_draws_at_the_borders(within: int, verdict: str) -> None:
    draws = np.where(np.arange(1000) < within, 79.0, 81.0)
    assert verdict_of(likely_of(draws).chance_within(80.0)) == verdict


def test_a_face_out_by_what_lies_between_its_readings_is_not_proved_flat() -> None:
    """Its places lie within the target and the face, as believed, does not."""
    drawn = np.full(1000, 96.0)
    seen = Likely(
        likely_um=96.0,
        interval_um=(70.0, 114.0),
        drawn_um=drawn,
        least_um=np.full(1000, 70.0),
    )
    assert seen.chance_within(80.0) == 0.5
    assert verdict_of(seen.chance_within(80.0)) == "cannot tell"


def test_what_is_not_clearly_above_the_floor_begins_at_nothing() -> None:
    draws = 10.0 + np.random.default_rng(0).standard_normal(1000)
    assert likely_of(draws, measured_um=4.0, clear_um=4.0).interval_um[0] == 0.0
    assert likely_of(draws, measured_um=4.1, clear_um=4.0).interval_um[0] > 7.0


@pytest.mark.parametrize("target", [0.5, 2.0, 5.0, 9.0, 9.9])
def test_what_is_not_clearly_above_the_floor_is_not_proved_bad(target: float) -> None:
    """A range from 0 up and "not flat" cannot both be true, whatever the draws say."""
    draws = 10.0 + 0.1 * np.random.default_rng(0).standard_normal(1000)
    unclear = likely_of(draws, measured_um=4.0, clear_um=4.0).chance_within(target)
    assert unclear is not None
    assert 1 - COVER < unclear <= 0.5
    assert verdict_of(unclear) == "cannot tell"
    clear = likely_of(draws, measured_um=4.1, clear_um=4.0).chance_within(target)
    assert (verdict_of(clear) == "not flat") == (target < 9.5)


def test_an_unclear_chance_rises_to_that_of_the_draws() -> None:
    draws = 10.0 + np.random.default_rng(0).standard_normal(1000)
    found = likely_of(draws, measured_um=4.0, clear_um=4.0)
    chances = [found.chance_within(t) or 0.0 for t in np.linspace(0.1, 14, 140)]
    assert chances == sorted(chances)
    assert chances[0] == pytest.approx(0.0545, abs=0.001)
    assert chances[-1] == 1.0


COARSE = """# method: straightedge
# face: sole
# length: 225 mm
# width: 58 mm
# mouth: 70 mm to 75 mm, across 6 mm to 52 mm
# unit: mm
# leaves: 0.03, 0.04, 0.05, 0.06
line,along,across,goes
"""
"""Invented readings follow: a gap of one leaf here and there, no light at the toe."""
GAPS = {
    5: ("no light", "0", "0", "0.04", "0", "0"),
    29: ("no light", "no light", "0", "0", "0.04", "0"),
    53: ("no light", "no light", "0", "0", "0.04", "0"),
}


@pytest.mark.parametrize("target", [5.0, 30.0])
def test_coarse_leaves_do_not_call_a_face_bad_that_may_be_flat(
    target: float, tmp_path: Path
) -> None:
    rows = [
        f"at {across},{along},{across},{gap}"
        for across, gaps in GAPS.items()
        for along, gap in zip((8, 66, 81, 112, 164, 217), gaps, strict=True)
    ]
    rows += [
        f"{name},{along},{across},no light"
        for name, along in (("toe", 8), ("middle", 112), ("heel", 217))
        for across in GAPS
    ]
    for name, sides in (("one", (5, 17, 29, 41, 53)), ("other", (53, 41, 29, 17, 5))):
        gaps = ("no light", "no light", "0", "0.04", "0")
        rows += [
            f"diagonal {name},{along},{across},{gap}"
            for along, across, gap in zip(
                (8, 60, 112, 165, 217), sides, gaps, strict=True
            )
        ]
    path = tmp_path / "edge.csv"
    path.write_text(COARSE + "\n".join(rows), encoding="utf-8")
    found = answer([read_file(path)], target_um=target)
    assert found.zone is not None
    assert found.floor is not None
    assert found.zone.width_um <= found.floor.clear_um
    assert found.likely.interval_um[0] == found.working.interval_um[0] == 0.0
    assert found.verdict == found.working_verdict == "cannot tell"


def test_a_nearly_flat_face_begins_at_nothing() -> None:
    """3 µm of bow read with a gauge of 5 µm: it may as well be flat."""
    rng = np.random.default_rng(6)
    rows = [
        (a, c, float(round(v + rng.normal(0, 5))))
        for a, c, v in read_shape(grid_places(5, 3), form_shape(along_bow=3.0))
    ]
    found = answer([dial_set(rows, repeatability_um=5.0)])
    low, high = found.likely.interval_um
    assert low == 0.0
    assert high is not None
    assert high > 3.0
    assert found.zone.width_um <= found.floor.clear_um
    bent = [(a, c, v + 0.02 * (a - 125) ** 2) for a, c, v in rows]
    assert answer([dial_set(bent, repeatability_um=5.0)]).likely.interval_um[0] > 100


def test_a_coarse_gauge_cannot_prove_a_fine_target() -> None:
    """E[FLTt | flat] is 3 to 4 standard deviations of the gauge, not 0."""
    rows = [(a, c, 0.0) for a, c in grid_places(5, 3)]
    found = answer([dial_set(rows, repeatability_um=20.0)], target_um=20.0)
    assert found.verdict == "cannot tell"
    assert found.floor.mean_um > 2 * 20


def unseen_answer(twist: float, target_um: float) -> tuple[float, float | None, str]:
    rows = read_shape(grid_places(5, 2), form_shape(twist=twist))
    found = answer([dial_set(rows, repeatability_um=1.0)], target_um=target_um)
    assert found.unseen == ("across-bow",)
    assert found.likely.likely_um is None
    assert found.likely.interval_um[1] is None
    return found.likely.interval_um[0], found.probability, found.verdict


def test_while_a_bow_is_unseen_only_not_flat_can_be_proved() -> None:
    low, probability, verdict = unseen_answer(twist=200.0, target_um=40.0)
    assert low > 40.0
    assert probability is not None
    assert probability <= 0.025
    assert verdict == "not flat"
    for twist, target in ((200.0, 200.0), (0.0, 80.0)):
        low, probability, verdict = unseen_answer(twist, target)
        assert low <= target
        assert probability is None
        assert verdict == "cannot tell"


def test_the_lower_end_decides_while_a_bow_is_unseen() -> None:
    """Draws between 2.5 and 5 % under the target are not enough: the end is under."""
    draws = np.where(np.arange(1000) < 40, 70.0, 90.0)
    seen = likely_of(draws)
    assert verdict_of(seen.chance_within(80.0)) == "not flat"
    lower = Likely(likely_um=None, interval_um=(70.0, None), drawn_um=seen.drawn_um)
    assert lower.chance_within(80.0) is None
    assert lower.chance_within(69.0) == 0.0


def test_places_on_datums_of_their_own_prove_only_what_each_proves() -> None:
    """Three places here and three there: a plane through each, whatever they read."""
    toe = dial_set([(5, 5, 0.0), (5, 55, 90.0), (60, 5, -40.0)])
    heel = dial_set([(245, 5, 0.0), (245, 55, -70.0), (190, 5, 300.0)])
    found = answer([toe, heel])
    assert found.unseen == ("along-bow", "across-bow", "twist")
    assert found.likely.interval_um[0] == pytest.approx(0.0, abs=1e-9)
    assert found.verdict == "cannot tell"
