"""What a contact map says without a figure: where it bears, and how evenly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lapping.contact_map import BEARS, ContactMap
from lapping.places import corner_names
from lapping.signs.sign import Sign

EVEN_PERCENT = 60.0
"""A zone bears when so much of its ink is gone: two thirds or so, common practice, no
source."""
CORNER_SHARE = 0.25
LITTLE = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Bearing:
    """How a face bears: its zones in percent (None not seen), and which lag behind."""

    zones: tuple[tuple[str, float | None], ...]
    places: tuple[str, ...]
    lagging: tuple[str, ...]
    unseen: tuple[str, ...]

    @property
    def even(self) -> bool:
        """Say whether every zone that was seen bears, and all were seen."""
        return not self.lagging and not self.unseen


def bearing_of(contact: ContactMap) -> Bearing:
    """Say how toe, mouth land, heel and edges of a contact map bear."""
    zones = tuple(contact.zones.items())
    return Bearing(
        zones=zones,
        places=tuple(place.where for place in contact.places[:3]),
        lagging=tuple(
            name
            for name, percent in zones
            if percent is not None and percent < EVEN_PERCENT
        ),
        unseen=tuple(name for name, percent in zones if percent is None),
    )


def contact_signs(contact: ContactMap) -> list[Sign]:
    """Name opposite corners and uneven contact; never in µm, which ink cannot show."""
    found = []
    corners = _corners(contact)
    if corners is not None:
        one, two, three, four = corners
        pairs = ((one, three), (two, four))
        names = corner_names(contact.face)
        for i, (high, low) in enumerate((pairs, pairs[::-1])):
            if min(high) >= BEARS and max(low) <= LITTLE:
                where = (names[i], names[i + 2])
                found.append(
                    Sign(
                        name="opposite corners",
                        says=(
                            f"{where[0]} and {where[1]} are rubbed and the other two "
                            "corners are not: a sign of twist"
                        ),
                        where=where,
                    )
                )
    bears = bearing_of(contact)
    if bears.lagging and len(bears.lagging) < len(bears.zones):
        found.append(
            Sign(
                name="uneven contact",
                says=f"{' and '.join(bears.lagging)} bear less than the rest",
                where=bears.lagging,
            )
        )
    return found


def _corners(contact: ContactMap) -> tuple[float, float, float, float] | None:
    """Give how far each corner is rubbed, in the order of their names."""
    rows, columns = contact.rubbed.shape
    long = max(1, round(CORNER_SHARE * rows))
    wide = max(1, round(CORNER_SHARE * columns))
    first, last = slice(None, long), slice(-long, None)
    left, right = slice(None, wide), slice(-wide, None)
    values = []
    for along, across in ((first, left), (first, right), (last, right), (last, left)):
        cells = contact.rubbed[along, across]
        if not np.isfinite(cells).any():
            return None
        values.append(float(np.nanmean(cells)))
    return values[0], values[1], values[2], values[3]
