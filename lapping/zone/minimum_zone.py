"""The minimum zone: the closest two parallel planes with every height between them.

ISO 12781-1:2011 calls them the minimum zone reference planes. The answer is exact and
carries its proof: the places that touch, weighted, show that no plane does better.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from numpy.typing import ArrayLike

from lapping.planes import Plane, levelled
from lapping.zone.exchange import TOP
from lapping.zone.levelled import spread, zone_of
from lapping.zone.search import Zone

NO_WEIGHT = 1e-12


@dataclass(frozen=True, slots=True)
class Contact:
    """A place where the face touches one of the two planes, by its index.

    The weights of the places on one side sum to 1; at both sides they have the same
    centre of gravity, and that is what proves the zone to be the least.
    """

    place: int
    side: Literal["high", "low"]
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MinimumZone:
    """The least zone and its certificate; ``plane`` lies midway in it.

    ``width_um`` is measured along the height axis of the levelled heights, which is
    the normal of the least squares plane; tilt and offset therefore change nothing.
    ``normal_um`` is the distance of the two planes along their own normal when the
    tilt of the heights is the real tilt of the face. No plane has a zone less than
    ``lower_bound_um``, and ``plane`` has ``upper_bound_um``. ``contacts`` is empty when
    a plane goes through all places.
    """

    width_um: float
    plane: Plane
    contacts: tuple[Contact, ...]
    lower_bound_um: float
    upper_bound_um: float

    @property
    def normal_um(self) -> float:
        """The width times 1/sqrt(1 + slope²), with the slope of ``plane``."""
        return self.width_um * self.plane.normal_factor

    @property
    def gap_um(self) -> float:
        """What the certificate leaves open: rounding, and nothing else."""
        return self.upper_bound_um - self.lower_bound_um


def minimum_zone(
    along_mm: ArrayLike, across_mm: ArrayLike, height_um: ArrayLike
) -> MinimumZone:
    """Find the two closest parallel planes that hold all heights between them.

    All columns have shape (n,), n >= 1. Places on one line give the straightness along
    it. Raises TooFewReadings without a place.
    """
    frame = levelled(along_mm, across_mm, height_um)
    n = frame.rows.shape[1]
    zone = zone_of(spread(frame), frame.rounding_um)
    slope_u, slope_v = zone.slope_u, zone.slope_v
    if frame.rank < 2:
        # Across a line nothing is known, and at one spot nothing at all.
        slope_u, slope_v = (slope_u if frame.rank else 0.0), 0.0
    upper = zone.top - zone.bottom
    return MinimumZone(
        width_um=upper,
        plane=frame.plane(0.5 * (zone.top + zone.bottom), slope_u, slope_v),
        contacts=_contacts(zone, n),
        lower_bound_um=min(zone.proved, upper),
        upper_bound_um=upper,
    )


def _contacts(zone: Zone, n: int) -> tuple[Contact, ...]:
    """Name the places that touch; copies of one place count as one."""
    found: dict[tuple[int, float], float] = {}
    for member, weight in zip(zone.members, zone.weights, strict=True):
        if weight > NO_WEIGHT:
            key = (member.place % n, member.side)
            found[key] = found.get(key, 0.0) + weight
    return tuple(
        Contact(place, "high" if side == TOP else "low", weight)
        for (place, side), weight in found.items()
    )
