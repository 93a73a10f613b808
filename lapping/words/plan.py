"""A plan in words for the bench."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Callable, Sequence

from lapping.cautions import FIRST_SHORT, Caution
from lapping.planning.job_ahead import Job
from lapping.planning.other_ways import Way
from lapping.planning.sequence import LargeStep, Range
from lapping.planning.whole_job import JobPlan, Shorter
from lapping.units import MICROMETRES, HeightUnit
from lapping.words.figures import sentences
from lapping.words.labelled import WIDTH, entry_lines

MINUTES_BELOW = 1.5
SOONER = 0.8
"""The depth until the plane works is told where it is less than this share of all."""
WAY_WORDS: dict[Way, str] = {
    "file": "by file",
    "scrape": "by scraper",
    "grind": "on a surface grinder",
}
SHORTER_WORDS: dict[Shorter, str] = {
    "file first": "file it first and lap the rest",
    "have it ground": "have it ground",
}
RATES_ASSUMED = (
    "how fast paper cuts is an assumption here, good for an order of magnitude; what "
    "you read after the first hundred strokes tells more"
)
RATES_LEARNT = "how fast paper cuts is from your own readings"
OTHERS_ASSUMED = "hours of other ways are common practice, no source"
FOOT = (
    "Ranges hold at least nine in ten. One stroke is a push and its return; hours "
    "count new sheets and the pauses in which the plane cools and is read."
)


def report_plan(
    plan: JobPlan,
    *,
    title: str,
    unit: HeightUnit = MICROMETRES,
    assumed: Sequence[str] = (),
    warnings: Sequence[str] = (),
    cautions: Sequence[Caution] = (),
) -> str:
    """Give the plan as lines of at most 80 characters; ``title`` names the face."""
    job, papers = plan.job, plan.papers
    lines = [title, ""]
    lines += entry_lines("Now", _now(job, unit))
    if job.depth.likely_um > 0:
        depth = f"{_heights(job.depth.range_um, unit)} on average, for the shape"
        lines += entry_lines(
            "To remove", depth + (" and the skin" if job.skin_um else "")
        )
        lines += _sooner(job, unit)
    label = "Papers"
    for step in papers.steps:
        strokes, sheets = (
            ranged(step.strokes, counted),
            ranged(step.sheets, counted),
        )
        lines += entry_lines(
            label, f"{step.grit.name}: {strokes} strokes, {sheets} sheets"
        )
        label = ""
    if not papers.steps:
        lines += entry_lines(label, "nothing to do on them")
    for large in papers.large_steps:
        lines += entry_lines("Too large", large_words(large))
    if papers.steps:
        lines += entry_lines("In all", _in_all(plan))
        if plan.ways:
            if not job.works:
                lines += entry_lines("Instead", _instead(plan, unit))
            lines += entry_lines("Best", _best(plan))
    assumes = [*assumptions(plan), *assumed]
    if assumes:
        lines += entry_lines("Assumed", sentences(assumes))
    if warnings:
        lines += entry_lines("Mind", sentences(warnings))
    if cautions:
        lines += entry_lines(
            "Care", " ".join([*(c.short for c in cautions), FIRST_SHORT])
        )
    return "\n".join([*lines, "", *textwrap.wrap(FOOT, WIDTH)])


def _now(job: Job, unit: HeightUnit) -> str:
    """Say how far out it is, and first of all where no paper is needed."""
    allowed = f"{unit.limit(job.target_um)} {unit.name} allowed"
    out = f"{_heights(job.out_um, unit)} out; {allowed}."
    if job.works and not job.flat_already:
        return (
            "The plane works as it is: no paper is needed. The whole face is "
            f"{out} What follows is for those who want all of it flat."
        )
    if job.flat_already:
        how = "Likely"
        if job.works:
            how = "The plane works as it is, and all of it is likely"
        return (
            f"{how} flat enough: {out} Read it before you rub, it may need nothing but "
            "what you like to see."
        )
    return out


def large_words(large: LargeStep) -> str:
    """Say which step is too large and what would halve it."""
    said = (
        f"from {large.coarse.name} to {large.fine.name} the grain is "
        f"{large.ratio:.1f} times finer, and the fine paper will labour over the "
        "scratches"
    )
    if large.between is None:
        return f"{said}."
    return f"{said}; put {large.between.name} between."


def hours_words(hours: Range) -> str:
    """Say hours, likely first: ``about 6 hours (1.5 to 40)``."""
    few, likely, many = hours
    if likely < MINUTES_BELOW:
        return f"about {ranged((few * 60, likely * 60, many * 60), counted)} minutes"
    one = _hour(likely)
    return (
        f"about {one} hour{'' if one == '1' else 's'} ({_hour(few)} to {_hour(many)})"
    )


def _sooner(job: Job, unit: HeightUnit) -> list[str]:
    """Say how much sooner the sole works than all of it is flat, if it does."""
    working = job.working
    if job.works or working is None:
        return []
    if working.likely_um > SOONER * job.depth.likely_um:
        return []
    if working.likely_um == 0:
        said = (
            "the plane likely works as it is and can be left alone; see lapping check"
        )
        return entry_lines("", f"{said}.")
    zones = "toe and heel"
    if job.face.mouth is not None:
        zones = "toe, land ahead of the mouth and heel"
    return entry_lines(
        "",
        f"the plane works sooner: {zones} in one plane after "
        f"{_heights(working.range_um, unit)}.",
    )


def _in_all(plan: JobPlan) -> str:
    papers, time = plan.papers, plan.time
    return (
        f"{hours_words(time.hours)}: {ranged(papers.strokes, counted)} strokes, "
        f"{ranged(papers.sheets, counted)} sheets, {ranged(time.pauses, counted)} "
        "pauses to cool and read."
    )


def _instead(plan: JobPlan, unit: HeightUnit) -> str:
    parts = []
    for way in plan.ways:
        leaves = (way.leaves_um, way.leaves_um, way.leaves_um)
        said = (
            f"{WAY_WORDS[way.way]} {hours_words(way.hours)} to {_heights(leaves, unit)}"
        )
        if way.way == "file" and plan.filed is not None:
            said += f", with the papers after it {hours_words(plan.filed[1])}"
        parts.append(said)
    return "; ".join(parts) + "."


def _best(plan: JobPlan) -> str:
    if plan.job.works:
        return "leave it: it works, and lapping can make it worse."
    if not plan.shorter:
        return "lap it: no other way is much shorter."
    ways = ", or ".join(SHORTER_WORDS[one] for one in plan.shorter)
    return f"{ways}: much shorter than paper alone, before you start."


def assumptions(plan: JobPlan) -> list[str]:
    """Give what a plan assumes, a phrase each."""
    if not plan.papers.steps:
        return []
    said = [RATES_LEARNT if plan.learnt else RATES_ASSUMED]
    return said + ([OTHERS_ASSUMED] if plan.ways else [])


def ranged(numbers: Range, shown: Callable[[float], str]) -> str:
    """Write what is likely, and few to many behind it where they differ."""
    few, likely, many = (shown(number) for number in numbers)
    return likely if few == many else f"{likely} ({few} to {many})"


def _heights(heights_um: Range, unit: HeightUnit) -> str:
    """Write heights to as much as a plan knows of them, the unit at the end."""

    def shown(value_um: float) -> str:
        coarse = unit.um == MICROMETRES.um and value_um < 10
        return _figures(value_um / unit.um, 1 if coarse else 2)

    return f"{ranged(heights_um, shown)} {unit.name}"


def counted(value: float) -> str:
    """Write a number of strokes or sheets that nobody knows to the last one."""
    return _figures(value, 2) if value >= 100 else f"{math.ceil(value)}"


def _hour(value: float) -> str:
    return _figures(value, 2) if value < 3 else _figures(value, 2 if value >= 10 else 1)


def _figures(value: float, figures: int) -> str:
    """Round to so many figures, and write no power of ten."""
    if value == 0:
        return "0"
    digits = figures - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, digits)
    return (
        f"{rounded:.{max(0, digits)}f}".rstrip("0").rstrip(".")
        if digits > 0
        else (f"{rounded:.0f}")
    )
