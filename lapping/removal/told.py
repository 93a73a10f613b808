"""Removal between two looks: what was expected of the strokes, and what came off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.planning.sequence import Range
from lapping.removal.dose_seen import DOSES_UM
from lapping.removal.job import Run
from lapping.removal.learnt import Removal, Stage

Array = NDArray[np.float64]

TAILS = (0.05, 0.5, 0.95)
TELLS_RATIO = 30.0
"""Readings that leave more than this ratio between few and many told nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageTold:
    """Mean depth taken off in µm by the runs before look ``number``: 5, 50 and 95 %.

    ``seen_um`` is what the two looks say by themselves, None where they tell nothing.
    """

    number: int
    runs: tuple[Run, ...]
    expected_um: Range
    seen_um: Range | None


def stages_told(removal: Removal) -> tuple[StageTold, ...]:
    """Set beside each other what each stage should have taken off and what it did."""
    weight = removal.held.weight
    return tuple(_told(stage, weight) for stage in removal.stages)


def _told(stage: Stage, weight: Array) -> StageTold:
    should = stage.expected
    off = np.linspace(-3.0, 3.0, 61)
    logs = (should.mean[:, None] + should.spread[:, None] * off).ravel()
    share = (weight[:, None] * np.exp(-0.5 * off**2)).ravel()
    seen = None
    if stage.seen is not None:
        # Every dose alike beforehand, so that nothing expected colours what was seen.
        told = weight @ np.exp(stage.seen.log_likelihood)
        seen = _range(np.log(DOSES_UM), told)
        # At the end of the list more may have come off than is on it.
        if seen[2] > TELLS_RATIO * seen[0] or seen[2] > DOSES_UM[-2]:
            seen = None
    return StageTold(
        number=stage.after.look.number,
        runs=stage.runs,
        expected_um=_range(logs, share),
        seen_um=seen,
    )


def _range(logs: Array, share: Array) -> Range:
    order = np.argsort(logs)
    total = np.cumsum(share[order])
    middle = (total - share[order] / 2) / total[-1]
    low, likely, high = np.exp(np.interp(TAILS, middle, logs[order])).tolist()
    return low, likely, high
