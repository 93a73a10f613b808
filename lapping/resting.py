"""How a face rests on something flat, and whether it rocks.

A rigid face pressed at one point settles on the facet of its upper convex hull that
lies under that point (de Berg et al., Computational Geometry, 3rd ed. 2008, chapter
11). Here the facet is found as a linear program in three unknowns, by exchange.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import in_zone
from lapping.planes import Plane

Array = NDArray[np.float64]

HAND_SHARE = 1 / 3
"""The load may move over this share of length and width, about the middle of the face:
the push of two hands during a stroke. Common practice, no source."""
TIE = 1e-9
"""Heights nearer than this share of the range touch."""
OFF_ALONG, OFF_ACROSS = 1.3e-8, 0.7e-8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Support:
    """The plane a face rests on with the load at one place.

    ``touches`` are the indices of the places that touch, ``gap_um`` (n,) is how far
    every place stands off.
    """

    touches: tuple[int, ...]
    gap_um: Array
    plane: Plane


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rest:
    """How the face rests under its middle, and how far it tips as the load moves.

    ``rock_um`` is the largest change of the gap anywhere as the load moves over the
    middle third: for pure twist, how far the fourth corner stands off.
    ``touches_mm`` are the touching places, the one farthest from the middle first;
    ``rock_line_mm`` are the two over which it tips first, None where it does not;
    ``zone_gap_um`` names each bearing zone with places in it and its least gap.
    """

    support: Support
    touches_mm: tuple[tuple[float, float], ...]
    rock_um: float
    rock_line_mm: tuple[tuple[float, float], tuple[float, float]] | None
    zone_gap_um: tuple[tuple[str, float], ...]


def support_under(
    along_mm: Array, across_mm: Array, height_um: Array, load_mm: tuple[float, float]
) -> Support | None:
    """Find where a face of n places rests with the load at one place.

    None when the load lies outside the places read: it would tip over.
    """
    spread = max(float(np.ptp(along_mm)), float(np.ptp(across_mm)), 1e-12)
    # A load a hair off its place never sits on an edge, where two facets would tie.
    along = (along_mm - load_mm[0]) / spread - OFF_ALONG
    across = (across_mm - load_mm[1]) / spread - OFF_ACROSS
    size = max(float(np.ptp(height_um)), 1e-12)
    height = (height_um - height_um.min()) / size
    basis = _around(along, across)
    if basis is None:
        return None
    corners = [
        _Corner(*p)
        for p in zip(along.tolist(), across.tolist(), height.tolist(), strict=True)
    ]
    for _ in range(50 * height.size):
        plane = _through([corners[i] for i in basis])
        over = height - (plane[0] + plane[1] * along + plane[2] * across)
        worst = int(over.argmax())
        if over[worst] <= TIE / 4:
            break
        basis = _exchange(corners, basis, worst)
    gap = np.maximum(plane[0] + plane[1] * along + plane[2] * across - height, 0.0)
    touches = tuple(int(i) for i in np.nonzero(gap <= TIE)[0])
    slopes = plane[1] * size / spread, plane[2] * size / spread
    at_load = size * (plane[0] - plane[1] * OFF_ALONG - plane[2] * OFF_ACROSS)
    level = at_load - slopes[0] * load_mm[0] - slopes[1] * load_mm[1]
    return Support(
        touches=touches,
        gap_um=gap * size,
        plane=Plane(level + float(height_um.min()), *slopes),
    )


def rest(
    face: Face, along_mm: Array, across_mm: Array, height_um: Array
) -> Rest | None:
    """Find how the face rests under its middle and how far it rocks.

    None when the middle lies outside the n places given.
    """
    middle = (face.length_mm / 2, face.width_mm / 2)
    support = support_under(along_mm, across_mm, height_um, middle)
    if support is None:
        return None
    rock = 0.0
    for part_along in (-0.5, 0.0, 0.5):
        for part_across in (-0.5, 0.0, 0.5):
            load = (
                middle[0] + part_along * HAND_SHARE * face.length_mm,
                middle[1] + part_across * HAND_SHARE * face.width_mm,
            )
            moved = support_under(along_mm, across_mm, height_um, load)
            if moved is not None:
                change = np.abs(moved.gap_um - support.gap_um).max()
                rock = max(rock, float(change))
    touches = _touches(face, along_mm, across_mm, support)
    return Rest(
        support=support,
        touches_mm=touches,
        rock_um=rock,
        rock_line_mm=_tips_over(touches, middle) if rock else None,
        zone_gap_um=_zone_gaps(face, along_mm, across_mm, support.gap_um),
    )


def _touches(
    face: Face, along_mm: Array, across_mm: Array, support: Support
) -> tuple[tuple[float, float], ...]:
    which = list(support.touches)
    along, across = along_mm[which], across_mm[which]
    off = np.hypot(along - face.length_mm / 2, across - face.width_mm / 2)
    return tuple(
        (float(along[i]), float(across[i])) for i in np.argsort(-off, kind="stable")
    )


def _tips_over(
    touches: Sequence[tuple[float, float]], load_mm: tuple[float, float]
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Give the side of the facet that the load is nearest to."""
    round_it = _hull(touches)
    if len(round_it) < 3:
        return None

    def off(side: int) -> float:
        one, other = round_it[side - 1], round_it[side]
        return abs(_turn(one, other, load_mm)) / math.dist(one, other)

    nearest = min(range(len(round_it)), key=off)
    return round_it[nearest - 1], round_it[nearest]


