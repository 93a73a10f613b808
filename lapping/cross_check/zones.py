"""The places of a face by name, and how much of each cell of ink lies in them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap
from lapping.face import Face, Zone
from lapping.places import corner_names, edge_names, end_names

Array = NDArray[np.float64]


def named_zones(face: Face) -> Iterator[tuple[str, Zone]]:
    """Give ends, land, edges and middle, then the four corners, each with its name."""
    zones = {zone.name: zone for zone in face.zones()}
    first, last = (zones[name] for name in end_names(face))
    left, right = zones["left edge"], zones["right edge"]
    for name, zone in zip(
        (*end_names(face), *edge_names(face)), (first, last, left, right), strict=True
    ):
        yield name, zone
    if "mouth" in zones:
        yield "land ahead of the mouth", zones["mouth"]
    yield (
        "middle",
        Zone(
            name="middle",
            along_from_mm=first.along_to_mm,
            along_to_mm=last.along_from_mm,
            across_from_mm=left.across_to_mm,
            across_to_mm=right.across_from_mm,
        ),
    )
    for name, end, edge in zip(
        corner_names(face),
        (first, first, last, last),
        (left, right, right, left),
        strict=True,
    ):
        corner = f"{name} corner"
        yield (
            corner,
            Zone(
                name=corner,
                along_from_mm=end.along_from_mm,
                along_to_mm=end.along_to_mm,
                across_from_mm=edge.across_from_mm,
                across_to_mm=edge.across_to_mm,
            ),
        )


def share_in(zone: Zone, contact: ContactMap) -> Array:
    """Give how much of each cell lies in the zone (rows, columns), from 0 to 1."""
    rows, columns = contact.rubbed.shape
    face = contact.face
    return np.outer(
        _overlap(face.length_mm, rows, zone.along_from_mm, zone.along_to_mm),
        _overlap(face.width_mm, columns, zone.across_from_mm, zone.across_to_mm),
    )


def _overlap(size_mm: float, count: int, start_mm: float, stop_mm: float) -> Array:
    ends = np.arange(count + 1) * size_mm / count
    inside = np.minimum(ends[1:], stop_mm) - np.maximum(ends[:-1], start_mm)
    return np.asarray(np.clip(inside, 0.0, None) * count / size_mm)
