"""What the readings did not see, and where the map must stay blank."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lapping.grid import in_zone
from lapping.readings import ReadingSet
from lapping.surface.posterior import Surface

NEAR_SHARE = 0.15
"""A place within this share of the length of a reading is shown on the map,"""
NEAR_WIDTH = 0.4
"""or within this share of the width, whichever is more."""
LEAF_REACH = 0.25
"""Leaves show the face this share of its width in from the rim and no further."""


def places_shown(surface: Surface, sets: Sequence[ReadingSet]) -> NDArray[np.bool_]:
    """Say for each metal place of the grid whether a reading is near, shape (m,)."""
    face, p = surface.face, surface.places
    near = max(NEAR_SHARE * face.length_mm, NEAR_WIDTH * face.width_mm)
    if all(s.method == "feeler" for s in sets):
        near = min(near, LEAF_REACH * face.width_mm)
    d = np.hypot(
        surface.along_mm[p:, None] - surface.along_mm[None, :p],
        surface.across_mm[p:, None] - surface.across_mm[None, :p],
    )
    return np.asarray(d.min(axis=1) <= near)


def zones_unread(surface: Surface, shown: NDArray[np.bool_]) -> tuple[str, ...]:
    """Name the zones that have to bear and of which no place is ``shown``."""
    p, found = surface.places, []
    for zone in surface.face.bearing_zones():
        inside = in_zone(zone, surface.along_mm[p:], surface.across_mm[p:])
        if inside.any() and not shown[inside].any():
            found.append(
                "land ahead of the mouth" if zone.name == "mouth" else zone.name
            )
    return tuple(found)


def not_seen(
    surface: Surface,
    sets: Sequence[ReadingSet],
    unseen: tuple[str, ...],
    shown: NDArray[np.bool_],
) -> tuple[str, ...]:
    """Say in words what the readings cannot show, and what would."""
    found = [", ".join(unseen)] if unseen else []
    if all(s.method == "feeler" for s in sets):
        found.append("the middle: leaves reach only the rim and the mouth")
    found += [
        f"the {zone}: no reading near it" for zone in zones_unread(surface, shown)
    ]
    share = 1 - shown.mean()
    if share > 0.05 and not all(s.method == "feeler" for s in sets):
        found.append(f"{share:.0%} of the face: too far from any reading")
    return tuple(found)
