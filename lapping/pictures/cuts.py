"""Cuts through the surface that readings leave possible, worked out before drawing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.face import Face
from lapping.pictures.plan import BLANK, FineSurface
from lapping.places import edge_names, end_names
from lapping.planes import Plane
from lapping.zone.minimum_zone import MinimumZone, minimum_zone

Array = NDArray[np.float64]
Way = Literal["along", "across"]

POINTS = 161
READ_SHARE = 0.12
"""A reading is shown on a cut that it is no farther from than this share of the width,
or of the length for a cut across."""
READ_SHARE_ACROSS = 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """One cut ``along`` or ``across`` the face, at a stated place of the other axis.

    ``mean_um`` and ``u_um`` (n,) are over the best-fit plane and NaN where there is no
    metal or nothing was read; ``lap_um`` (n,) is the plane it rests on, None where it
    rests on nothing that was read, and ``top_um`` (n,) the upper plane of the least
    zone that holds the likely surface.
    ``read_mm`` and ``read_um`` are the readings beside the cut.
    """

    name: str
    way: Way
    at_mm: float
    place_mm: Array
    mean_um: Array
    u_um: Array
    lap_um: Array | None
    top_um: Array
    read_mm: Array
    read_um: Array

    @property
    def seen(self) -> bool:
        """Say whether anything was read near the cut."""
        return bool(np.isfinite(self.mean_um).any())


def cuts(answer: Answer) -> tuple[Cut, ...]:
    """Give three cuts along, then those across the toe, the mouth's land and the heel.

    Without a mouth the one between goes across the middle.
    """
    fine = FineSurface.of(answer.surface, answer.sets, unseen=bool(answer.unseen))
    surface = answer.surface
    zone = minimum_zone(surface.along_mm, surface.across_mm, surface.mean_um)
    return tuple(
        _cut(answer, (fine, zone), name, way, at)
        for name, way, at in _places(answer.face)
    )


def _places(face: Face) -> Iterator[tuple[str, Way, float]]:
    zones = {zone.name: zone for zone in face.zones()}
    low, high = edge_names(face)
    # The middle of the edge's zone: the rim itself is often broken or rounded.
    yield high, "along", face.width_mm - zones["left edge"].across_to_mm / 2
    yield "centre", "along", face.width_mm / 2
    yield low, "along", zones["left edge"].across_to_mm / 2
    first, last = end_names(face)
    yield first, "across", zones[first].along_to_mm / 2
    if "mouth" in zones:
        land = zones["mouth"]
        yield "ahead of mouth", "across", (land.along_from_mm + land.along_to_mm) / 2
    else:
        yield "middle", "across", face.length_mm / 2
    yield last, "across", (zones[last].along_from_mm + face.length_mm) / 2


def _cut(
    answer: Answer,
    fitted: tuple[FineSurface, MinimumZone],
    name: str,
    way: Way,
    at: float,
) -> Cut:
    face, surface = answer.face, answer.surface
    fine, zone = fitted
    size = face.length_mm if way == "along" else face.width_mm
    place = np.linspace(0.0, size, POINTS)
    here = np.array([at])
    axes = (place, here) if way == "along" else (here, place)
    along, across = (axis.ravel() for axis in np.broadcast_arrays(*axes))
    known = fine.near(*axes).ravel() >= BLANK
    known &= [
        face.is_metal(a, c)
        for a, c in zip(along.tolist(), across.tolist(), strict=True)
    ]
    mean = np.where(known, fine.height_um(*axes).ravel(), np.nan)
    u = fine.of_metal(surface.sd_um[surface.places :], *axes).ravel()
    lap = None
    if answer.rest is not None:
        lap = _over(answer.rest.support.plane, fine.plane, along, across)
    read_mm, read_um = _readings(answer, fine.plane, way, at)
    return Cut(
        name=name,
        way=way,
        at_mm=at,
        place_mm=place,
        mean_um=mean,
        u_um=np.where(known, u, np.nan),
        lap_um=lap,
        top_um=_over(zone.plane, fine.plane, along, across) + zone.width_um / 2,
        read_mm=read_mm,
        read_um=read_um,
    )


def _over(plane: Plane, other: Plane, along: Array, across: Array) -> Array:
    return np.asarray(plane.at(along, across) - other.at(along, across))


def _readings(answer: Answer, plane: Plane, way: Way, at: float) -> tuple[Array, Array]:
    """Give the places read beside a cut and the heights read there."""
    face, heights = answer.face, answer.heights
    if heights is None or answer.unseen:
        return np.array([]), np.array([])
    along, across = heights.along_mm, heights.across_mm
    # Heights as read have a plane of their own.
    mean = answer.surface.mean_um[: answer.surface.places]
    off = heights.height_um
    if mean.size == off.size:
        terms = np.column_stack([np.ones_like(along), along, across])
        off = off - terms @ np.linalg.lstsq(terms, off - mean, rcond=None)[0]
    over = off - plane.at(along, across)
    if way == "along":
        near = np.abs(across - at) <= READ_SHARE * face.width_mm
        return along[near], over[near]
    near = np.abs(along - at) <= READ_SHARE_ACROSS * face.length_mm
    return across[near], over[near]
