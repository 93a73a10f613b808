"""What is advised, row by row, on faces whose troubles are known."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from lapping.advice.advised import ACTIONS
from lapping.advice.case import look_at
from lapping.advice.chances import standing
from lapping.advice.next_grit import where_it_bears
from lapping.advice.table import advise, advise_on
from lapping.contact_map import ContactMap, contact_map, squares
from lapping.face import Face
from lapping.grits import parse_grit
from lapping.remarks import understand
from lapping.removal.job import Job, Lap, Look, Squared
from lapping.signs.all_signs import scratches_seen
from lapping.squareness import Squareness
from lapping.surface.form import Bow, Form, Twist
from lapping.warmth import METALS
from lapping.wear.lap_strokes import bowed_lap
from lapping.words.advice import ORDERS, advice_line, advice_words
from lapping.words.advice_json import advice_to_json
from tests.made_jobs import PAPER, SOLE, STROKE, MadeBench
from tests.made_readings import Shape, dial_set, form_shape, grid_places

Array = NDArray[np.float64]
EMPTY = Job(label="Bramble/sole", face=SOLE, metal=METALS["cast iron"])
LAP_FACE = Face(length_mm=450, width_mm=300, kind="lap")
PAPERS = tuple(map(parse_grit, ("P80", "P120", "P240")))


def names(job: Job) -> set[str]:
    """Give the names of all signs."""
    return {sign.name for sign in advise(job).signs}


def read_once(shape: Shape, noise_um: float = 1.0, target_um: float = 80.0) -> Job:
    """Give a job that was read once and never rubbed."""
    bench = MadeBench(shape=shape, noise_um=noise_um, target_um=target_um)
    bench.read()
    return bench.job()


def test_nothing_known_is_measured_first() -> None:
    found = advise(EMPTY)
    assert (found.action, found.strokes, found.signs) == ("measure", None, ())
    assert "no reading of heights is finished" in found.why
    assert found.doubt == "flatness not measured"


def test_a_flat_face_is_done() -> None:
    found = advise(read_once(form_shape(SOLE, along_bow=-10)))
    assert found.action == "done"
    assert "more lapping can only make it worse" in found.why


def test_a_hollow_between_the_zones_that_matter_is_no_harm() -> None:
    def hollow(along: Array, across: Array) -> Array:
        return -100 * np.sin(np.pi * np.clip((along - 90) / 130, 0, 1)) + 0 * across

    found = advise(read_once(hollow))
    assert found.action == "done"
    assert "a little hollow, and that does no harm" in found.why


def test_a_face_plainly_hollow_is_lapped_on_whatever_the_gauge() -> None:
    for noise in (1.0, 15.0, 30.0):
        found = advise(read_once(form_shape(SOLE, along_bow=-300), noise_um=noise))
        assert found.action == "keep lapping", noise
        assert found.strokes is not None
        assert found.strokes[0] < found.strokes[1]
        assert "order of magnitude" in found.doubt


def test_a_coarse_gauge_is_named_only_where_it_decides() -> None:
    plain = advise(read_once(form_shape(SOLE, along_bow=-300), noise_um=30.0))
    assert "coarse gauge" in {s.name for s in plain.signs}
    close = advise(read_once(form_shape(SOLE, along_bow=-70), noise_um=25.0))
    assert close.action == "measure"
    assert "a finer gauge decides" in close.why


@settings(max_examples=12, deadline=None)
@given(
    bow=st.floats(40, 110),
    noise=st.floats(1, 12),
    seed=st.integers(0, 1000),
)
def test_never_done_while_the_target_lies_inside_the_doubt(
    bow: float, noise: float, seed: int
) -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-bow), noise_um=noise, seed=seed)
    bench.read()
    case = look_at(bench.job())
    found = advise_on(case)
    assert case.answer is not None
    proved = "flat" in (case.answer.verdict, case.answer.working_verdict)
    assert (found.action == "done") == proved
    if standing(case.chance) == "in doubt":
        assert found.action in ("measure", "keep lapping")


def test_more_likely_done_than_not_is_read_again_once() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-76), noise_um=6.0, seed=4)
    bench.read()
    case = look_at(bench.job())
    assert case.chance is not None
    assert 0.5 < case.chance < 0.95
    assert advise_on(case).action == "measure"
    look = bench.looks[0]
    bench.looks[0] = replace(look, sets=(*look.sets, bench.reading()))
    again = look_at(bench.job())
    assert again.chance is not None
    # It is nearly proved now, and a third set may do it; a fourth would not.
    assert 0.8 < again.chance < 0.95
    assert advise_on(again).action == "measure"
    two = bench.looks[0].sets
    bench.looks[0] = replace(look, sets=(*two, bench.reading()))
    assert advise(bench.job()).action in ("keep lapping", "done")


def warm_crown(along: Array, across: Array) -> Array:
    """Give what heat adds: 10 µm of crown, so that the ends read low."""
    return -10 * (2 * along / 250 - 1) ** 2 + 0 * across


def warm_bench(hours: float, *, bow: float = -62) -> MadeBench:
    """Rub a long time and read after some hours, warm if there were none."""
    bench = MadeBench(shape=form_shape(SOLE, along_bow=bow), target_um=50)
    bench.rub(1, fresh=True)
    bench.runs[-1] = replace(bench.runs[-1], strokes=300.0)
    bench.read(warm_crown if hours < 1 else None, after_hours=hours)
    return bench


def test_a_warm_plane_cools_before_it_is_called_done() -> None:
    found = advise(warm_bench(0.03).job())
    assert found.action == "cool"
    assert "read warm" in {s.name for s in found.signs}
    cool = advise(warm_bench(3).job())
    assert cool.action != "cool"
    assert "read warm" not in {s.name for s in cool.signs}


def test_a_warm_plane_far_from_done_is_lapped_on_all_the_same() -> None:
    found = advise(warm_bench(0.03, bow=-250).job())
    assert found.action in ("keep lapping", "change paper")
    assert "read warm" in {s.name for s in found.signs}


def test_remarks_on_warmth_go_before_the_clock() -> None:
    job = warm_bench(0.03).job()
    cold = replace(job.looks[0], remark=understand("read cold"))
    assert "read warm" not in names(replace(job, looks=(cold,)))
    hot = replace(job.looks[0], at=None, remark=understand("sole 31C, top 24C"))
    found = advise(replace(job, looks=(hot,)))
    (sign,) = [s for s in found.signs if s.name == "read warm"]
    # α·ΔT·L²/(8·h) by hand: 10.8e-6 · 7 · 250² / (8 · 50) = 11.8 µm.
    assert sign.um == pytest.approx(11.8, abs=0.1)


def test_a_crown_that_went_away_in_the_cold_was_heat() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-60), target_um=50, noise_um=1.0)
    bench.rub(100, fresh=True)
    bench.read(warm_crown, after_hours=2)
    bench.read(after_hours=5)
    assert "read warm" in names(bench.job())


def hollow_lap(known: bool) -> MadeBench:
    """Rub a flat face on a hollow lap, mapped or not."""
    lap = Lap(name="slab")
    if known:
        form = Form(
            along_bow=Bow(um=-190, u_um=2),
            across_bow=Bow(um=0, u_um=2),
            twist=Twist(um=0, u_um=3, arcmin=0),
        )
        lap = Lap(name="slab", form=form, face=LAP_FACE)
    bench = MadeBench(
        shape=form_shape(SOLE, along_bow=-20),
        target_um=30,
        lap=bowed_lap(450, 300, along_bow_um=-190),
        known_lap=lap,
        stroke=replace(STROKE, stroke_mm=150),
    )
    bench.read()
    for _ in range(3):
        bench.rub(150, fresh=True)
        bench.read()
    return bench


def test_a_crown_that_grows_is_the_lap_or_the_hand_and_a_map_tells() -> None:
    unknown = advise(hollow_lap(known=False).job())
    assert unknown.action == "check lap"
    assert "crown growing" in {s.name for s in unknown.signs}
    assert "only readings of the lap tell them apart" in unknown.why
    known = advise(hollow_lap(known=True).job())
    assert known.action == "check lap"
    assert "lap not flat" in {s.name for s in known.signs}


def test_a_face_that_comes_down_to_the_laps_shape_is_told_before_it_stays() -> None:
    """A crown of 130 on a lap that leaves 59: (250/450)² of its hollow of 190 µm."""
    bench = MadeBench(
        shape=form_shape(SOLE, along_bow=130),
        target_um=50,
        noise_um=3.0,
        lap=bowed_lap(450, 300, along_bow_um=-190),
        stroke=replace(STROKE, stroke_mm=150),
    )
    bench.read()
    for turn in range(6):
        bench.rub(100, fresh=turn % 2 == 0)
        bench.read()
    found = advise(bench.job())
    assert found.action == "check lap"
    (sign,) = [s for s in found.signs if s.name == "shape stays"]
    assert sign.um == pytest.approx(190 * (250 / 450) ** 2, abs=20)
    # Strokes on another lap begin anew.
    last = replace(bench.runs[-1], lap=Lap(name="plate"))
    assert "shape stays" not in names(
        replace(bench.job(), runs=(*bench.runs[:-1], last))
    )


@pytest.mark.parametrize("hollow_um", [0, 700])
def test_a_crown_of_any_size_that_stays_under_fresh_paper_is_told(
    hollow_um: float,
) -> None:
    """A lap that leaves 216 µm, more than any shape that is tried; and a flat one."""
    bench = MadeBench(
        shape=form_shape(SOLE, along_bow=216),
        lap=bowed_lap(450, 300, along_bow_um=-hollow_um),
        stroke=replace(STROKE, stroke_mm=150),
    )
    bench.read()
    for _ in range(9):
        bench.rub(120, fresh=True)
        bench.read()
    found = advise(bench.job())
    stays = [s for s in found.signs if s.name == "shape stays"]
    assert bool(stays) == bool(hollow_um)
    if stays:
        assert found.action == "check lap"
        assert "did not come down in the last" in stays[0].says
        assert stays[0].um == pytest.approx(216, abs=20)


def test_a_crown_that_grows_since_one_bad_look_alone_does_not_grow() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=40))
    bench.read()
    for add in (None, form_shape(SOLE, along_bow=-12), None):
        bench.rub(20, fresh=add is None)
        bench.read(add)
    assert "crown growing" not in names(bench.job())


def rocked(lap: Lap | None) -> MadeBench:
    """Rub a flat face with the load swinging far out to its ends."""
    bench = MadeBench(
        shape=form_shape(SOLE, along_bow=-5),
        target_um=20,
        known_lap=lap,
        paper=replace(PAPER, stiffness_mpa_per_um=1e-4),
        stroke=replace(STROKE, swing_along_mm=95.0),
    )
    bench.read()
    for _ in range(4):
        bench.rub(150, fresh=True)
        bench.read()
    return bench


def test_with_a_lap_known_to_be_flat_it_is_the_hand() -> None:
    flat = Form(
        along_bow=Bow(um=0, u_um=2),
        across_bow=Bow(um=0, u_um=2),
        twist=Twist(um=0, u_um=3, arcmin=0),
    )
    found = advise(rocked(Lap(name="slab", form=flat, face=LAP_FACE)).job())
    assert found.action == "press differently"
    assert {"crown growing", "rocking"} <= {s.name for s in found.signs}
    # Nor does a sheet that is old come before a hand that rocks.
    job = rocked(Lap(name="slab", form=flat, face=LAP_FACE)).job()
    old = replace(job.runs[-1], sheet_age=400.0, fresh=False)
    worn = advise(replace(job, runs=(*job.runs[:-1], old)))
    assert worn.action == "press differently"
    assert advise(rocked(None).job()).action == "check lap"


def test_a_lap_whose_map_cannot_give_the_target_is_said_at_once() -> None:
    twisted = Form(
        along_bow=Bow(um=0, u_um=2),
        across_bow=Bow(um=0, u_um=2),
        twist=Twist(um=900, u_um=3, arcmin=0),
    )
    bench = MadeBench(
        shape=form_shape(SOLE, along_bow=-200),
        known_lap=Lap(name="slab", form=twisted, face=LAP_FACE),
    )
    bench.read()
    bench.rub(100, fresh=True)
    bench.read()
    # Same sense, by the ratio of areas: 900 · 250·60/(450·300) = 100 µm of wind, and
    # a zone of half that, which is within 80 and not within 45.
    assert advise(bench.job()).action == "keep lapping"
    tight = advise(replace(bench.job(), target_um=45.0))
    assert tight.action == "check lap"
    assert "no flatter than 50 µm" in tight.why


def test_a_steady_bench_has_no_signs() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-260, twist=50))
    for turn in range(5):
        bench.read()
        assert names(bench.job()) == set(), turn
        bench.rub(60, fresh=turn % 2 == 0)


def dead_bench(cuts: float, *, yard: bool = True, fades: float = 250) -> MadeBench:
    """Rub on a fresh sheet, then go on with the same one that cuts less."""
    paper = replace(PAPER, fading_strokes=fades)
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-300), paper=paper)
    bench.read()
    bench.rub(80, fresh=True)
    bench.read()
    for _ in range(2):
        bench.rub(80, cuts=cuts)
        bench.read()
    if not yard:
        bench.runs = [replace(run, aged_surely=False) for run in bench.runs]
    return bench


def test_dead_paper_shows_beside_a_fresh_sheet_and_not_without() -> None:
    found = advise(dead_bench(0.06).job())
    assert found.action == "change paper"
    assert "dead paper" in {s.name for s in found.signs}
    assert "dead paper" not in names(dead_bench(0.06, yard=False).job())
    changed = dead_bench(0.06)
    changed.rub(40, fresh=True)
    assert "dead paper" not in names(changed.job())
    assert advise(changed.job()).action != "change paper"
    # A sheet that lasts is not called dead for its strokes: these wear so by custom.
    assert "dead paper" in names(dead_bench(1.0).job())
    assert "dead paper" not in names(dead_bench(1.0, fades=5000).job())


def test_a_sheet_is_changed_by_its_strokes_before_it_was_ever_judged() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-300))
    bench.read()
    bench.rub(120, fresh=True)
    bench.read()
    assert advise(bench.job()).action == "keep lapping"
    bench.rub(270, fresh=True)
    bench.read()
    found = advise(bench.job())
    assert found.action == "change paper"
    assert "after 270 strokes a sheet of P120 more likely than not" in found.why
    assert "dead paper" not in {s.name for s in found.signs}
    # Nobody said that the sheet was fresh, so that nothing is known of its strokes.
    runs = [replace(run, aged_surely=False) for run in bench.runs]
    bench.runs = runs
    assert advise(bench.job()).action == "keep lapping"


def few_places(bow: float) -> MadeBench:
    """Read a lumpy face at few places with a fine gauge."""

    def lumpy(along: Array, across: Array) -> Array:
        ends = -bow * (1 - (2 * along / 250 - 1) ** 2)
        return ends + 4 * np.sin(along / 11) * np.cos(across / 9)

    places = [(along, across) for along in (6, 76, 160, 244) for across in (4, 30, 56)]
    bench = MadeBench(shape=lumpy, noise_um=0.5, places=places)
    bench.read()
    return bench


def test_what_lies_between_the_places_is_read_before_more_comes_off() -> None:
    bench = few_places(84)
    case = look_at(bench.job())
    assert case.chance is not None
    assert 0.1 < case.chance < 0.95
    found = advise_on(case)
    assert found.action == "measure"
    assert "rows between rows" in found.why
    assert found.where
    # Far from done nobody is sent to read more.
    assert advise(few_places(300).job()).action == "keep lapping"


def test_nearly_done_is_told_how_many_strokes_show_it() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-76), noise_um=6.0, seed=4)
    bench.read()
    look = bench.looks[0]
    sets = (*look.sets, bench.reading(), bench.reading())
    bench.looks[0] = replace(look, sets=sets)
    case = look_at(bench.job())
    assert case.chance is not None
    assert case.chance > 0.5
    assert not case.done
    found = advise_on(case)
    assert found.action == "keep lapping"
    assert "take off about what one reading is in doubt" in found.why
    assert found.strokes is not None
    assert found.strokes[1] >= 30


def squared(number: int, um: float) -> Squared:
    """Read the left side by square with a doubt of 3 µm."""
    found = Squareness(
        um=um,
        u_um=3.0,
        arcmin=0.0,
        over_mm=50.0,
        along_um=None,
        along_u_um=None,
        stations=(),
    )
    return Squared(number=number, side="left side", found=found)


def test_one_sided_pressure_shows_by_the_square_alone() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-300))
    bench.squares.append(squared(bench.next(), 5.0))
    bench.read()
    bench.rub(60, fresh=True)
    bench.read()
    bench.squares.append(squared(bench.next(), 45.0))
    found = advise(bench.job())
    assert found.action == "press differently"
    # An angle that opens lost more at this side's edge: press on the other one.
    assert found.where == ("the edge away from the left side",)
    bench.squares[-1] = squared(bench.squares[-1].number, 9.0)
    assert "out of square" not in names(bench.job())


def rivet(along: Array, across: Array) -> Array:
    """Give a hollow face with one head standing 90 µm proud."""
    head = 90 * np.exp(-(((along - 160) / 6) ** 2 + ((across - 30) / 6) ** 2))
    return np.asarray(form_shape(SOLE, along_bow=-40)(along, across) + head)


def test_a_proud_head_seen_twice_comes_down_first() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-40), target_um=40)

    def on_top(along: Array, across: Array) -> Array:
        return rivet(along, across) - form_shape(SOLE, along_bow=-40)(along, across)

    bench.read(on_top)
    once = advise(bench.job())
    assert "proud place" not in {s.name for s in once.signs}
    bench.rub(1, fresh=True)
    bench.read(on_top)
    found = advise(bench.job())
    assert found.action == "one place first"
    assert found.where == ("middle, centre",)


def test_a_slip_of_the_pen_is_named_and_not_believed() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-150))
    bench.read()
    bench.rub(60, fresh=True)

    def slip(along: Array, across: Array) -> Array:
        here = (np.abs(along - 125) < 1) & (np.abs(across - 30) < 1)
        return np.where(here, 100.0, 0.0)

    bench.read(slip)
    found = advise(bench.job())
    (sign,) = [s for s in found.signs if s.name == "reading in doubt"]
    assert sign.where == ("middle, centre",)
    assert "proud place" not in {s.name for s in found.signs}


def test_a_slip_that_decides_is_read_again() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-20))
    bench.read()
    bench.rub(5, fresh=True)

    def slip(along: Array, across: Array) -> Array:
        here = (np.abs(along - 244) < 1) & (np.abs(across - 4) < 1)
        return np.where(here, 150.0, 0.0)

    bench.read(slip)
    found = advise(bench.job())
    assert found.action == "measure"
    assert found.where == ("heel-left corner",)


def test_a_slip_that_makes_most_of_the_work_is_read_again() -> None:
    """Far from done with it and without it, and ten times as many strokes with it."""
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-200))
    bench.read()
    bench.rub(60, fresh=True)

    def slip(along: Array, across: Array) -> Array:
        here = (np.abs(along - 125) < 1) & (np.abs(across - 30) < 1)
        return np.where(here, 2000.0, 0.0)

    bench.read(slip)
    found = advise(bench.job())
    assert (found.action, found.where) == ("measure", ("middle, centre",))


def test_strokes_since_the_reading_are_counted() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-300))
    bench.read()
    bench.rub(40, fresh=True)
    bench.read()
    bench.rub(10)
    few = advise(bench.job())
    assert few.action == "keep lapping"
    bench.rub(3000, cuts=1e-6)
    many = advise(bench.job())
    assert many.action == "measure"
    assert "3010 strokes were made since" in many.why


def test_done_is_never_said_of_a_face_that_was_rubbed_since() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-10))
    bench.read()
    assert advise(bench.job()).action == "done"
    bench.rub(20)
    assert advise(bench.job()).action == "measure"


def test_fine_paper_on_a_face_far_out_gives_way_to_coarse() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-400), papers=PAPERS)
    bench.read()
    bench.rub(60, fresh=True, grit=PAPERS[0])
    bench.read()
    for _ in range(2):
        bench.rub(60, fresh=True, grit=PAPERS[2], cuts=0.08)
        bench.read()
    found = advise(bench.job())
    assert found.action == "drop back"
    assert found.grit == PAPERS[0]


def test_the_next_grit_comes_when_this_one_has_done_its_work() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-30), papers=PAPERS)
    bench.read()
    bench.rub(60, fresh=True, grit=parse_grit("P80"))
    bench.read()
    found = advise(bench.job())
    assert found.action == "next grit"
    assert found.grit == parse_grit("P120")
    assert advise(replace(bench.job(), papers=())).action == "done"


def test_scratches_of_the_grit_before_are_taken_out_first() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-30), papers=PAPERS)
    bench.read()
    bench.rub(60, fresh=True, grit=parse_grit("P120"))
    bench.rub(5, fresh=True, grit=parse_grit("P240"))
    look = bench.read()
    reckoned = advise(bench.job())
    assert reckoned.action == "keep lapping"
    assert "by reckoning" in reckoned.why
    assert "look for scratches" in {s.name for s in reckoned.signs}
    bench.looks[-1] = replace(look, remark=understand("no scratches"))
    assert advise(bench.job()).action == "done"
    assert "look for scratches" not in names(bench.job())
    bench.looks[-1] = replace(look, remark=understand("scratches at the heel"))
    seen = advise(bench.job())
    assert seen.action == "keep lapping"
    assert "scratches left" in {s.name for s in seen.signs}
    assert "look for scratches" not in {s.name for s in seen.signs}
    # Where they were seen one looks again after more strokes.
    bench.rub(5, grit=parse_grit("P240"))
    bench.read()
    assert {"scratches left", "look for scratches"} <= names(bench.job())


def test_reading_again_while_it_cools_is_no_first_reading() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-76), noise_um=6.0, seed=4)
    bench.rub(5, fresh=True)
    for hours in (0.1, 0.5, 0.5):
        bench.read(after_hours=hours)
    assert bench.job().times_read == 3
    assert advise(bench.job()).action != "measure"
    bench.rub(5)
    assert bench.job().times_read == 0


def contact(rubbed: Array) -> ContactMap:
    """Give a contact map from the share rubbed in each small square."""
    rows, columns = squares(SOLE)
    laid = np.broadcast_to(rubbed, (rows, columns))
    return contact_map(
        SOLE,
        ink=1 - laid,
        was=np.ones((rows, columns)),
        seen=np.ones((rows, columns)),
        u=0.05,
        baseline="before photo",
    )


def test_photos_alone_say_where_it_bears_and_never_how_flat() -> None:
    rows, columns = squares(SOLE)
    down = np.linspace(0, 1, rows)[:, None]
    ends = contact((np.abs(down - 0.5) > 0.35).astype(float) * np.ones((1, columns)))
    found = advise(EMPTY, contacts={3: ends})
    assert found.action == "keep lapping"
    assert found.strokes is None
    assert "flatness not measured" in found.why
    assert found.doubt == "flatness not measured"
    assert "uneven contact" in {s.name for s in found.signs}
    all_over = contact(np.full((1, 1), 0.95))
    assert advise(EMPTY, contacts={3: all_over}).action == "measure"
    assert "µm" not in advise(EMPTY, contacts={3: ends}).why


def test_a_remark_about_the_face_says_whether_scratches_are_left() -> None:
    bench = MadeBench(shape=form_shape(SOLE))
    bench.rub(40, fresh=True)
    job = bench.job()
    assert scratches_seen(job, {}) is None
    told = replace(job, told=((bench.next(), understand("no scratches")),))
    assert scratches_seen(told, {}) is False
    # What was said before another grit says nothing of it.
    bench.rub(40, grit=parse_grit("P240"))
    assert scratches_seen(replace(bench.job(), told=told.told), {}) is None


def test_strokes_count_where_the_face_bears() -> None:
    flat = MadeBench(shape=form_shape(SOLE))
    flat.read()
    assert where_it_bears(look_at(flat.job())) == pytest.approx(1.0, abs=0.15)
    hollow = MadeBench(shape=form_shape(SOLE, along_bow=-300))
    hollow.read()
    assert where_it_bears(look_at(hollow.job())) > 2


def test_a_photo_from_before_the_last_strokes_is_stale() -> None:
    bench = MadeBench(shape=form_shape(SOLE))
    rows, columns = squares(SOLE)
    down = np.linspace(0, 1, rows)[:, None]
    photo = bench.next()
    ends = contact((np.abs(down - 0.5) > 0.35).astype(float) * np.ones((1, columns)))
    bench.rub(40, fresh=True)
    bench.rub(30)
    found = advise(bench.job(), contacts={photo: ends})
    assert found.action == "measure"
    assert "70 strokes were made since the newest photo" in found.why
    assert found.signs == ()
    assert advise(bench.job(), contacts={bench.next(): ends}).action == "keep lapping"


def test_photos_alone_lead_to_the_next_grit_but_not_to_done() -> None:
    bench = MadeBench(shape=form_shape(SOLE), papers=PAPERS)
    bench.rub(100, fresh=True, grit=parse_grit("P80"))
    photo = bench.next()
    even = contact(np.full((1, 1), 0.95))
    found = advise(bench.job(), contacts={photo: even})
    assert (found.action, found.grit) == ("next grit", parse_grit("P120"))
    rough = advise(bench.job(), contacts={photo: even}, scratched={photo: True})
    assert rough.action == "keep lapping"


def test_opposite_corners_are_a_sign_of_twist_without_a_figure() -> None:
    rows, columns = squares(SOLE)
    a = np.linspace(-1, 1, rows)[:, None]
    c = np.linspace(-1, 1, columns)[None, :]
    found = advise(EMPTY, contacts={3: contact((a * c > 0.1).astype(float))})
    (sign,) = [s for s in found.signs if s.name == "opposite corners"]
    assert sign.where == ("toe-left corner", "heel-right corner") or sign.where == (
        "toe-left",
        "heel-right",
    )
    assert sign.um is None
    assert "µm" not in sign.says


def test_one_session_only_and_useless_readings_are_words_not_crashes() -> None:
    few = dial_set([(5, 5, 0.0), (125, 30, 1.0), (245, 55, 2.0)], face=SOLE)
    job = replace(EMPTY, looks=(Look(number=1, sets=(few,)),))
    found = advise(job)
    assert found.action == "measure"
    assert any("left out" in warning for warning in found.warnings)
    other = read_once(form_shape(SOLE, along_bow=-10)).looks[0]
    both = replace(job, looks=(*job.looks, replace(other, number=2)))
    assert advise(both).action == "done"


def test_json_has_its_keys_and_no_other() -> None:
    for job in (EMPTY, read_once(form_shape(SOLE, along_bow=-300))):
        found = advice_to_json(advise(job))
        assert list(found) == [
            *("action", "why", "where", "strokes", "grit", "doubt", "signs"),
            "warnings",
        ]
        assert found["action"] in ACTIONS
    assert found["grit"] == "P120"
    assert isinstance(found["strokes"], list)


def test_words_give_the_order_first() -> None:
    found = advise(read_once(form_shape(SOLE, along_bow=-300)))
    said = advice_words("Bramble/sole", found)
    assert said.startswith("Bramble/sole: Keep lapping.")
    assert "How many" in said
    assert max(map(len, said.splitlines())) <= 80
    assert advice_line(found).startswith("Keep lapping. ")
    assert set(ORDERS) == set(ACTIONS)


def test_the_way_the_frame_is_turned_changes_no_advice() -> None:
    plain = replace(SOLE, mouth=None)
    places = grid_places(8, 3, plain)

    def made(turn: bool) -> Job:
        def shape(along: Array, across: Array) -> Array:
            if turn:
                along, across = 250 - along, 60 - across
            return form_shape(plain, along_bow=200, twist=60)(along, across)

        def tilt(along: Array, across: Array) -> Array:
            return 0.5 * along - 2 * across + 40 if turn else 0 * along

        bench = MadeBench(shape=shape, face=plain, noise_um=0.5, places=places)
        bench.read(tilt)
        bench.rub(60, fresh=True)
        bench.read(tilt)
        return bench.job()

    here, there = advise(made(False)), advise(made(True))
    assert here.action == there.action
    assert here.strokes is not None
    assert there.strokes is not None
    assert here.strokes[1] == pytest.approx(there.strokes[1], rel=0.35)


def test_a_clock_that_went_back_is_no_reason_to_cool() -> None:
    job = warm_bench(0.03).job()
    rubbed = job.runs[0].at
    assert rubbed is not None
    early = replace(job.looks[0], at=rubbed - timedelta(hours=1))
    assert "read warm" not in names(replace(job, looks=(early,)))
