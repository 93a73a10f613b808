"""Each reading against what all the others say of it: the test for a slip.

Leave-one-out prediction of universal kriging (Dubrule 1983, Mathematical Geology 15;
Rasmussen and Williams 2006, section 5.4.2), mixed over all hypotheses, each weighed by
the other readings only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.observations import Observations
from lapping.surface.hypotheses import TRUST, Weighed
from lapping.surface.kriging import EMPTY, free_columns

Array = NDArray[np.float64]

DOUBTS = 4.0
"""An odd reading is off by more than so many standard uncertainties of its prediction
from all the others, and"""
RANGES = 1.0
"""by more than the range that all the others have about their plane: a face has bumps,
and only few are so much larger than all else. Or else"""
TEN_RANGES, TEN_NEAR = 0.4, 0.12
"""by this share of it, if a tenth of what was typed fits, to this share of how far off
it is. All are set by the study in docs/coverage.md."""
TOLD_BY_NOBODY = 1e-12
"""Precision, per µm², of a reading that free unknowns of its own fit whatever it is."""
FEWEST_SPARE, SPARE_SHARE = 5, 0.6
"""With fewer readings than this, or than this share of all, beside the free unknowns
nothing is said: where every line has a datum of its own, a slip is shared out among all
of its line, and who slipped cannot be told."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeftOut:
    """How far each reading is off what the others predict, and how sure that is."""

    off_um: Array
    u_um: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class OddReading:
    """The one reading that does not fit: its row in the equations, and how far off."""

    row: int
    off_um: float
    u_um: float


def left_out(obs: Observations, weighed: Weighed, log_weight: Array) -> LeftOut:
    """Predict every reading from the others; ``log_weight`` is of each hypothesis.

    For readings that are values: an interval's value is only where to start.
    """
    shapes, noises, sizes = log_weight.shape
    n = obs.value_um.size
    off = np.empty((shapes, noises, sizes, n))
    variance = np.empty_like(off)
    for i in range(shapes):
        for j in range(noises):
            cells = [weighed.cell(i, j, k) for k in range(sizes)]
            found = cells[0].modes
            vectors = found.level.inverse.T @ found.vectors
            power = np.array([cell.amplitude_um for cell in cells])[:, None] ** 2
            inner = 1 / (1 + power * found.variance)
            precision = inner @ (vectors**2).T
            moved = (inner * (vectors.T @ cells[0].value_um)) @ vectors.T
            told = precision > EMPTY * precision.max(axis=1, keepdims=True)
            off[i, j] = np.where(told, moved / np.where(told, precision, 1.0), 0.0)
            variance[i, j] = 1 / np.where(told, precision, TOLD_BY_NOBODY)
    # The reading's own part is taken out of the evidence that weighed it in.
    own = -0.5 * (off**2 / variance + np.log(variance))
    share = log_weight[..., None] - TRUST / (TRUST + obs.along_mm.size) * own
    every = (0, 1, 2)
    share = np.exp(share - share.max(axis=every))
    share /= share.sum(axis=every)
    mean = (share * off).sum(axis=every)
    spread = (share * (variance + (off - mean) ** 2)).sum(axis=every)
    return LeftOut(off_um=mean, u_um=np.sqrt(spread))


def odd_reading(face: Face, obs: Observations, found: LeftOut) -> OddReading | None:
    """Give the reading furthest off if it fits nothing else that was read, or None."""
    free = free_columns(face, obs)
    spare = obs.value_um.size - int(np.linalg.matrix_rank(free)) - 1
    if spare < max(FEWEST_SPARE, SPARE_SHARE * obs.value_um.size):
        return None
    row = int(np.argmax(np.abs(found.off_um) / found.u_um))
    off, u = float(found.off_um[row]), float(found.u_um[row])
    others = np.arange(obs.value_um.size) != row
    free, value = free[others], obs.value_um[others]
    level = value - free @ np.linalg.lstsq(free, value, rcond=None)[0]
    tenth_fits = abs(off - 0.9 * float(obs.value_um[row])) < TEN_NEAR * abs(off)
    ranges = TEN_RANGES if tenth_fits else RANGES
    if abs(off) <= max(DOUBTS * u, ranges * float(np.ptp(level))):
        return None
    return OddReading(row=row, off_um=off, u_um=u)
