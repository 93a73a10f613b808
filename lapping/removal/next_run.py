"""The run of strokes that would come next if nothing was changed."""

from __future__ import annotations

from dataclasses import replace

from lapping.grits import Grit, parse_grit
from lapping.removal.job import Job, Run

FIRST_GRIT = "P120"
"""Where nothing is said of any paper. Common practice, no source."""


def next_run_of(job: Job) -> Run:
    """Give a run as the next one would be if nothing was changed."""
    if job.runs:
        last = job.runs[-1]
        return replace(
            last,
            sheet_age=last.sheet_age + last.strokes,
            fresh=False,
            strokes=100.0,
        )
    return Run(
        number=1, grit=_first_grit(job), strokes=100.0, aged_surely=True, fresh=True
    )


def _first_grit(job: Job) -> Grit:
    if job.papers:
        return max(job.papers, key=lambda one: one.grain_um)
    return parse_grit(FIRST_GRIT)
