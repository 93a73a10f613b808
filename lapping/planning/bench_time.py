"""Strokes as hours at the bench: rubbing, changing sheets, and pauses to cool and read.

Common practice, no source: figures of somebody who does not hurry.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from lapping.planning.sequence import PaperPlan, Range

STROKES_PER_MIN = 40.0
SHEET_MIN = 3.0
"""To wipe face and lap clean and to lay a new sheet."""
RUB_MIN = 10.0
"""Rubbed at a time; then the plane cools and is looked at."""
PAUSE_MIN = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchTime:
    """Hours at the bench for a plan, few, likely and many, and how many pauses."""

    hours: Range
    rubbing_hours: Range
    pauses: Range


def bench_time(plan: PaperPlan) -> BenchTime:
    """Give how long a plan takes, with its sheets and its pauses."""
    each = [
        _one(strokes, sheets)
        for strokes, sheets in zip(plan.strokes, plan.sheets, strict=True)
    ]
    (a, b, c) = each
    return BenchTime(
        hours=(a[0], b[0], c[0]),
        rubbing_hours=(a[1], b[1], c[1]),
        pauses=(a[2], b[2], c[2]),
    )


def _one(strokes: float, sheets: float) -> tuple[float, float, float]:
    rubbing = strokes / STROKES_PER_MIN
    pauses = float(math.ceil(rubbing / RUB_MIN))
    minutes = rubbing + sheets * SHEET_MIN + pauses * PAUSE_MIN
    return minutes / 60, rubbing / 60, pauses
