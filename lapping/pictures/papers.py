"""The order of papers drawn: strokes, sheets and time on each, and what came off.

Strokes are on a scale on which every step is ten times the one before, because few and
many lie that far apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lapping.bench_time import bench_time
from lapping.pictures.frame import WIDTH_IN, plain_style
from lapping.pictures.page import Page
from lapping.plan import JobPlan
from lapping.plan_words import hours_words, large_words
from lapping.removal_told import StageTold
from lapping.sequence import PaperPlan, Range

BAR, DOUBT, EXPECTED, SEEN = "#8fa9c4", "#1a1a1a", "#9db7d5", "#d55e00"
LEFT_IN, RIGHT_IN, STEP_IN = 0.75, 0.25, 0.62
STAGE_IN = 0.36
MOST_STAGES = 12


def papers(title: str, plan: JobPlan, stages: Sequence[StageTold] = ()) -> Figure:
    """Draw the steps of a plan, and of ``stages`` what was expected and what came off.

    A plan without steps says so in words.
    """
    with plain_style():
        return _page(title, plan, tuple(stages)[-MOST_STAGES:])


def _page(title: str, plan: JobPlan, stages: Sequence[StageTold]) -> Figure:
    steps = plan.papers.steps
    tall = STEP_IN * len(steps)
    below = STAGE_IN * len(stages)
    height = 0.12 + 0.225 + 0.185 * 2 + 0.2 + tall + 0.75
    height += below + 1.3 if stages else 0.0
    page = Page(height)
    page.say(title, weight="bold", size=12.5, step=0.225)
    page.say(_in_all(plan))
    for large in plan.papers.large_steps[:1]:
        page.note(0.2, 0.0, large_words(large), wrap=70)
        page.skip(0.37)
    page.skip(0.2)
    wide = WIDTH_IN - LEFT_IN - RIGHT_IN
    if steps:
        _steps(page.axes(LEFT_IN, wide, tall, "papers"), plan.papers)
        page.skip(tall + 0.75)
    if stages:
        page.say("Taken off between readings, expected and observed", weight="bold")
        page.skip(0.25)
        _stages(page.axes(LEFT_IN + 0.6, wide - 0.6, below, "removal"), stages)
    return page.figure


def _in_all(plan: JobPlan) -> str:
    if not plan.papers.steps:
        return "Nothing to do on these papers"
    few, likely, many = plan.papers.strokes
    return (
        f"{likely:.0f} strokes ({few:.0f} to {many:.0f}), "
        f"{hours_words(plan.time.hours)}"
    )


def _steps(ax: Axes, plan: PaperPlan) -> None:
    for i, step in enumerate(plan.steps):
        few, likely, many = step.strokes
        ax.barh(i, likely, 0.42, color=BAR, ec="#333333", lw=0.7, label=step.grit.name)
        ax.plot([few, many], [i, i], color=DOUBT, lw=1.4, marker="|", ms=9)
        hours = bench_time(replace(plan, steps=(step,))).hours
        said = (
            f"takes {step.removes_um:.2g} µm: {_range(step.sheets)} sheets, "
            f"{hours_words(hours)}"
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
    ax.xaxis.set_major_formatter("{x:g}")
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
            " + ".join(f"{run.strokes:.0f} {run.grit.name}" for run in one.runs[-2:])
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


def _range(many: Range) -> str:
    few, likely, most = many
    return f"{likely:.0f}" if few == most else f"{likely:.0f} ({few:.0f} to {most:.0f})"
