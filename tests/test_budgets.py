"""What a plane can spare, what remarks say, and what chances prove."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from statistics import NormalDist

import pytest

from lapping.advice.budgets import budget_signs, spent, square_signs, still_leans
from lapping.advice.chances import standing
from lapping.face import Face
from lapping.remarks import understand
from lapping.removal.glance import glance
from lapping.removal.heat import warmth_of
from lapping.removal.job import Gauged, Job, Look, Run, Squared
from lapping.removal.learnt import assumed_rate, learn_removal
from lapping.squareness import Squareness
from lapping.units import MICROMETRES, THOU
from lapping.warmth import METALS
from lapping.words.budgets import budget_words
from tests.made_jobs import P120, SOLE, MadeBench
from tests.made_progress import history
from tests.made_readings import dial_set, form_shape

JOB = Job(label="Bramble/sole", face=SOLE, metal=METALS["cast iron"])


def test_mouth_and_body_are_reckoned_to_the_end_of_the_job() -> None:
    job = replace(
        JOB,
        bed_deg=45.0,
        mouths=(Gauged(number=1, mm=0.3),),
        thicknesses=(Gauged(number=2, mm=3.05),),
        runs=(Run(number=3, grit=P120, strokes=100, aged_surely=True),),
    )
    known = learn_removal(job, [], assumed_rate(job))
    found = spent(job, known, to_come_um=120.0)
    # With a bed at 45° and a square front a mouth opens by what comes off.
    assert found.opened_mm == pytest.approx(found.so_far_um / 1000)
    assert found.will_open_mm == pytest.approx(0.12)
    assert found.mouth_mm == pytest.approx(0.3 + 0.12 + found.so_far_um / 1000)
    assert found.thickness_mm == pytest.approx(3.05 - 0.12 - found.so_far_um / 1000)
    assert {s.name for s in budget_signs(job, found)} == {"body thin"}
    far = spent(job, known, to_come_um=400.0)
    assert {s.name for s in budget_signs(job, far)} == {"mouth opening", "body thin"}


def test_progress_tells_what_a_job_costs_the_plane() -> None:
    read = (squared(4, 35.0), squared(5, 62.0))
    job = replace(
        JOB,
        bed_deg=45.0,
        mouths=(Gauged(number=1, mm=0.3),),
        runs=(Run(number=3, grit=P120, strokes=100, aged_surely=True),),
        squares=read,
    )
    known = spent(job, learn_removal(job, [], assumed_rate(job)), to_come_um=4.0)
    came = replace(history([]), spent=known, squares=read)
    said = dict(budget_words(came, MICROMETRES))
    assert f"about {known.so_far_um:.1f} µm".replace(".0", "") in said["Taken off"]
    assert said["Mouth"].endswith(
        f"under 0.01 more to come; about {known.mouth_mm:.2f} mm wide in the end"
    )
    assert "Body" not in said
    assert said["Square, left side"].startswith("62 ± 6 µm over 50 mm")
    assert said["Square, left side"].endswith(
        "at first 35 ± 6 µm more than 90° (± without the square's own error)"
    )
    in_thou = dict(budget_words(came, THOU))["Square, left side"]
    assert in_thou.startswith("2.44 ± 0.24 thou")
    assert budget_words(history([]), MICROMETRES) == []


def test_without_an_angle_nothing_is_said_of_the_mouth() -> None:
    job = replace(JOB, mouths=(Gauged(number=1, mm=0.3),))
    found = spent(job, learn_removal(job, [], assumed_rate(job)), to_come_um=400.0)
    assert (found.opened_mm, found.mouth_mm, found.thickness_mm) == (None, None, None)
    assert budget_signs(job, found) == []


def squared(number: int, um: float, u_um: float = 3.0) -> Squared:
    """Read a side by square."""
    found = Squareness(
        um=um,
        u_um=u_um,
        arcmin=0.0,
        over_mm=50.0,
        along_um=None,
        along_u_um=None,
        stations=(),
    )
    return Squared(number=number, side="left side", found=found)


def test_a_side_is_out_of_square_when_strokes_moved_it() -> None:
    run = Run(number=5, grit=P120, strokes=100)
    moved = replace(JOB, squares=(squared(1, 0), squared(9, 30)), runs=(run,))
    (sign,) = square_signs(moved)
    assert sign.um == pytest.approx(30)
    assert still_leans(moved)
    # No strokes between, or too little for the doubt: 3·√(3² + 3²) is 12.7.
    assert square_signs(replace(moved, runs=())) == []
    assert square_signs(replace(moved, squares=(squared(1, 0), squared(9, 12)))) == []


def test_a_side_that_stays_as_it_is_needs_no_other_hand() -> None:
    runs = (Run(number=5, grit=P120, strokes=100), Run(number=10, grit=P120, strokes=9))
    squares = (squared(1, 0), squared(9, 30), squared(12, 31))
    job = replace(JOB, squares=squares, runs=runs)
    assert [s.name for s in square_signs(job)] == ["out of square"]
    assert not still_leans(job)


def test_a_side_that_is_brought_to_square_is_named_and_left_alone() -> None:
    """Whoever presses on one edge to bring an angle back does it on purpose."""
    run = Run(number=5, grit=P120, strokes=100)
    nearer = replace(JOB, squares=(squared(1, -60), squared(9, -25)), runs=(run,))
    (sign,) = square_signs(nearer)
    assert "brings it nearer to square" in sign.says
    assert not still_leans(nearer)
    away = replace(nearer, squares=(squared(1, 0), squared(9, 35)))
    assert "nearer" not in square_signs(away)[0].says
    assert still_leans(away)
    # Past square it goes away again.
    assert still_leans(replace(nearer, squares=(squared(1, -20), squared(9, 25))))
    side = replace(away, face=Face(length_mm=250, width_mm=60, kind="side"))
    assert square_signs(side)[0].where == ("the top edge",)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("read cold", {"warm": False}),
        ("not warm any more", {"warm": False}),
        ("still HOT", {"warm": True}),
        ("sole 31C, top 24.5 °C", {"warmer_k": 6.5}),
        ("mouth: 0,65 mm", {"mouth_mm": 0.65}),
        ("thickness = 4.2mm", {"thickness_mm": 4.2}),
        ("no scratches left", {"scratches": False}),
        ("scratches at the heel", {"scratches": True}),
        ("mouth 900mm", {}),
        ("burr on the left edge", {}),
    ],
)
def test_remarks_are_understood_where_they_say_so(
    text: str, said: dict[str, object]
) -> None:
    found = understand(text)
    for name in ("warm", "warmer_k", "mouth_mm", "thickness_mm", "scratches"):
        assert getattr(found, name) == said.get(name), name


def test_chances_prove_what_jcgm_106_says() -> None:
    # JCGM 106:2012, an upper limit T and a result y ± u: P = Φ((T - y)/u). The guard
    # band of ISO 14253-1 for one limit is 1.645 u.
    phi = NormalDist().cdf
    assert standing(phi(1.65)) == "done"
    assert standing(phi(1.40)) == "in doubt"  # 0.9192, the worked example
    assert standing(phi(0.0)) == "in doubt"
    assert standing(phi(-1.65)) == "not done"
    assert standing(None) == "in doubt"


def test_a_plane_read_warm_and_cool_tells_its_own_heat() -> None:
    def warm_by(um: float) -> float:
        bench = MadeBench(shape=form_shape(SOLE, along_bow=-60), noise_um=0.5)
        bench.rub(1, fresh=True)
        bench.runs[-1] = replace(bench.runs[-1], strokes=300.0)
        bench.read(form_shape(SOLE, along_bow=um), after_hours=0.03)
        bench.read(after_hours=3)
        job = bench.job()
        found = warmth_of(job, job.looks[0], [glance(one) for one in job.looks])
        assert found is not None
        assert found.likely_um < found.most_um
        return found.likely_um

    assert warm_by(8.0) == pytest.approx(8.0, rel=0.25)
    assert warm_by(0.0) < 1.0


def test_the_clock_alone_says_how_warm() -> None:
    rows = [(a, c, 0.0) for a in (5, 125, 245) for c in (5, 30, 55)]
    bench = MadeBench(shape=form_shape(SOLE))
    bench.rub(1)
    bench.runs[-1] = replace(bench.runs[-1], strokes=1000.0)
    job = bench.job()

    def heat(minutes: float) -> float:
        look = Look(
            number=9,
            sets=(dial_set(rows, face=SOLE),),
            at=bench.now + timedelta(minutes=minutes),
        )
        found = warmth_of(job, look)
        return 0.0 if found is None else found.likely_um

    # α·ΔT·L²/(8·h) by hand: 10.8e-6 · 2 · 250² / (8 · 50) mm = 3.4 µm at once.
    assert heat(0) == pytest.approx(3.4, abs=0.1)
    assert heat(20) == pytest.approx(3.4 / 2.718, abs=0.1)
    assert heat(61) == 0
