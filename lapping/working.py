"""Does the plane work: the zones that bear in one plane, the rest no higher."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.grid import in_zone
from lapping.observations import plane_terms
from lapping.surface.posterior import Surface
from lapping.surface.uncertainty import chance_if_unclear
from lapping.zone.minimum_zone_many import minimum_zone_many

Array = NDArray[np.float64]
Condition = Literal["together", "proud", "hollow"]

PROUD_SHARE = 0.25
"""What lies between toe and heel may stand proud of them by this share of the target:
a convex sole rocks (common practice, no source; the share is ours)."""
HOLLOW_SHARE = 2.0
"""The rest may lie below the bearing zones by this many times the target. A slight
hollow elsewhere is harmless: common practice, no source; both shares are ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneHeight:
    """Mean height of one bearing zone over the plane through all of them."""

    zone: str
    height_um: float
    u_um: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """Whether the bearing zones lie in one plane and nothing else is in their way.

    ``together_um`` is the median width that holds all bearing zones, with its 95 %
    interval; ``probability`` that all three conditions are met. ``weakest`` is the
    condition least likely to be: the zones together, nothing ``proud`` beside them,
    nothing too ``hollow``.
    """

    together_um: float
    interval_um: tuple[float, float]
    probability: float
    weakest: Condition
    zones: tuple[ZoneHeight, ...]


def works(surface: Surface, target_um: float, *, clear: bool = True) -> Working:
    """Judge toe, mouth land and heel on every surface left possible.

    Where the readings are not ``clear`` of the noise floor the face may as well be
    flat: the range begins at 0, and nothing is proved to be in the way.
    """
    face, p = surface.face, surface.places
    along, across = surface.along_mm[p:], surface.across_mm[p:]
    draws = surface.draws_um[:, p:]
    zones = face.bearing_zones()
    inside = [in_zone(zone, along, across) for zone in zones]
    bears: NDArray[np.bool_] = np.any(inside, axis=0)
    together = minimum_zone_many(along[bears], across[bears], draws[:, bears])
    terms = plane_terms(face, along, across)
    level = _levelling(terms, bears)
    flat: Array = draws @ level.T
    ends: NDArray[np.bool_] = inside[0] | inside[-1]
    over = draws @ _levelling(terms, ends).T
    top: Array = flat[:, bears].max(axis=1)
    met: dict[Condition, NDArray[np.bool_]] = {"together": together <= target_um}
    if not bears.all():
        rest = flat[:, ~bears]
        met["hollow"] = top - rest.min(axis=1) <= (1 + HOLLOW_SHARE) * target_um
    proud = over[:, ~ends].max(axis=1) - over[:, ends].max(axis=1)
    met["proud"] = proud <= PROUD_SHARE * target_um
    weakest = min(met, key=lambda name: met[name].mean())
    mean = level @ surface.mean_um[p:]
    low, middle, high = np.quantile(together, [0.025, 0.5, 0.975])
    probability = float(np.all(list(met.values()), axis=0).mean())
    if not clear:
        low = 0.0
        probability = max(probability, chance_if_unclear(target_um, float(middle)))
    return Working(
        together_um=float(middle),
        interval_um=(float(low), float(high)),
        probability=probability,
        weakest=weakest,
        zones=tuple(
            ZoneHeight(
                zone=zone.name,
                height_um=float(mean[places].mean()),
                u_um=float(flat[:, places].mean(axis=1).std()),
            )
            for zone, places in zip(zones, inside, strict=True)
            if places.any()
        ),
    )


def _levelling(terms: Array, places: NDArray[np.bool_]) -> Array:
    """Give the matrix that takes the least squares plane of some places off all."""
    chosen = np.where(places[:, None], terms, 0.0)
    return np.asarray(np.eye(len(terms)) - terms @ np.linalg.pinv(chosen))
