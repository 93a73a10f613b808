"""How flat the whole face is likely to be, the noise floor, and the verdict."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.heights import Heights
from lapping.methods.network import Network
from lapping.observations import form_terms, plane_terms
from lapping.surface.least_zone import least_zones
from lapping.surface.posterior import Surface
from lapping.zone.minimum_zone import MinimumZone
from lapping.zone.minimum_zone_many import minimum_zone_many

Array = NDArray[np.float64]
Verdict = Literal["flat", "not flat", "cannot tell"]

COVER = 0.95
"""Probability of the interval, and of each one-sided verdict (ISO 14253-1:2017)."""
FLOOR_TRIALS = 1000
FEWEST_TRIALS = 100
FLOOR_CELLS = 1_000_000
"""Of so many heights drawn the floor is made, and of FEWEST_TRIALS at least: the more
places, the less it varies from trial to trial."""
LEAST_DRAWS = 100
FORM_GRID = 5
"""Places each way that show a second-degree form's zone: corners, middles, between."""


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

    ``least_um`` are the zones without what a face may do between the readings (the
    same as ``drawn_um`` where not given). While a bow or twist is unseen
    there is no median and no upper end, and ``drawn_um`` are lower bounds. Where the
    readings are not ``clear`` of the noise floor, the lower end is no quantile of the
    draws but what is proved, 0 at least.
    """

    likely_um: float | None
    interval_um: tuple[float, float | None]
    drawn_um: Array = field(repr=False)
    least_um: Array | None = field(default=None, repr=False)
    clear: bool = True

    def chance_within(self, target_um: float) -> float | None:
        """Give P(true flatness <= target) (JCGM 106:2012), or None if unseen.

        The distribution whose 2.5, 50 and 97.5 % points are the interval and the
        median: over a half that of the whole face, and on the way down more and more
        that without what the face may do between its readings, which must prove
        nothing against it, and nothing for it either: below the median it is a half
        at most. Readings that are not clear of the floor prove no face bad that is
        flatter than the median: from the lower end up it is more than 1 - COVER.
        """
        within = float(np.mean(self.drawn_um <= target_um))
        if self.likely_um is None:
            return within if self.interval_um[0] > target_um else None
        if within >= 0.5 or self.least_um is None:
            return within
        least = float(np.mean(self.least_um <= target_um))
        chance = min(within + (least - within) * (1 - 2 * within), 0.5)
        low = self.interval_um[0]
        if self.clear or target_um <= low:
            return chance
        return max(chance, chance_if_unclear(target_um - low, self.likely_um - low))


def chance_if_unclear(above_um: float, median_um: float) -> float:
    """Give the least chance where readings that do not clear the floor tell nothing.

    It rises evenly from what proves a face bad, at the lower end, to a half at the
    median; both heights are counted from that end.
    """
    share = min(above_um / median_um, 1.0) if median_um > 0 else 1.0
    return (1 - COVER) + (COVER - 0.5) * share


def if_read(probability: float | None, unread: Sequence[str]) -> float | None:
    """Give a chance of being within, None if it proves that of zones not read.

    What no reading is near can be proved outside by the rest, and never within.
    """
    proved = probability is not None and probability >= COVER
    return None if unread and proved else probability


def verdict_of(probability: float | None) -> Verdict:
    """Give the verdict: proved within, proved outside, or neither (ISO 14253-1)."""
    if probability is None:
        return "cannot tell"
    if probability >= COVER:
        return "flat"
    # Rounding of 1 - 0.95 must not decide a case on the border.
    return "not flat" if probability <= 1 - COVER + 1e-12 else "cannot tell"


def noise_floor(
    face: Face,
    heights: Heights,
    plate_u: Array,
    *,
    root: Array | None = None,
    trials: int | None = None,
    seed: int = 2,
) -> Floor:
    """Read a flat face over and over with this gauge and pattern.

    The mean of the minimum zone's range over noise; check: the control-chart constants
    d2 and the tables for residuals of a plane. ``root`` (p, r) is the root of the
    heights' covariance where they are not independent, ``plate_u`` (3,) the doubt of
    the reference's bows and twist.
    """
    rng = np.random.default_rng(seed)
    if trials is None:
        trials = min(FLOOR_TRIALS, max(FEWEST_TRIALS, FLOOR_CELLS // len(heights)))
    if root is None:
        noise = rng.standard_normal((trials, len(heights))) * heights.u_um
    else:
        noise = rng.standard_normal((trials, root.shape[1])) @ root.T
    places = heights.along_mm, heights.across_mm
    zone = shown = minimum_zone_many(*places, noise)
    if plate_u.any():
        plate = plate_u * rng.standard_normal((trials, 3))
        shown = minimum_zone_many(*places, noise + plate @ form_terms(face, *places).T)
    return Floor(mean_um=float(zone.mean()), clear_um=float(np.quantile(shown, COVER)))


def likely_flatness(
    surface: Surface,
    measured: MinimumZone | None,
    floor: Floor | None,
    proved_um: float = 0.0,
) -> Likely:
    """Give the minimum zone of each surface that the readings leave possible.

    The lower limit comes from the places read and from the face's form, whichever is
    more: how rough a face is between its readings is a belief, and must not raise it.
    Without heights to measure, or with none clear of the floor, it is what leaves
    prove, or 0.
    """
    drawn = minimum_zone_many(surface.along_mm, surface.across_mm, surface.draws_um)
    tail = (1 - COVER) / 2
    middle, high = np.quantile(drawn, [0.5, 1 - tail]).tolist()
    # Bumps may take from a form's zone as well as add to it: hence the draw's own.
    least = np.minimum(drawn, np.maximum(_zones_read(surface), _zones_of_form(surface)))
    low = float(np.quantile(least, tail))
    clear = (
        measured is not None
        and floor is not None
        and measured.width_um > floor.clear_um
    )
    if not clear:
        low = min(low, proved_um)
    return Likely(
        likely_um=middle,
        interval_um=(low, high),
        drawn_um=drawn,
        least_um=least,
        clear=clear,
    )


def _zones_read(surface: Surface) -> Array:
    p = surface.places
    return minimum_zone_many(
        surface.along_mm[:p], surface.across_mm[:p], surface.draws_um[:, :p]
    )


def _zones_of_form(surface: Surface) -> Array:
    """Give the zone of each draw's second-degree form over the whole outline."""
    face, p = surface.face, surface.places
    along, across = surface.along_mm[p:], surface.across_mm[p:]
    terms = form_terms(face, along, across)
    solve = np.linalg.pinv(np.column_stack([terms, plane_terms(face, along, across)]))
    along, across = (
        places.ravel()
        for places in np.meshgrid(
            np.linspace(0, face.length_mm, FORM_GRID),
            np.linspace(0, face.width_mm, FORM_GRID),
        )
    )
    form = surface.draws_um[:, p:] @ solve[:3].T @ form_terms(face, along, across).T
    return minimum_zone_many(along, across, form)


def least_flatness(surface: Surface, network: Network, *, seed: int = 3) -> Likely:
    """Give the least flatness while shapes are unseen: no median, no upper limit.

    Whatever the unseen shapes are, the face has at least the zone of the places read
    that is left when they are chosen to suit.
    """
    heights = network.heights
    places = heights.along_mm, heights.across_mm
    if len(heights) == 0:
        nothing = np.zeros(len(surface.draws_um))
        return Likely(likely_um=None, interval_um=(0.0, None), drawn_um=nothing)
    every = max(1, len(surface.draws_um) // LEAST_DRAWS)
    drawn = least_zones(
        *places, surface.draws_um[::every, network.places], network.unseen
    )
    rng = np.random.default_rng(seed)
    noise = rng.standard_normal((LEAST_DRAWS, network.root.shape[1])) @ network.root.T
    clear = np.quantile(least_zones(*places, noise, network.unseen), COVER)
    measured = least_zones(*places, heights.height_um[None], network.unseen)[0]
    low = float(np.quantile(drawn, (1 - COVER) / 2)) if measured > clear else 0.0
    return Likely(likely_um=None, interval_um=(low, None), drawn_um=drawn)
