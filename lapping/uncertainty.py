"""How flat the whole face is likely to be, the noise floor, and the verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.methods.taken import Taken
from lapping.minimum_zone import MinimumZone
from lapping.minimum_zone_many import minimum_zone_many
from lapping.observations import form_terms
from lapping.surface import Surface

Array = NDArray[np.float64]
Verdict = Literal["flat", "not flat", "cannot tell"]

COVER = 0.95
"""Probability of the interval, and of each one-sided verdict (ISO 14253-1:2017)."""
FLOOR_TRIALS = 1000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Floor:
    """The minimum zone that a truly flat face would have shown.

    ``mean_um`` is the noise floor, the gauge's part; a measured zone under
    ``clear_um`` is not clearly above what gauge and plate show of a flat face
    (exceeded by them alone five times in a hundred).
    """

    mean_um: float
    clear_um: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Likely:
    """The true flatness of the whole face: median, 95 % interval and all the draws.

    While a bow or twist is unseen there is no median and no upper end, and
    ``drawn_um`` are lower bounds.
    """

    likely_um: float | None
    interval_um: tuple[float, float | None]
    drawn_um: Array

    def chance_within(self, target_um: float) -> float | None:
        """Give P(true flatness <= target) (JCGM 106:2012), or None if unseen."""
        within = float(np.mean(self.drawn_um <= target_um))
        if self.likely_um is None:
            return within if self.interval_um[0] > target_um else None
        return within


def verdict_of(probability: float | None) -> Verdict:
    """Give the verdict: proved within, proved outside, or neither (ISO 14253-1)."""
    if probability is None:
        return "cannot tell"
    if probability >= COVER:
        return "flat"
    # Rounding of 1 - 0.95 must not decide a case on the border.
    return "not flat" if probability <= 1 - COVER + 1e-12 else "cannot tell"


def noise_floor(
    face: Face, taken: Taken, *, trials: int = FLOOR_TRIALS, seed: int = 2
) -> Floor:
    """Read a flat face over and over with this gauge and pattern.

    The mean of the minimum zone's range over noise; check: the control-chart constants
    d2 and the tables for residuals of a plane.
    """
    heights = taken.heights
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal((trials, len(heights))) * heights.u_um
    places = heights.along_mm, heights.across_mm
    zone = shown = minimum_zone_many(*places, noise)
    plate_u = taken.observations.reference_u_um
    if plate_u.any():
        plate = plate_u * rng.standard_normal((trials, 3))
        shown = minimum_zone_many(*places, noise + plate @ form_terms(face, *places).T)
    return Floor(mean_um=float(zone.mean()), clear_um=float(np.quantile(shown, COVER)))


def likely_flatness(
    surface: Surface,
    measured: MinimumZone,
    floor: Floor,
    *,
    tied: Sequence[NDArray[np.intp]] = (),
) -> Likely:
    """Give the minimum zone of each surface that the readings leave possible.

    ``tied`` has, for each datum, the places that readings bound on both sides; not
    empty while shapes are unseen. Then only these count: whatever the shapes are, they
    leave the places of one datum alone, and the face has at least their zone.
    """
    drawn = np.zeros(surface.draws_um.shape[0])
    for at in tied or (np.arange(surface.along_mm.size),):
        if at.size > 0:
            zone = minimum_zone_many(
                surface.along_mm[at], surface.across_mm[at], surface.draws_um[:, at]
            )
            drawn = np.maximum(drawn, zone)
    tail = (1 - COVER) / 2
    low, middle, high = np.quantile(drawn, [tail, 0.5, 1 - tail]).tolist()
    if measured.width_um <= floor.clear_um:
        low = 0.0
    if tied:
        return Likely(likely_um=None, interval_um=(low, None), drawn_um=drawn)
    return Likely(likely_um=middle, interval_um=(low, high), drawn_um=drawn)
