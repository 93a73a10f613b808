"""The order of papers drawn: strokes, sheets and time on each, and what came off.

Strokes are on a scale on which every step is ten times the one before, because few and
many lie that far apart.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import replace

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lapping.pictures.frame import WIDTH_IN, plain_style
from lapping.pictures.page import EDGE_IN, LINE_IN, Page, title_in
from lapping.planning.bench_time import bench_time
from lapping.planning.sequence import PaperPlan
from lapping.planning.whole_job import JobPlan
from lapping.removal.told import StageTold
from lapping.units import format_um
from lapping.words.figures import sentences
from lapping.words.plan import counted, hours_words, large_words, ranged

BAR, DOUBT, EXPECTED, SEEN = "#8fa9c4", "#1a1a1a", "#9db7d5", "#d55e00"
LEFT_IN, MORE_LEFT_IN = 0.75, 0.45
WIDE_IN = WIDTH_IN - LEFT_IN - 0.45
STEP_IN, STAGE_IN, GAP_IN, UNDER_IN, KEY_IN = 0.62, 0.38, 0.15, 0.5, 0.22
LINE_CHARS = 74
MOST_STAGES = 12


def papers(title: str, plan: JobPlan, stages: Sequence[StageTold] = ()) -> Figure:
    """Draw the steps of a plan, and of ``stages`` what was expected and what came off.

    A plan without steps says so in words.
    """
    with plain_style():
        return _page(title, plan, tuple(stages)[-MOST_STAGES:])


def _page(title: str, plan: JobPlan, stages: Sequence[StageTold]) -> Figure:
    steps = plan.papers.steps
    large = [
        line
        for one in plan.papers.large_steps
        for line in textwrap.wrap(sentences([large_words(one)]), LINE_CHARS)
    ]
    tall, below = STEP_IN * len(steps), STAGE_IN * len(stages)
    page = Page(
        2 * EDGE_IN
        + title_in(title)
        + LINE_IN * (1 + len(large))
        + (GAP_IN + tall + UNDER_IN if steps else 0.0)
        + (GAP_IN + LINE_IN + KEY_IN + below + UNDER_IN if stages else 0.0)
    )
    page.title(title)
    for line in [_in_all(plan), *large]:
        page.say(line)
    if steps:
        page.skip(GAP_IN)
        _steps(page.axes(LEFT_IN, WIDE_IN, tall, "papers"), plan.papers)
        page.skip(tall + UNDER_IN)
    if stages:
        page.skip(GAP_IN)
        page.say("Taken off between readings, expected and observed", weight="bold")
        page.skip(KEY_IN)
        wide = WIDE_IN - MORE_LEFT_IN
        _stages(page.axes(LEFT_IN + MORE_LEFT_IN, wide, below, "removal"), stages)
    return page.figure


def _in_all(plan: JobPlan) -> str:
    if not plan.papers.steps:
        return "Nothing to do on these papers"
    strokes = ranged(plan.papers.strokes, counted)
    said = f"{strokes} strokes, {hours_words(plan.time.hours)}"
    if plan.job.works:
        return f"The plane works as it is; to have all of it flat: {said}"
    return said


def _steps(ax: Axes, plan: PaperPlan) -> None:
    for i, step in enumerate(plan.steps):
        few, likely, many = step.strokes
        ax.barh(i, likely, 0.42, color=BAR, ec="#333333", lw=0.7, label=step.grit.name)
        ax.plot([few, many], [i, i], color=DOUBT, lw=1.4, marker="|", ms=9)
        hours = bench_time(replace(plan, steps=(step,))).hours
        said = (
            f"takes {format_um(step.removes_um)}: "
            f"{ranged(step.sheets, counted)} sheets, {hours_words(hours)}"
        )
        ax.annotate(
            said,
            (0, i - 0.28),
            xytext=(3, 0),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            va="bottom",
        )
    ax.set_xscale("log")
    least = min(step.strokes[0] for step in plan.steps)
    most = max(step.strokes[2] for step in plan.steps)
    ax.set_xlim(10 ** math.floor(math.log10(least)), 10 ** math.ceil(math.log10(most)))
    ax.set_ylim(len(plan.steps) - 0.5, -0.62)
    ax.set_yticks(range(len(plan.steps)), [step.grit.name for step in plan.steps])
    ax.xaxis.set_major_formatter("{x:.0f}")
    ax.set_xlabel("strokes; the line holds nine in ten")


def _stages(ax: Axes, stages: Sequence[StageTold]) -> None:
    for i, one in enumerate(stages):
        ax.barh(
            i,
            one.expected_um[2] - one.expected_um[0],
            0.5,
            one.expected_um[0],
            color=EXPECTED,
            label="expected",
        )
        if one.seen_um is None:
            middle = math.sqrt(one.expected_um[0] * one.expected_um[2])
            ax.text(middle, i, "not told", ha="center", va="center")
        else:
            low, likely, high = one.seen_um
            ax.plot([low, high], [i, i], color=SEEN, lw=1.6, marker="|", ms=8)
            ax.plot(likely, i, "o", color=SEEN, ms=5, label="observed")
    ax.set_xscale("log")
    ax.set_ylim(len(stages) - 0.5, -0.5)
    ax.set_yticks(
        range(len(stages)),
        [
            "\n".join(f"{run.strokes:.0f} {run.grit.name}" for run in one.runs[-2:])
            for one in stages
        ],
    )
    ax.xaxis.set_major_formatter("{x:g}")
    ax.set_xlabel("µm on average over the face; bar and line hold nine in ten")
    handles, names = ax.get_legend_handles_labels()
    once = dict(sorted(zip(names, handles, strict=True), key=lambda one: one[0]))
    ax.legend(
        once.values(),
        once,
        loc="lower left",
        bbox_to_anchor=(0, 1),
        ncols=2,
        frameon=False,
        borderpad=0,
    )
