"""`lapping plan`: papers, hours and other ways, for faces read and for stock."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lapping.answer import Answer
from lapping.face import Face, Mouth
from lapping.from_files import check_readings
from lapping.grid import metal_grid
from lapping.grits import Grit, parse_grit
from lapping.planning.job_ahead import SoleWorks, job_from_surface, job_of_stock
from lapping.planning.whole_job import (
    MUCH_SHORTER,
    WORTH_HOURS,
    assumed_rates,
    plan_job,
)
from lapping.surface.posterior import Surface
from lapping.warmth import metal_named
from lapping.wear.flattening import depths_to_flatten_um
from lapping.wear.lap_contact import Cells, cells_of
from lapping.wear.rate_prior import Rate
from lapping.words.plan import hours_words, report_plan
from lapping.working import works
from tests.said import Run

SAMPLES = Path(__file__).resolve().parents[1] / "sample_measurements"
HOLLOW = str(SAMPLES / "bramble_hollow_behind_mouth.csv")
IRON = metal_named("cast iron")
SOLE = Face(length_mm=250, width_mm=60)
PAPERS = tuple(parse_grit(one) for one in ("P80", "P120", "P240"))
STOCK = ("--length", "250mm", "--width", "60mm")


def stock(out_um: float, **more: Any) -> Any:
    return job_of_stock(SOLE, IRON, 80, flatness_um=(out_um, out_um, out_um), **more)


# The job: how much metal.


def test_stock_costs_what_its_hollow_twisted_and_crowned_shapes_do() -> None:
    # Second-degree shapes cut parallel to the face (geometry): a hollow of 300 µm down
    # to 80 leaves ∫(300a² - 80)+ = 48, a crown 300(1 - a²) over 80 leaves 121 on
    # average; the twist lies between, and it is the median of the three.
    job = stock(300)
    few, likely, many = job.depth.range_um
    cells = cells_of(SOLE, 30, 10)
    a, c = cells.terms[:, 1:].T
    twist = a * c
    twist *= 300 / (2 * np.abs(twist).max())
    (twisted,) = depths_to_flatten_um(cells, twist, [80])
    assert likely == pytest.approx(twisted, rel=0.05)
    assert few < 48 < likely
    assert likely < 121 < many * 1.05


def test_worse_stock_never_costs_less() -> None:
    depths = [stock(out).depth.likely_um for out in (80, 100, 200, 400)]
    assert depths[0] == 0
    assert depths == sorted(depths)


def test_skin_comes_off_all_over_and_even_where_stock_is_flat() -> None:
    flat = stock(50, skin_um=10)
    assert flat.flat_already
    assert flat.depth.likely_um == pytest.approx(10)
    out = stock(300, skin_um=30)
    assert out.depth.likely_um == pytest.approx(stock(300).depth.likely_um + 30)


def test_file_and_paper_share_the_metal() -> None:
    job = stock(300)
    marks = 10  # of the file itself
    both = job.to_filed.likely_um + job.from_filed.likely_um - marks
    assert both == pytest.approx(job.depth.likely_um, rel=0.1)
    assert job.to_filed.likely_um < job.depth.likely_um


@pytest.mark.parametrize("seed", range(6))
def test_a_plan_knows_a_working_sole_as_the_answer_does(seed: int) -> None:
    # `working.works` on a surface that is known is the judge.
    face = Face(length_mm=245, width_mm=60, mouth=Mouth(from_mm=80, to_mm=86))
    grid = metal_grid(face)
    cells = Cells(
        face=face, along_mm=grid.along_mm, across_mm=grid.across_mm, cell_mm2=60.0
    )
    rng = np.random.default_rng(seed)
    a, c = cells.terms[:, 1:].T
    six = rng.normal(size=4) * 30
    height = six[0] * a**2 + six[1] * c**2 + six[2] * a * c + six[3] * a**3
    judged = []
    for size in (0.2, 0.5, 1.0, 2.0, 4.0):
        surface = Surface(
            face=face,
            grid=grid,
            places=0,
            along_mm=grid.along_mm,
            across_mm=grid.across_mm,
            mean_um=size * height,
            draws_um=size * height[None, :],
            length_scale_mm=50.0,
        )
        said = works(surface, 40.0).probability == 1
        judged.append(said)
        assert SoleWorks.of(cells, 40.0).met(size * height) == said
    assert judged[0]


@pytest.fixture(scope="module")
def read() -> Answer:
    found = check_readings(HOLLOW)
    assert isinstance(found, Answer)
    return found


def test_a_face_that_was_read_works_before_it_is_flat(read: Answer) -> None:
    job = job_from_surface(
        read.surface, IRON, 80, flatness_um=(140, 163, 228), scratched_by=PAPERS[1]
    )
    assert job.scratched_by == PAPERS[1]
    assert job.working is not None
    assert 0 < job.working.likely_um < job.depth.likely_um
    # The mean surface, a cut parallel to the face: all within a factor of two.
    mean = read.surface.mean_um[read.surface.places :]
    cut = np.maximum(mean - mean.min() - 80, 0).mean()
    assert cut / 2 < job.depth.likely_um < cut * 2


# The plan: what is shorter.


def with_rates(um_per_100: float) -> dict[Grit, Rate]:
    return {g: Rate(um_per_100=um_per_100, spread=0.3, learnt=True) for g in PAPERS}


def test_a_long_job_is_better_filed_or_ground_and_a_short_one_lapped() -> None:
    job = stock(300)
    slow, fast = (plan_job(job, with_rates(rate)) for rate in (0.5, 50))
    assert slow.shorter == ("file first", "have it ground")
    assert fast.shorter == ()
    assert slow.time.hours[1] > WORTH_HOURS > fast.time.hours[1]
    assert slow.filed is not None
    assert slow.filed[1][1] < MUCH_SHORTER * slow.time.hours[1]


def test_a_way_that_leaves_too_much_is_not_offered() -> None:
    # A grinder leaves 15 µm here and a scraper 10; a file leaves 100.
    tight = job_of_stock(SOLE, IRON, 5, flatness_um=(90, 90, 90))
    plan = plan_job(tight, with_rates(1))
    assert plan.ways == ()
    assert plan.filed is None
    assert plan.shorter == ()
    some = job_of_stock(SOLE, IRON, 12, flatness_um=(90, 90, 90))
    assert [way.way for way in plan_job(some, with_rates(1)).ways] == ["scrape"]


def test_a_flat_face_is_not_sent_to_the_grinder() -> None:
    plan = plan_job(stock(60), with_rates(0.001))
    assert plan.papers.steps == ()
    assert plan.ways == ()
    said = report_plan(plan, title="A face")
    assert "Likely flat enough" in said
    assert "nothing to do" in said


def test_rates_are_marked_as_assumed_or_learnt() -> None:
    job = stock(300)
    assumed = plan_job(job, assumed_rates(job, PAPERS))
    assert not assumed.learnt
    assert "an assumption here" in report_plan(assumed, title="A face")
    learnt = plan_job(job, with_rates(2))
    assert "from your own readings" in report_plan(learnt, title="A face")


def test_coarse_papers_cut_faster_in_every_metal() -> None:
    for name in ("cast iron", "brass", "aluminium"):
        job = job_of_stock(SOLE, metal_named(name), 80, flatness_um=(90, 90, 90))
        rates = assumed_rates(job, PAPERS)
        by_grit = [rates[grit].um_per_100 for grit in PAPERS]
        assert by_grit == sorted(by_grit, reverse=True)


@pytest.mark.parametrize(
    ("hours", "words"),
    [
        ((1.2, 6.1, 39.4), "about 6 hours (1.2 to 39)"),
        ((0.1, 0.4, 1.6), "about 24 (6 to 96) minutes"),
        ((0.5, 2.04, 11), "about 2 hours (0.5 to 11)"),
    ],
)
def test_hours_are_rounded_by_what_is_known_of_them(
    hours: tuple[float, float, float], words: str
) -> None:
    assert hours_words(hours) == words


# The command.


def answered(run: Run, *words: str) -> dict[str, Any]:
    said = run("plan", *words, "--json")
    assert said.code == 0, said.err
    found: dict[str, Any] = json.loads(said.out)
    return found


def test_rolled_stock_takes_hours_and_ground_stock_minutes(run: Run) -> None:
    # Common practice, no source: hot-rolled stock takes hours at the coarsest grit,
    # ground stock minutes.
    rolled = answered(run, *STOCK, "--stock", "rolled")
    ground = answered(run, *STOCK, "--stock", "ground")
    assert rolled["hours"][1] > 2
    assert ground["hours"][1] < 1
    assert rolled["papers"][0]["grit"] == "P80"
    assert "file first" in rolled["shorter"]
    assert ground["flat_already"]


def test_the_json_has_its_keys_and_they_agree(run: Run) -> None:
    found = answered(run, *STOCK, "--flatness", "0.3mm", "--papers", "P80,P400")
    assert found["flatness_um"] == [300, 300, 300]
    assert found["target_um"] == 80
    assert found["metal"] == "cast iron"
    assert found["scratch_share"] == 0.1
    for triple in ("remove_um", "strokes", "sheets", "hours", "rubbing_hours"):
        few, likely, many = found[triple]
        assert 0 < few <= likely <= many
    assert found["strokes"][1] == pytest.approx(
        sum(one["strokes"][1] for one in found["papers"])
    )
    (large,) = found["large_steps"]
    assert (large["from"], large["to"], large["between"]) == ("P80", "P400", "P180")
    assert large["ratio"] == pytest.approx(201 / 35)
    assert {one["way"] for one in found["other_ways"]} == {"file", "scrape", "grind"}
    assert found["file_then_lap_hours"][1] > found["other_ways"][0]["hours"][1]
    assert not any(one["learnt"] for one in found["papers"])
    assert "come before these" in found["cautions"][-1]
    assert any("assumption" in one for one in found["assumed"])
    assert found["remove_until_working_um"] is None


def test_the_words_say_what_the_figures_do(run: Run) -> None:
    said = run("plan", *STOCK, "--flatness", "0.3mm", "--papers", "P80,P400")
    assert said.code == 0
    text = " ".join(said.out.split())
    assert "300 µm out; 80 µm allowed." in text
    assert "Too large from P80 to P400 the grain is 5.7 times finer" in text
    assert "put P180 between" in text
    assert "pauses to cool and read" in text
    assert "common practice, no source" in text
    assert "Best have it ground: much shorter than paper alone" in text
    more = run("plan", *STOCK, "--stock", "rolled")
    assert "Best file it first and lap the rest, or have it ground" in " ".join(
        more.out.split()
    )
    assert all(len(line) <= 80 for line in said.out.splitlines())


def test_who_types_inches_is_answered_in_thou(run: Run) -> None:
    said = run("plan", *STOCK, "--flatness", "12thou", "--target", "±1.5thou").out
    assert "Now        12 thou out; 3 thou allowed." in said
    assert re.search(r"To remove  \d\.\d \(\d\.\d to \d\.\d\) thou on average", said)
    assert "µm" not in said


def test_settings_count(run: Run) -> None:
    base = (*STOCK, "--flatness", "0.4mm", "--papers", "P80,P240")
    usual = answered(run, *base)
    deep = answered(run, *base, "--scratch", "0.5")
    assert deep["strokes"][1] > usual["strokes"][1]
    tight = answered(run, *base, "--target", "0.02mm")
    assert tight["remove_um"][1] > usual["remove_um"][1]
    soft = answered(run, *base, "--metal", "brass")
    assert soft["strokes"][1] < usual["strokes"][1]
    assert answered(run, *base, "--finish", "P80")["papers"][-1]["grit"] == "P80"
    aluminium = answered(run, *base, "--metal", "aluminium")
    assert any("apart from iron" in one for one in aluminium["cautions"])


def test_a_face_in_the_log_is_planned_with_its_papers_and_its_scratches(
    run: Run,
) -> None:
    assert run("plane", "Bramble", *("--length", "245mm", "--width", "60mm")).code == 0
    for grade in ("P120", "P240", "P3000"):
        assert run("log", "paper", grade).code == 0
    run("strokes", "Bramble/sole", "P80", "300", "--lubricant", "dry")
    assert run("log", "import", HOLLOW, "--face", "Bramble/sole").code == 0
    said = run("plan", "Bramble/sole")
    assert said.code == 0, said.err
    assert said.err.count("log: ") == 1
    assert said.out.startswith("Bramble/sole, 245 × 60 mm, cast iron")
    assert "the plane works sooner" in " ".join(said.out.split())
    found = answered(run, "Bramble/sole")
    first = found["papers"][0]
    assert first["grit"] == "P120"
    # The scratches of P80 come off with the shape: 0.1 · 201 µm.
    assert first["remove_um"] == pytest.approx(found["remove_um"][1] + 20.1)
    assert found["flatness_um"][1] == pytest.approx(163, abs=10)
    assert not any("pirit" in one for one in found["cautions"])
    # Strokes since: the plan says that it is for the face as it was.
    run("strokes", "Bramble/sole", "P120", "100")
    later = answered(run, "Bramble/sole")
    assert any("since this was read" in one for one in later["warnings"])


def test_a_target_of_the_face_counts(run: Run) -> None:
    size = ("--length", "245mm", "--width", "60mm", "--target", "0.03mm")
    run("plane", "Bramble", *size, "--metal", "brass")
    run("log", "import", HOLLOW, "--face", "Bramble/sole")
    found = answered(run, "Bramble/sole")
    assert (found["target_um"], found["metal"]) == (30, "brass")
    assert answered(run, "Bramble/sole", "--target", "60um")["target_um"] == 60


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ((), "name a face that was read, as Bramble/sole, or describe stock"),
        (STOCK, "describe stock: --length"),
        (("--flatness", "0.3mm"), "describe stock: --length"),
        ((*STOCK, "--flatness", "0.3"), "'0.3' has no unit"),
        ((*STOCK, "--flatness", "0mm"), "must be more than 0"),
        (("--length", "0mm", *STOCK[2:], "--stock", "ground"), "length and width must"),
        ((*STOCK, "--stock", "forged"), "'forged' is no kind of stock"),
        ((*STOCK, "--stock", "ground", "--metal", "cheese"), "no metal known here"),
        ((*STOCK, "--stock", "ground", "--papers", "400"), "either of two grits"),
        ((*STOCK, "--stock", "ground", "--papers", "P81"), "P80 .201 µm. and P100"),
        (
            (*STOCK, "--stock", "ground", "--papers", "P80", "--finish", "P240"),
            "P240 to finish on is not among the papers on hand: P80",
        ),
        ((*STOCK, "--stock", "rolled", "--scratch", "7"), "at most 1 of the grain"),
        ((*STOCK, "--stock", "rolled", "--target", "0mm"), "must be more than 0"),
        ((HOLLOW, "--stock", "ground"), "and not both"),
        ((str(SAMPLES / "bramble_side_square.csv"),), "only a square was read"),
        (
            (str(SAMPLES / "yarrow_no_diagonals.csv"),),
            "cannot be told, because its twist was not measured; read the diagonal",
        ),
        (("Nobody/sole",), "Nobody/sole"),
    ],
)
def test_what_cannot_be_planned_is_refused(
    run: Run, words: tuple[str, ...], sentence: str
) -> None:
    said = run("plan", *words)
    assert (said.code, said.out) == (2, "")
    assert re.search(sentence, said.err)
    assert "Traceback" not in said.err


def test_a_plan_says_the_same_twice(run: Run) -> None:
    words = (*STOCK, "--stock", "cast", "--papers", "P80,P240")
    assert run("plan", *words).out == run("plan", *words).out
