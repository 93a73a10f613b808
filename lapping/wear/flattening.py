"""How much metal a shape costs: the mean depth to come off before it is flat enough.

The face is rubbed in the `lap_model`, in the middle of a flat lap, until its minimum
zone is within the target. Mean depth is load times path times rate whatever the shape,
so it stands for the strokes, and how fast the paper cuts need not be known here. How
springy the paper is does count: where it gives, it takes metal off the hollows too.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.wear.lap_contact import Cells
from lapping.wear.lap_model import Sheet, rub
from lapping.wear.lap_strokes import Rubbing
from lapping.wear.rate_prior import NINE_IN_TEN
from lapping.zone.minimum_zone import minimum_zone

Array = NDArray[np.float64]

GIVE_UM = 6.0
"""How deep a face presses into paper on a hard lap where all of it bears; an
assumption, of the order of a tenth of a coarse grain."""
EXACT = 0.02
"""The depth is found to this share of it."""
_STEP = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Depth:
    """Mean depth to take off, in µm: likely, and its log-spread; log-normal."""

    likely_um: float
    spread: float

    @property
    def range_um(self) -> tuple[float, float, float]:
        """Give few, likely and many; nine in ten lie between few and many."""
        factor = math.exp(NINE_IN_TEN * self.spread)
        return self.likely_um / factor, self.likely_um, self.likely_um * factor


def depths_to_flatten_um(
    cells: Cells,
    height_um: Array,
    targets_um: Sequence[float],
    *,
    give_um: float = GIVE_UM,
) -> tuple[float, ...]:
    """Give the mean depth in µm that comes off a face before it is within each target.

    ``height_um`` (n,) is that of each cell; a target is the minimum zone allowed, and
    the first is the largest. 0 where the face is within it already.
    """
    if min(targets_um) <= 0 or list(targets_um) != sorted(targets_um, reverse=True):
        message = f"targets must be more than 0 and fall (got {targets_um})"
        raise ValueError(message)
    found, height = [0.0], np.asarray(height_um, dtype=np.float64)
    for target_um in targets_um:

        def flat(height: Array, target_um: float = target_um) -> bool:
            zone = minimum_zone(cells.along_mm, cells.across_mm, height)
            return zone.width_um <= target_um

        more, height = rub_until(
            cells, height, flat, exact_um=EXACT * target_um, give_um=give_um
        )
        found.append(found[-1] + more)
    return tuple(found[1:])


def rub_until(
    cells: Cells,
    height_um: Array,
    enough: Callable[[Array], bool],
    *,
    exact_um: float,
    give_um: float = GIVE_UM,
) -> tuple[float, Array]:
    """Rub a face until it is good enough; give the mean depth off, and its heights.

    ``enough`` judges heights (n,), and has to accept a face that is flat. The depth is
    the least that is enough, to `EXACT` of it or ``exact_um``, whichever is more.
    """
    before = np.asarray(height_um, dtype=np.float64)
    if enough(before):
        return 0.0, before
    # One stroke takes 1 µm off on average, so that strokes are the depth.
    rubbing = Rubbing(load_n=len(cells) * cells.cell_mm2, stroke_mm=500)
    sheet = Sheet(stiffness_mpa_per_um=1 / give_um, preston_per_mpa=1e-6)

    def rubbed(height: Array, depth_um: float) -> Array:
        tolerance = exact_um / 2
        return rub(
            cells, height, rubbing, sheet, depth_um, tolerance_um=tolerance
        ).height_um

    depth = 0.0
    # It ends: what is off the plane falls without limit as more comes off.
    while True:
        more = max(_STEP * depth, give_um / 4, 0.02 * float(np.ptp(before)))
        after = rubbed(before, more)
        if enough(after):
            break
        before, depth = after, depth + more
    low, high = 0.0, more
    while high - low > max(EXACT * (depth + high), exact_um):
        middle = (low + high) / 2
        tried = rubbed(before, middle)
        if enough(tried):
            high, after = middle, tried
        else:
            low = middle
    return depth + high, after


def depth_of_many(depths_um: Sequence[float]) -> Depth:
    """Give the log-normal depth that a sample of depths, all as likely, comes from.

    The likely one is their median. The spread is that of the larger half about it: of
    shapes nearly flat enough the smallest depths are next to nothing, which has no
    logarithm to speak of.
    """
    sample = np.asarray(depths_um, dtype=np.float64)
    likely = float(np.median(sample))
    if likely <= 0:
        return Depth(likely_um=0.0, spread=0.0)
    logs = np.log(sample[sample >= likely] / likely)
    return Depth(likely_um=likely, spread=float(np.sqrt((logs**2).mean())))
