"""A plan as JSON for other programs; docs/planning.md has its keys."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.cautions import FIRST, Caution
from lapping.planning.whole_job import JobPlan
from lapping.words.answer_json import Json
from lapping.words.plan import assumptions


def plan_to_json(
    plan: JobPlan,
    *,
    assumed: Sequence[str] = (),
    warnings: Sequence[str] = (),
    cautions: Sequence[Caution] = (),
) -> Json:
    """Give the plan as JSON has it; a triple is few, likely and many."""
    job, papers, time = plan.job, plan.papers, plan.time
    return {
        "face": {"length_mm": job.face.length_mm, "width_mm": job.face.width_mm},
        "metal": job.metal.name,
        "target_um": job.target_um,
        "flatness_um": list(job.out_um),
        "flat_already": job.flat_already,
        "works_already": job.works,
        "remove_um": list(job.depth.range_um),
        "remove_until_working_um": (
            None if job.working is None else list(job.working.range_um)
        ),
        "papers": [
            {
                "grit": step.grit.name,
                "grain_um": step.grit.grain_um,
                "remove_um": step.removes_um,
                "um_per_100_strokes": step.rate.um_per_100,
                "learnt": step.rate.learnt,
                "strokes": list(step.strokes),
                "sheets": list(step.sheets),
            }
            for step in papers.steps
        ],
        "large_steps": [
            {
                "from": large.coarse.name,
                "to": large.fine.name,
                "ratio": large.ratio,
                "between": None if large.between is None else large.between.name,
            }
            for large in papers.large_steps
        ],
        "scratch_share": papers.scratch_share,
        "strokes": list(papers.strokes),
        "sheets": list(papers.sheets),
        "hours": list(time.hours),
        "rubbing_hours": list(time.rubbing_hours),
        "pauses": list(time.pauses),
        "other_ways": [
            {"way": way.way, "hours": list(way.hours), "leaves_um": way.leaves_um}
            for way in plan.ways
        ],
        "file_then_lap_hours": None if plan.filed is None else list(plan.filed[1]),
        "shorter": list(plan.shorter),
        "assumed": [*assumptions(plan), *assumed],
        "warnings": list(warnings),
        "cautions": [one.text for one in cautions] + ([FIRST] if cautions else []),
    }
