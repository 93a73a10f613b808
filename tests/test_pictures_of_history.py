"""Progress, maps from first to last, papers and removal: what is drawn, and where."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.container import BarContainer, ErrorbarContainer
from matplotlib.figure import Figure
from matplotlib.text import Annotation

from lapping.advice.advised_then import LOOKS_BACK, advised_then
from lapping.advice.case import Case, look_at
from lapping.advice.table import advise
from lapping.errors import BadInput
from lapping.face import Face
from lapping.grits import parse_grit
from lapping.pictures.papers import papers
from lapping.pictures.progress import progress
from lapping.pictures.progress_maps import progress_maps
from lapping.planning.job_ahead import job_of_stock
from lapping.planning.whole_job import JobPlan, assumed_rates, plan_job
from lapping.progress import progress_of
from lapping.removal.job import Run
from lapping.removal.told import StageTold, stages_told
from lapping.warmth import METALS
from tests.drawn import is_whole_and_legible, named, said
from tests.made_jobs import SOLE, MadeBench
from tests.made_progress import came, evenings, history, only_bore
from tests.made_readings import form_shape

LONG = "The old tanner's long jointer from the loft/left side"


@cache
def case_of_four() -> Case:
    """Read a hollow, twisted sole four times, with strokes in between."""
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-250, twist=90))
    bench.read()
    for _ in range(3):
        bench.rub(100, fresh=True)
        bench.read()
    return look_at(bench.job())


def plan(um: float, *names: str) -> JobPlan:
    """Plan for stock that is so far out, on these papers."""
    face = Face(length_mm=600, width_mm=76)
    flatness = (um / 3, um, um * 3)
    job = job_of_stock(face, METALS["cast iron"], 30.0, flatness_um=flatness)
    return plan_job(job, assumed_rates(job, [parse_grit(name) for name in names]))


def bars(ax: Axes) -> list[tuple[float, float]]:
    """Give middle and height of every bar."""
    return [
        (bar.get_x() + bar.get_width() / 2, bar.get_height())
        for one in ax.containers
        if isinstance(one, BarContainer)
        for bar in one.patches
    ]


def with_bars(ax: Axes, label: str) -> ErrorbarContainer:
    (only,) = [one for one in ax.containers if one.get_label() == label]
    assert isinstance(only, ErrorbarContainer)
    return only


# --- progress


def test_every_time_stands_with_its_interval_against_the_target() -> None:
    times = evenings(6)
    ax = named(progress(history(times)), "flatness")
    drawn = with_bars(ax, "flatness")
    np.testing.assert_allclose(drawn[0].get_ydata(), [t.likely_um for t in times])
    (ends,) = drawn[2]
    for segment, one in zip(ends.get_segments(), times, strict=True):
        np.testing.assert_allclose(segment[:, 1], one.interval_um)
    (target,) = [line for line in ax.lines if line.get_label() == "target"]
    assert set(np.asarray(target.get_ydata()).tolist()) == {80.0}
    assert ax.get_ylim()[0] == 0


def test_twist_and_crown_are_drawn_about_0_with_two_u() -> None:
    times = evenings(4)
    ax = named(progress(history(times)), "form")
    low, high = ax.get_ylim()
    assert high == -low
    for label, values in (
        ("twist", [t.twist_um for t in times]),
        ("bow along", [t.along_bow_um for t in times]),
    ):
        drawn = with_bars(ax, label)
        known = [value for value in values if value is not None]
        np.testing.assert_allclose(drawn[0].get_ydata(), [um for um, _ in known])
        (ends,) = drawn[2]
        for segment, (um, u) in zip(ends.get_segments(), known, strict=True):
            np.testing.assert_allclose(segment[:, 1], [um - 2 * u, um + 2 * u])
    assert {line.get_linestyle() for line in ax.lines} >= {"-", "--"}


def test_strokes_stand_between_the_times_and_grits_on_top_of_each_other() -> None:
    times = evenings(3)
    both = ((parse_grit("P80"), 120.0), (parse_grit("P120"), 60.0))
    times[2] = replace(times[2], strokes=both)
    figure = progress(history(times))
    ax = named(figure, "strokes")
    assert bars(ax) == [(0.5, 100.0), (1.5, 120.0), (1.5, 60.0)]
    assert ax.get_ylim()[1] > 180
    legend = ax.get_legend()
    assert legend is not None
    assert [text.get_text() for text in legend.get_texts()] == ["P150", "P80", "P120"]


def test_contact_and_advice_are_drawn_where_they_are_known() -> None:
    times = evenings(3)
    plain = progress(history(times))
    assert [ax.get_label() for ax in plain.axes] == ["flatness", "form", "strokes"]
    times[0] = replace(times[0], contact_percent=35.0, advised="keep lapping")
    times[2] = replace(times[2], advised="next grit")
    figure = progress(history(times))
    ax = named(figure, "bears")
    assert ax.get_ylim() == (0, 100)
    assert bars(ax) == [(0.0, 35.0)]
    notes = named(figure, "strokes").findobj(Annotation)
    at = {t.get_text(): t.xy[0] for t in notes if isinstance(t, Annotation)}
    assert at == {"keep\nlapping": 0, "next\ngrit": 2}
    assert any("what was to be done next" in text for text in said(figure))


def test_a_face_known_by_photos_alone_has_no_figure_for_flatness() -> None:
    times = [only_bore(one, 20.0 * (i + 1)) for i, one in enumerate(evenings(3))]
    figure = progress(history(times))
    assert [ax.get_label() for ax in figure.axes] == ["flatness", "bears", "strokes"]
    assert "flatness not measured" in said(figure)
    assert "Bramble/sole: 80 µm allowed" in said(figure)


def test_a_far_out_first_reading_does_not_hide_the_last() -> None:
    likely = (9000.0, 30.0, 20.0, 15.0)
    times = [came(i, 4, um) for i, um in enumerate(likely)]
    ax = named(progress(history(times, target_um=20.0)), "flatness")
    assert ax.get_yscale() == "log"
    assert 0 < ax.get_ylim()[0] < 15
    assert ax.get_ylim()[1] > 9000 * 1.3


@pytest.mark.parametrize("many", [1, 2, 14, 30, 45])
def test_progress_is_whole_and_legible(many: int) -> None:
    times = [replace(one, advised="press differently") for one in evenings(many)]
    is_whole_and_legible(progress(history(times, label=LONG)))


def test_nothing_is_no_progress() -> None:
    with pytest.raises(BadInput, match="nothing was read yet"):
        progress(history([]))


# --- maps from first to last


def test_maps_go_from_first_to_last_in_one_scale_of_colours() -> None:
    case = case_of_four()
    figure = progress_maps("Bramble/sole", case.glances)
    axes = [ax for ax in figure.axes if ax.get_label() != "colour bar"]
    assert [ax.get_label() for ax in axes] == [f"map {i}" for i in range(4)]
    limits = set()
    for ax in axes:
        (bands,) = [one for one in ax.collections if one.get_label() == "heights"]
        limits.add(bands.get_clim())
    ((low, high),) = limits
    assert high == -low
    assert named(figure, "colour bar").get_xlim() == (low, high)
    one = case.glances[0]
    assert one.look.at is not None
    assert (
        axes[0].get_xlabel()
        == f"{one.look.at.astimezone():%d %b}\n{one.likely_um:.0f} µm"
    )


def test_maps_stand_upright_in_true_proportion() -> None:
    figure = progress_maps("Bramble/sole", case_of_four().glances)
    ax = named(figure, "map 0")
    assert ax.get_xlim() == (0, SOLE.width_mm)
    assert ax.get_ylim() == (SOLE.length_mm, 0)
    box = ax.get_window_extent()
    assert box.height / box.width == pytest.approx(SOLE.length_mm / SOLE.width_mm)
    is_whole_and_legible(figure)


def test_of_many_looks_the_first_the_last_and_some_between_are_shown() -> None:
    four = case_of_four().glances
    figure = progress_maps("Bramble/sole", [four[0], *four[1:3] * 20, four[3]])
    maps = [ax for ax in figure.axes if ax.get_label() != "colour bar"]
    assert len(maps) == 6
    for ax, one in ((maps[0], four[0]), (maps[-1], four[3])):
        assert ax.get_xlabel().endswith(f"\n{one.likely_um:.0f} µm")
    with pytest.raises(BadInput, match="read it first"):
        progress_maps("Bramble/sole", [])


def test_a_look_that_left_twist_open_is_hatched() -> None:
    first, *others = case_of_four().glances
    open_ = replace(first, unseen=("twist",))
    assert open_.likely_um is None
    assert open_.interval_um is None
    figure = progress_maps("Bramble/sole", [open_, *others])
    drawn = [one.get_label() for one in named(figure, "map 0").collections]
    assert drawn == ["blank"]
    assert named(figure, "map 0").get_xlabel().endswith("not all\nmeasured")
    alone = progress_maps("Bramble/sole", [open_])
    is_whole_and_legible(alone)


def test_progress_and_its_maps_share_a_page() -> None:
    case = case_of_four()
    figure = progress(progress_of(case), case.glances)
    assert named(figure, "flatness") is not named(figure, "map 3")
    is_whole_and_legible(figure)


# --- papers, and removal expected and observed


def test_every_paper_has_its_strokes_with_few_and_many() -> None:
    made = plan(300, "P80", "P120", "P180", "P320")
    figure = papers("Stock", made)
    ax = named(figure, "papers")
    assert [t.get_text() for t in ax.get_yticklabels()] == [
        step.grit.name for step in made.papers.steps
    ]
    wide = [
        bar.get_width()
        for one in ax.containers
        if isinstance(one, BarContainer)
        for bar in one.patches
    ]
    np.testing.assert_allclose(wide, [step.strokes[1] for step in made.papers.steps])
    for line, step in zip(ax.lines, made.papers.steps, strict=True):
        assert tuple(np.asarray(line.get_xdata())) == (step.strokes[0], step.strokes[2])
    low, high = ax.get_xlim()
    assert (
        low <= made.papers.steps[0].strokes[0] < made.papers.steps[0].strokes[2] <= high
    )
    assert ax.get_xscale() == "log"
    assert len([t for t in ax.texts if "sheets, about" in t.get_text()]) == len(wide)


def test_a_step_too_large_and_a_plan_of_nothing_are_said() -> None:
    figure = papers("Stock", plan(100, "P80", "P1000"))
    assert any(text.startswith("From P80 to P1000") for text in said(figure))
    nothing = papers("Bramble/sole", plan(5, "P80"))
    assert said(nothing) == ["Bramble/sole", "Nothing to do on these papers"]
    is_whole_and_legible(nothing)


def test_what_came_off_stands_on_what_was_expected() -> None:
    told = stages_told(case_of_four().removal)
    assert len(told) == 3
    for one in told:
        assert one.expected_um[0] < one.expected_um[1] < one.expected_um[2]
        assert [run.strokes for run in one.runs] == [100.0]
    figure = papers("Bramble/sole", plan(300, "P80", "P120"), told)
    ax = named(figure, "removal")
    drawn = [line for line in ax.lines if line.get_label() == "observed"]
    seen = [one.seen_um for one in told if one.seen_um is not None]
    np.testing.assert_allclose(
        [float(np.asarray(line.get_xdata())[0]) for line in drawn],
        [middle for _, middle, _ in seen],
    )
    texts = [text.get_text() for text in ax.texts]
    assert texts == ["not told"] * (len(told) - len(seen))


def test_the_dose_seen_holds_what_truly_came_off() -> None:
    """Held against the lap model, which took it off."""
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-250))
    bench.read()
    off = bench.rub(100, fresh=True)
    bench.read()
    (told,) = stages_told(look_at(bench.job()).removal)
    assert told.seen_um is not None
    assert told.seen_um[0] < float(off.mean()) < told.seen_um[2]


@pytest.mark.parametrize(
    ("um", "names"),
    [
        (900, ("P60", "P80", "P120", "P180", "P220", "P320", "P400", "P600", "P1000")),
        (100, ("P80", "P1000")),
    ],
)
def test_papers_are_whole_and_legible(um: float, names: tuple[str, ...]) -> None:
    runs = tuple(
        Run(number=i, grit=parse_grit(name), strokes=1500)
        for i, name in enumerate(("P80", "P1000"), start=1)
    )
    stages = [
        StageTold(number=i, runs=runs, expected_um=(1, 5, 20), seen_um=seen)
        for i, seen in enumerate([(2.0, 4.0, 9.0), None] * 10)
    ]
    is_whole_and_legible(papers(LONG, plan(um, *names), stages))


# --- advice at every look


def test_advice_then_is_what_was_advised_then() -> None:
    """As if it had been asked each time, without what came later."""
    case = case_of_four()
    job = case.job
    assert len(job.looks) <= LOOKS_BACK
    expected = {}
    for at, one in enumerate(job.looks):
        then = replace(
            job, looks=job.looks[: at + 1], runs=job.runs_between(0, one.number)
        )
        expected[one.number] = advise(then).action
    found = advised_then(job)
    assert found == expected
    told = progress_of(case, None, found)
    assert [one.advised for one in told.times] == list(expected.values())


def test_figures_are_kept_by_nobody() -> None:
    figure = progress(history(evenings(2)))
    assert isinstance(figure, Figure)
    assert figure.canvas.manager is None
