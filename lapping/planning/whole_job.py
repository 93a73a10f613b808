"""A whole job in figures: papers in order, hours, and which other way is shorter."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from lapping.grits import Grit
from lapping.planning.bench_time import BenchTime, bench_time
from lapping.planning.job_ahead import Job
from lapping.planning.other_ways import WayThere, other_way
from lapping.planning.sequence import SCRATCH_SHARE, PaperPlan, Range, order_papers
from lapping.wear.rate_prior import LOAD_N, Rate, changed_every, prior_rate

Shorter = Literal["file first", "have it ground"]

WORTH_HOURS = 2.0
MUCH_SHORTER = 0.7
"""Another way is named as the shorter one if the job at the lap is longer than so many
hours and the other takes less than this share of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobPlan:
    """The plan of a job: papers in order, hours, and the other ways with theirs.

    ``filed`` is the plan for the papers after a file has done what it can, with the
    hours of both; None where a file leaves the face no flatter than it is likely to be.
    ``shorter`` are the ways that are much shorter, none if the lap is as good.
    """

    job: Job
    papers: PaperPlan
    time: BenchTime
    ways: tuple[WayThere, ...]
    filed: tuple[PaperPlan, Range] | None
    shorter: tuple[Shorter, ...]

    @property
    def learnt(self) -> bool:
        """Say whether the rate of any paper was learnt at the bench."""
        return any(step.rate.learnt for step in self.papers.steps)


def assumed_rates(job: Job, papers: Sequence[Grit]) -> dict[Grit, Rate]:
    """Give the assumed rate of each paper on this job, sheets changed as usual."""
    pressure = LOAD_N / (job.face.length_mm * job.face.width_mm)
    return {
        grit: changed_every(prior_rate(grit, job.metal, pressure_mpa=pressure), grit)
        for grit in papers
    }


def plan_job(
    job: Job,
    rates: Mapping[Grit, Rate],
    *,
    finish: Grit | None = None,
    scratch_share: float = SCRATCH_SHARE,
) -> JobPlan:
    """Plan a job on the papers on hand, with their mean rates.

    BadInput as in `order_papers`.
    """

    def order(shape_um: float, spread: float, before: Grit | None) -> PaperPlan:
        return order_papers(
            rates,
            shape_um=shape_um,
            shape_spread=spread,
            finish=finish,
            scratched_by=before,
            scratch_share=scratch_share,
        )

    papers = order(job.depth.likely_um, job.depth.spread, job.scratched_by)
    time = bench_time(papers)
    file = other_way(
        "file",
        job.metal,
        face=job.face,
        depth=job.to_filed,
        out_um=job.out_um[1],
    )
    scrape, grind = (
        other_way(
            way,
            job.metal,
            face=job.face,
            depth=job.depth,
            out_um=job.out_um[1],
        )
        for way in ("scrape", "grind")
    )
    if job.flat_already:
        return JobPlan(
            job=job, papers=papers, time=time, ways=(), filed=None, shorter=()
        )
    filed: tuple[PaperPlan, Range] | None = None
    if job.out_um[1] > file.leaves_um:
        after = order(job.from_filed.likely_um, job.from_filed.spread, None)
        filed = (after, _added(file.hours, bench_time(after).hours))
    shorter: list[Shorter] = []
    if time.hours[1] > WORTH_HOURS:
        much_less = MUCH_SHORTER * time.hours[1]
        if filed is not None and filed[1][1] < much_less:
            shorter.append("file first")
        if grind.hours[1] < much_less and _reaches(grind, job):
            shorter.append("have it ground")
    ways = (file, scrape, grind) if filed is not None else (scrape, grind)
    return JobPlan(
        job=job,
        papers=papers,
        time=time,
        ways=tuple(way for way in ways if way is file or _reaches(way, job)),
        filed=filed,
        shorter=tuple(shorter),
    )


def _reaches(way: WayThere, job: Job) -> bool:
    return way.leaves_um <= job.target_um


def _added(one: Range, other: Range) -> Range:
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]
