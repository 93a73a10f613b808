"""How fast paper cuts, before anybody has measured it: an assumption, and a broad one.

Archard's V = K·W·s/H as a depth: K/H times pressure times path. K is the wear
coefficient of two-body abrasion. Published ones reach from 0.016 to 0.18 for grains of
70 to 260 µm (Rabinowicz, Friction and Wear of Materials, from memory); their geometric
mean is about 0.07, and paper that clogs is on the low side of them. Below 50 to 100 µm
K falls with the grain (the size effect: Moore, Wear 27, 1974); in proportion to it is
our reading of that. No table of depth by grit for planes and paper was found, so the
answer is an order of magnitude, to be replaced by what is learnt at the bench.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from lapping.grits import Grit
from lapping.warmth import Metal

WEAR_COEFFICIENT = 0.05
"""K of a fresh sheet of coarse grit."""
FULL_SIZE_UM = 75.0
"""Grains smaller than this cut less for the same load; the middle of 50 to 100 µm."""
MPA_PER_HB = 9.80665
"""Brinell hardness is in kilograms-force per mm²."""
LOAD_N = 40.0
"""A plane of 2 kg and about as much from the hands: common practice, no source."""
STROKE_MM = 250.0
"""One push; the stroke is that and its return. Common practice, no source."""
SPREAD = 0.9
"""Standard deviation of the logarithm: nine in ten lie within a factor of 4.4 either
way. An assumption; the published coefficients scatter by 1.0 themselves."""
NINE_IN_TEN = 1.6449
"""Quantile of the normal distribution at 95 %: 90 % lie between both ends."""
SHEET_STROKES = 200.0
"""A sheet is changed after so many strokes: common practice, no source."""
FADING_STROKES = 250.0
FADING_GRAIN_UM = 125.0
LASTING_SHARE = 0.1
"""A sheet of P120 loses its rate by exp(-1) in so many strokes, down to this share of
it, and other sheets in proportion to their grain, because a coarser one has more room
for swarf. That paper cuts many times faster in its first minutes than later is common
practice, no source; the figures and the proportion are ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """Metal off the whole face in 100 strokes: the median in µm, and its log-spread.

    Log-normal. ``learnt`` is False for an assumption.
    """

    um_per_100: float
    spread: float
    learnt: bool = False

    @property
    def factor(self) -> float:
        """Give the factor either way that holds nine in ten."""
        return math.exp(NINE_IN_TEN * self.spread)

    @property
    def range_um(self) -> tuple[float, float]:
        """Give the ends of the range that holds nine in ten, in µm per 100 strokes."""
        return self.um_per_100 / self.factor, self.um_per_100 * self.factor


def wear_coefficient(grit: Grit) -> float:
    """Give the assumed K of a fresh sheet, without a unit."""
    return WEAR_COEFFICIENT * min(1.0, grit.grain_um / FULL_SIZE_UM)


def preston_per_mpa(grit: Grit, metal: Metal) -> float:
    """Give the assumed K/H: mm of depth per mm of path and N/mm², on a fresh sheet."""
    low, high = metal.hardness_hb
    return wear_coefficient(grit) / (MPA_PER_HB * math.sqrt(low * high))


def prior_rate(
    grit: Grit, metal: Metal, *, pressure_mpa: float, stroke_mm: float = STROKE_MM
) -> Rate:
    """Give the assumed rate on a fresh sheet where the whole face bears.

    ``pressure_mpa`` is the load over the whole face in N/mm². Where only a part of the
    face bears, the mean depth is the same and that part comes down faster.
    """
    path_um = 100 * 2 * stroke_mm * 1000
    depth_um = preston_per_mpa(grit, metal) * pressure_mpa * path_um
    return Rate(um_per_100=depth_um, spread=SPREAD)


def fading_strokes(grit: Grit) -> float:
    """Give the assumed strokes in which a sheet's rate falls by exp(-1)."""
    return FADING_STROKES * grit.grain_um / FADING_GRAIN_UM


def sheet_share(grit: Grit, strokes: float, used: float = 0.0) -> float:
    """Give the mean rate of a sheet over strokes after ``used`` others, fresh = 1."""
    if strokes <= 0:
        message = f"'strokes' must be more than 0 (got {strokes:g})"
        raise ValueError(message)
    fading = fading_strokes(grit)
    faded = math.exp(-used / fading) * -math.expm1(-strokes / fading)
    return LASTING_SHARE + (1 - LASTING_SHARE) * fading / strokes * faded


def changed_every(rate: Rate, grit: Grit, sheet_strokes: float = SHEET_STROKES) -> Rate:
    """Give the mean rate with sheets that are changed after so many strokes."""
    share = sheet_share(grit, sheet_strokes)
    return replace(rate, um_per_100=rate.um_per_100 * share)