def _hull(places: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Give the corners of the convex hull in order (Andrew's monotone chain)."""
    whole: list[tuple[float, float]] = []
    for going in (sorted(set(places)), sorted(set(places), reverse=True)):
        chain: list[tuple[float, float]] = []
        for place in going:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], place) <= 0:
                chain.pop()
            chain.append(place)
        whole += chain[:-1]
    return whole


def _turn(
    one: tuple[float, float], other: tuple[float, float], third: tuple[float, float]
) -> float:
    return (other[0] - one[0]) * (third[1] - one[1]) - (other[1] - one[1]) * (
        third[0] - one[0]
    )


def _zone_gaps(
    face: Face, along_mm: Array, across_mm: Array, gap_um: Array
) -> tuple[tuple[str, float], ...]:
    found = []
    for zone in face.bearing_zones():
        inside = in_zone(zone, along_mm, across_mm)
        if inside.any():
            found.append((zone.name, float(gap_um[inside].min())))
    return tuple(found)


class _Corner(NamedTuple):
    x: float
    y: float
    z: float


def _around(x: Array, y: Array) -> list[int] | None:
    """Pick three places with the origin between them, or None when it lies outside."""
    angle = np.arctan2(y, x)
    turn = (angle - angle[0]) % (2 * np.pi)
    order = np.argsort(turn, kind="stable")
    sorted_turn = turn[order]
    split = int(np.searchsorted(sorted_turn, np.pi))
    if split == order.size:
        return None
    second, third = sorted_turn[split - 1], sorted_turn[split]
    if third - second >= np.pi or split == 1:
        return None
    return [0, int(order[split - 1]), int(order[split])]


def _exchange(corners: list[_Corner], basis: list[int], entering: int) -> list[int]:
    """Swap one of three places for another, so that the load stays between them."""
    best, kept = -np.inf, basis
    for out in range(3):
        tried = [*basis[:out], entering, *basis[out + 1 :]]
        inside = _least_share([corners[i] for i in tried])
        if inside > best:
            best, kept = inside, tried
    return kept


def _least_share(three: list[_Corner]) -> float:
    """Give the least share of the load, at the origin, that one of three takes."""
    (x1, y1, _), (x2, y2, _), (x3, y3, _) = three
    det = (x2 - x1) * (y3 - y1) - (x3 - x1) * (y2 - y1)
    if det == 0:
        return -np.inf
    one = (x2 * y3 - x3 * y2) / det
    two = (x3 * y1 - x1 * y3) / det
    return min(one, two, 1 - one - two)


def _through(three: list[_Corner]) -> tuple[float, float, float]:
    """Give offset and slopes of the plane through three places."""
    (x0, y0, z0), (xj, yj, zj), (xk, yk, zk) = three
    x1, y1, z1, x2, y2, z2 = xj - x0, yj - y0, zj - z0, xk - x0, yk - y0, zk - z0
    det = x1 * y2 - x2 * y1
    slope_x = (z1 * y2 - z2 * y1) / det
    slope_y = (x1 * z2 - x2 * z1) / det
    return z0 - slope_x * x0 - slope_y * y0, slope_x, slope_y
