"""The exchange of `lapping.exchange` on many references side by side."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lapping.exchange import BOTTOM, SMALLEST_PIVOT, TOP
from lapping.zone_of_heights import SMALLEST_AREA

Column = NDArray[np.float64]
Places = NDArray[np.intp]
Bools = NDArray[np.bool_]


class References(NamedTuple):
    """The references of t trials; see `lapping.exchange.Reference` for the meaning.

    Shapes: columns (4, 4, t), the member first; planes (4, t), as level, slope_u,
    slope_v, half; member and side (4, t).
    """

    columns: Column
    planes: Column
    member: Places
    side: Column

    def take(self, at: Places) -> References:
        """Copy some of them."""
        return References(
            self.columns.take(at, axis=2),
            self.planes.take(at, axis=1),
            self.member.take(at, axis=1),
            self.side.take(at, axis=1),
        )

    def put(self, at: Places, some: References) -> None:
        """Copy some of them back."""
        for whole, part in zip(self, some, strict=True):
            whole[..., at] = part

    def join(self, more: References) -> References:
        """Put more of them after these."""
        return References(
            np.concatenate((self.columns, more.columns), axis=2),
            np.concatenate((self.planes, more.planes), axis=1),
            np.concatenate((self.member, more.member), axis=1),
            np.concatenate((self.side, more.side), axis=1),
        )


def first_references(
    heights: Column, places: Column, top: Places, bottom: Places
) -> tuple[References, Bools]:
    """Start each trial from its extremes and two places far out to their sides.

    ``heights`` has shape (n, t). Gives also which trials could be started.
    """
    trials = heights.shape[1]
    row = np.arange(trials)
    high, low = places[:, top], places[:, bottom]
    away = np.stack((high[1] - low[1], low[0] - high[0]))
    line = (away * high).sum(axis=0)
    pick = (places.T @ away - line) * heights
    pick *= heights
    left, _, right, _ = ends(pick)
    far_left = (places[:, left] * away).sum(axis=0) - line
    far_right = line - (places[:, right] * away).sum(axis=0)
    swap = far_left < far_right
    third, fourth = np.where(swap, right, left), np.where(swap, left, right)
    wide = np.maximum(far_left, far_right) >= SMALLEST_AREA
    # A degenerate triangle is worked out alone later; here it must not divide by 0.
    area = np.where(wide, np.where(swap, -far_right, far_left), 1.0)
    spot = places[:, third]
    corners = (high, low, spot)
    inverse = np.empty((4, 4, trials))
    for j in range(3):
        (_, (pu, pv), (qu, qv)) = (corners[(j + k) % 3] for k in range(3))
        inverse[j] = pu * qv - qu * pv, pv - qv, qu - pu, np.zeros(trials)
    inverse[:3] /= area
    in_u, in_v = places[:, fourth]
    share = inverse[:3, 0] + inverse[:3, 1] * in_u + inverse[:3, 2] * in_v
    member = np.stack((top, bottom, third, fourth))
    value = heights[member, row]
    rise = value[3] - (share * value[:3]).sum(axis=0)
    planes = (inverse[:3] * value[:3, None]).sum(axis=0)
    side = np.empty((4, trials))
    side[3] = np.where(rise > 0, TOP, BOTTOM)
    side[:3] = np.where(share > 0, -side[3], side[3])
    inverse[:3] *= side[:3, None]
    inverse[3] = -inverse[:3].sum(axis=0)
    inverse[3, 3] = 1.0
    references = References(inverse, planes, member, side)
    enter(references, places, fourth, side[3].copy(), np.abs(rise))
    return references, wide


def ends(heights: Column) -> tuple[Places, Column, Places, Column]:
    """Give the highest place and height of each trial, and the lowest; heights (n, t).

    Twice as fast as argmax, whose branches no processor foresees on new numbers.
    """
    n = heights.shape[0]
    kind = np.uint8 if n <= 2**8 else np.uint16 if n <= 2**16 else np.uint32
    number = np.arange(n, dtype=kind)[:, None]
    top, bottom = np.maximum.reduce(heights, axis=0), np.minimum.reduce(heights, axis=0)
    top_place, bottom_place = (
        np.maximum.reduce((heights == end) * number, axis=0).astype(np.intp)
        for end in (top, bottom)
    )
    return top_place, top, bottom_place, bottom


def enter(
    references: References,
    places: Column,
    place: Places,
    side: Column,
    outside: Column,
) -> None:
    """Take one member into each trial's reference and let one go, in place."""
    columns, planes, member, sides = references
    row = np.arange(place.size)
    u, v = places.take(place, axis=1) * side
    pull = columns[:, 0] * side
    pull += columns[:, 1] * u
    pull += columns[:, 2] * v
    pull += columns[:, 3]
    may = pull > SMALLEST_PIVOT
    ratio = np.divide(columns[:, 3], pull, out=np.full(pull.shape, np.inf), where=may)
    second, fourth = ratio[1] < ratio[0], ratio[3] < ratio[2]
    back = np.minimum(ratio[2], ratio[3]) < np.minimum(ratio[0], ratio[1])
    leaves = np.where(back, 2 + fourth, second + 0)
    pivot = pull[leaves, row]
    column = columns[leaves, :, row].T / pivot
    # With 1 less the member that leaves becomes the column itself, as it should.
    pull[leaves, row] = pivot - 1.0
    columns -= pull[:, None] * column
    planes += outside * column
    member[leaves, row] = place
    sides[leaves, row] = side


def proofs(references: References, value: Column, places: Column) -> Column:
    """Work out afresh what each trial's reference proves; NaN where it proves nothing.

    ``value`` has shape (4, t), the members' heights. Twin of `lapping.exchange.weigh`.
    """
    side = references.side
    u, v = places[:, references.member]
    u, v = u - u[0], v - v[0]
    weight = np.empty_like(side)
    weight[1] = side[1] * (u[2] * v[3] - u[3] * v[2])
    weight[2] = side[2] * (u[3] * v[1] - u[1] * v[3])
    weight[3] = side[3] * (u[1] * v[2] - u[2] * v[1])
    weight[0] = -side[0] * (side[1:] * weight[1:]).sum(axis=0)
    total = 0.5 * weight.sum(axis=0)
    fair = total != 0.0
    weight /= np.where(fair, total, 1.0)
    fair &= weight.min(axis=0) >= -1e-9
    proved: Column = (weight * side * value).sum(axis=0)
    proved[~fair] = np.nan
    return proved
