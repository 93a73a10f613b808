"""What the history of a face tells of removal, and what it cannot tell."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lapping.errors import BadInput
from lapping.grits import parse_grit
from lapping.readings import DialReading, ReadingSet
from lapping.removal.changes import change
from lapping.removal.dose_seen import DOSES_UM, DRAWN_UM, GIVES_UM, dose_seen
from lapping.removal.glance import Glance, glance
from lapping.removal.job import Gauged, Job, Look, Run
from lapping.removal.learnt import (
    MOST_STAGES,
    Removal,
    assumed_rate,
    gauged_doses,
    learn_removal,
    opens_by,
    rate_of,
)
from lapping.removal.rates import WEAR_SPREAD, beliefs, expected
from lapping.removal.strokes_left import doses_to_go, rounded, strokes_left
from lapping.warmth import METALS
from tests.made_jobs import P120, PAPER, SOLE, MadeBench
from tests.made_readings import dial_set, form_shape

HOLLOW = form_shape(SOLE, along_bow=-150, twist=40)
EMPTY = Job(label="Bramble/sole", face=SOLE, metal=METALS["cast iron"])


def known(bench: MadeBench) -> tuple[Removal, list[Glance]]:
    """Learn from all that was done at a bench."""
    job = bench.job()
    glances = [glance(look) for look in job.looks]
    return learn_removal(job, glances, assumed_rate(job)), glances


def rubbed(times: int, strokes: float = 60.0) -> tuple[MadeBench, list[float]]:
    """Rub a hollow face on fresh sheets, reading it before and after each."""
    bench = MadeBench(shape=HOLLOW)
    doses = []
    for _ in range(times):
        bench.read()
        doses.append(float(bench.rub(strokes, fresh=True).mean()))
    bench.read()
    return bench, doses


def test_hollows_that_did_not_touch_show_how_much_came_off() -> None:
    bench, (dose,) = rubbed(1)
    _, (before, after) = known(bench)
    changed = change(before, after)
    assert changed is not None
    seen = dose_seen(before, changed)
    best = DOSES_UM[seen.log_likelihood.max(axis=0).argmax()]
    # The list of doses has steps of 1.4.
    assert dose / 1.5 < best < dose * 1.5
    unlikely = np.abs(np.log(DOSES_UM / dose)) > np.log(2.5)
    assert seen.log_likelihood.max(axis=0)[unlikely].max() < -4


def test_nothing_that_came_off_is_told_from_a_session_on_a_good_sheet() -> None:
    """Doubt about bows and twist grows with what comes off, from nothing."""
    bench = MadeBench(shape=form_shape(SOLE, along_bow=64, twist=30))
    bench.read()
    bench.rub(100, fresh=True, cuts=1e-3)
    bench.read()
    seen = known(bench)[0].stages[-1].seen
    assert seen is not None
    straight = seen.log_likelihood[~DRAWN_UM.any(axis=1)].max(axis=0)
    assert straight[DOSES_UM < 0.5].max() - straight[DOSES_UM > 9].max() > 3


def test_without_a_hollow_only_dose_over_give_shows() -> None:
    # The whole face bears: what deviates is less than this soft paper gives, 53 µm.
    soft = replace(PAPER, stiffness_mpa_per_um=5e-5)
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-30), noise_um=1.0, paper=soft)
    bench.read()
    dose = bench.rub(200, fresh=True)
    bench.read()
    _, (before, after) = known(bench)
    changed = change(before, after)
    assert changed is not None
    likelihood = dose_seen(before, changed).log_likelihood
    # Between gives of 23 and 64 µm nothing decides, and each wants its own dose.
    bears = (GIVES_UM > 20) & ~DRAWN_UM.any(axis=1)
    best = DOSES_UM[likelihood[bears].argmax(axis=1)]
    assert np.ptp(likelihood[bears].max(axis=1)) < 1
    shares = best / GIVES_UM[bears]
    assert shares == pytest.approx(shares[0], rel=0.1)
    # And it is the true one as far as a bow that lap and hand may add to can tell.
    true = np.log(float(dose.mean()) / 53 * GIVES_UM[bears])
    at = [
        np.interp(one, np.log(DOSES_UM), row)
        for one, row in zip(true, likelihood[bears], strict=True)
    ]
    assert min(at) > likelihood[bears].max() - 2


def test_a_new_bench_gets_an_order_of_magnitude_called_that() -> None:
    learnt = learn_removal(EMPTY, [], assumed_rate(EMPTY))
    rate = rate_of(learnt, Run(number=1, grit=P120, strokes=1, aged_surely=True))
    assert rate.assumed
    assert rate.high_um / rate.low_um > 15
    # Archard by hand: K = 0.05, 40 N, 200 HB or so, 500 mm a stroke, 100 strokes.
    by_hand = 0.05 * 40 / (190 * 9.81) * 100 * 500 / (250 * 60) * 1e3
    assert by_hand / 1.3 < rate.middle_um < by_hand * 1.3


def test_looks_narrow_the_rate_down_to_what_it_is() -> None:
    bench, doses = rubbed(3)
    learnt, _ = known(bench)
    rate = rate_of(learnt, replace(bench.runs[-1], sheet_age=0.0, strokes=1.0))
    assert not rate.assumed
    assert rate.low_um < doses[-1] * 100 / 60 * 1.2 < rate.high_um * 1.2
    assert rate.high_um / rate.low_um < 8


def test_a_sheet_that_wears_is_learnt_too() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-300))
    for turn in range(10):
        bench.read()
        bench.rub(120, fresh=turn % 2 == 0)
    bench.read()
    learnt, _ = known(bench)
    wear = float(learnt.held.weight @ learnt.held.mean[:, 1])
    u = float(np.sqrt(learnt.held.weight @ learnt.held.cov[:, 1, 1]))
    # Five sheets, which may differ, narrow what is assumed.
    assert u < 0.85 * WEAR_SPREAD
    # The made sheet falls as exp(-strokes/250): 0.4 in a hundred.
    assert abs(wear - 0.4) < 2 * u + 0.1


def test_a_rate_learnt_on_one_grit_says_something_of_the_next() -> None:
    bench, _ = rubbed(3)
    learnt, _ = known(bench)
    new = rate_of(learnt, Run(number=1, grit=parse_grit("P180"), strokes=1))
    fresh = learn_removal(EMPTY, [], assumed_rate(EMPTY))
    before = rate_of(fresh, Run(number=1, grit=parse_grit("P180"), strokes=1))
    assert new.high_um / new.low_um < before.high_um / before.low_um


def test_a_mouth_tells_what_came_off() -> None:
    # Similar triangles: a bed at 45° and a square front open by as much as comes off.
    assert opens_by(45, 90) == pytest.approx(1.0)
    assert opens_by(60, 90) == pytest.approx(1 / np.sqrt(3))
    assert opens_by(45, 100) == pytest.approx(1 - np.tan(np.radians(10)))
    job = replace(
        EMPTY,
        bed_deg=45.0,
        mouths=(Gauged(number=1, mm=0.5), Gauged(number=9, mm=0.8)),
        runs=(Run(number=5, grit=P120, strokes=500),),
    )
    ((runs, likelihood),) = gauged_doses(job)
    assert runs == job.runs
    assert DOSES_UM[likelihood.argmax()] == pytest.approx(300, rel=0.35)
    learnt = learn_removal(job, [], assumed_rate(job))
    assert not rate_of(learnt, job.runs[0]).assumed


def test_a_thickness_tells_it_too() -> None:
    job = replace(
        EMPTY,
        thicknesses=(Gauged(number=1, mm=4.2), Gauged(number=9, mm=4.1)),
        runs=(Run(number=5, grit=P120, strokes=500),),
    )
    ((_, likelihood),) = gauged_doses(job)
    assert DOSES_UM[likelihood.argmax()] == pytest.approx(100, rel=0.35)


@settings(max_examples=60, deadline=None)
@given(
    strokes=st.floats(1, 5000),
    more=st.floats(1, 5000),
    age=st.floats(0, 500),
)
def test_more_strokes_never_predict_less_removal(
    strokes: float, more: float, age: float
) -> None:
    held = beliefs([P120])
    rate = assumed_rate(EMPTY)
    one = Run(number=1, grit=P120, strokes=strokes, sheet_age=age)
    next_one = Run(number=2, grit=P120, strokes=more, sheet_age=age + strokes)
    some = expected(held, [one], rate).mean
    both = expected(held, [one, next_one], rate).mean
    longer = expected(held, [replace(one, strokes=strokes + more)], rate).mean
    assert (both >= some).all()
    assert (longer >= some).all()


def moved(
    readings: ReadingSet, along: float, across: float, level: float
) -> ReadingSet:
    """Tilt and lift a set of dial readings."""
    kept = [
        replace(
            r, value_um=r.value_um + level + along * r.along_mm + across * r.across_mm
        )
        for r in readings.readings
        if isinstance(r, DialReading)
    ]
    return replace(readings, readings=tuple(kept))


def turned(readings: ReadingSet) -> ReadingSet:
    """Turn a set end for end: toe for heel and left for right."""
    length, width = readings.face.length_mm, readings.face.width_mm
    kept = [
        replace(r, along_mm=length - r.along_mm, across_mm=width - r.across_mm)
        for r in readings.readings
        if isinstance(r, DialReading)
    ]
    return replace(readings, readings=tuple(kept))


def test_tilt_offset_and_the_way_it_is_looked_at_change_nothing() -> None:
    plain = replace(SOLE, mouth=None)
    bench = MadeBench(shape=form_shape(plain, along_bow=-150, twist=40), face=plain)
    for _ in range(2):
        bench.read()
        bench.rub(100, fresh=True)
    bench.read()
    job = bench.job()

    def rate(change_set: object) -> list[float]:
        assert callable(change_set)
        looks = [
            replace(look, sets=tuple(map(change_set, look.sets))) for look in job.looks
        ]
        found = learn_removal(job, [glance(one) for one in looks], assumed_rate(job))
        one = rate_of(found, job.runs[-1])
        return [one.low_um, one.middle_um, one.high_um]

    here = rate(lambda s: s)
    assert rate(lambda s: moved(s, 0.9, -2.0, 400.0)) == pytest.approx(here, rel=0.02)
    assert rate(turned) == pytest.approx(here, rel=0.06)


def test_the_dose_to_go_is_what_geometry_says() -> None:
    # A hollow face without give: ends of parabolic section are cut until the zone is
    # the target. Over the length that is (2/3)·(h^1.5 - t^1.5)/... worked out below.
    plain = replace(SOLE, mouth=None, kind="side")
    grid = glance(Look(number=1, sets=(flat_set(plain),))).surface.grid
    a = 2 * grid.along_mm / plain.length_mm - 1
    height, target = 100.0 * a**2, 60.0
    (dose,) = doses_to_go(plain, height[None], np.array([1e-3]), target)
    # ∫ (100a² - 60) da from √0.6 to 1, both ends, over a length of 2.
    edge = np.sqrt(0.6)
    by_hand = 100 * (1 - edge**3) / 3 - 60 * (1 - edge)
    assert dose == pytest.approx(by_hand, rel=0.06)


def flat_set(face: object) -> ReadingSet:
    """Read nothing but noughts."""
    rows = [(a, c, 0.0) for a in (5, 125, 245) for c in (5, 30, 55)]
    return dial_set(rows, face=face, repeatability_um=1.0)


def test_strokes_left_are_a_range_that_holds_the_truth() -> None:
    bench, _ = rubbed(1)
    learnt, glances = known(bench)
    surface = glances[-1].surface
    left = strokes_left(
        SOLE,
        surface.draws_um[:, surface.places :],
        bench.target_um,
        learnt,
        replace(bench.runs[-1], sheet_age=0.0),
    )
    assert left.few < left.many
    # Rub on, a fresh sheet each time, until it is truly within.
    true = 0
    while doses_to_go(SOLE, _grid(bench, glances[-1])[None], np.ones(1), 80.0)[0] > 0:
        bench.rub(20, fresh=true % 200 == 0)
        true += 20
        assert true < 5000
    assert left.few <= true <= left.many


def _grid(
    bench: MadeBench, one: Glance
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    grid = one.surface.grid
    places = zip(grid.along_mm, grid.across_mm, strict=True)
    return np.array([bench.at(a, c) for a, c in places])


def test_strokes_are_counted_as_a_person_counts() -> None:
    assert [rounded(n, up=True) for n in (0, 3, 47, 199, 201, 1234)] == [
        *(0, 10, 50, 200, 250, 1300)
    ]
    assert [rounded(n, up=False) for n in (3, 47, 260, 1290)] == [0, 40, 250, 1200]


def test_a_history_out_of_order_is_refused() -> None:
    run = Run(number=5, grit=P120, strokes=10)
    with pytest.raises(BadInput, match="not in the order they were entered"):
        replace(EMPTY, runs=(run, replace(run, number=3)))
    with pytest.raises(BadInput, match="must be more than 0"):
        replace(run, strokes=-4.0)
    with pytest.raises(BadInput, match="must not be negative"):
        replace(run, sheet_age=-1.0)


def test_surfaces_of_looks_long_past_are_not_drawn() -> None:
    """They take nearly all of the time of a look, and nothing asks for them."""
    bench = MadeBench(shape=HOLLOW)
    for _ in range(MOST_STAGES + 2):
        bench.read()
        bench.rub(20)
    bench.read()
    job = bench.job()
    glance.cache_clear()
    glances = [glance(look) for look in job.looks]
    learn_removal(job, glances, assumed_rate(job))
    drawn = ["surface" in vars(one) for one in glances]
    assert not any(drawn[:2])
    assert all(drawn[2:-1])
    first = glances[0]
    assert first.likely_um is not None
    assert first.interval_um is not None
    assert first.interval_um[0] < first.likely_um < first.interval_um[1]
    assert "surface" in vars(first)
