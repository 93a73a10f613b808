"""The exchange (`exchange`) on many references side by side."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lapping.zone.exchange import BOTTOM, SMALLEST_PIVOT, TOP
from lapping.zone.levelled import SMALLEST_AREA

Column = NDArray[np.float64]
Places = NDArray[np.intp]
Bools = NDArray[np.bool_]

NO_PIVOT = 1e-250
"""Stands for a pull under which no member may leave: its ratio is never the least."""
NO_WEIGHT = 1e-30
FOUR = np.arange(4)[:, None]


class References(NamedTuple):
    """The references of t trials; see `exchange.Reference` for the meaning.

    ``block`` has shape (5, 4, t): the columns of the four members, then the planes as
    level, slope_u, slope_v and half. ``code`` of shape (4, t) is 2·place of each
    member, 1 more on the top side.
    """

    block: Column
    code: Places

    def take(self, at: Places) -> References:
        """Copy some of them."""
        return References(self.block.take(at, axis=2), self.code.take(at, axis=1))

    def put(self, at: Places, some: References) -> None:
        """Copy some of them back."""
        self.block[:, :, at] = some.block
        self.code[:, at] = some.code

    @classmethod
    def join(cls, some: list[References]) -> References:
        """Put several of them one after the other."""
        return cls(
            np.concatenate([references.block for references in some], axis=2),
            np.concatenate([references.code for references in some], axis=1),
        )


def first_references(
    heights: Column, places: Column, top: Places, bottom: Places
) -> tuple[References, Bools]:
    """Start each trial from its extremes and two places far out to their sides.

    ``heights`` has shape (n, t). Gives also which trials could be started.
    """
    trials = heights.shape[1]
    row = np.arange(trials)
    high, low = places.take(top, axis=1), places.take(bottom, axis=1)
    away = np.stack((high[1] - low[1], low[0] - high[0]))
    line = away[0] * high[0] + away[1] * high[1]
    pick = np.vstack((places, np.ones(places.shape[1]))).T @ np.vstack((away, -line))
    pick *= heights
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
    block = np.empty((5, 4, trials))
    inverse = block[:4]
    for j in range(3):
        (_, (pu, pv), (qu, qv)) = (corners[(j + k) % 3] for k in range(3))
        inverse[j] = pu * qv - qu * pv, pv - qv, qu - pu, np.zeros(trials)
    inverse[:3] /= area
    in_u, in_v = places[:, fourth]
    share = inverse[:3, 0] + inverse[:3, 1] * in_u + inverse[:3, 2] * in_v
    member = np.stack((top, bottom, third, fourth))
    value = heights[member, row]
    rise = value[3] - (share * value[:3]).sum(axis=0)
    block[4] = (inverse[:3] * value[:3, None]).sum(axis=0)
    side = np.empty((4, trials))
    side[3] = np.where(rise > 0, TOP, BOTTOM)
    side[:3] = np.where(share > 0, -side[3], side[3])
    inverse[:3] *= side[:3, None]
    inverse[3] = -inverse[:3].sum(axis=0)
    inverse[3, 3] = 1.0
    references = References(block, 2 * member + (side > 0))
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
    block, code = references
    columns = block[:4]
    row = np.arange(place.size)
    u, v = places.take(place, axis=1) * side
    pull = np.empty((5, place.size))
    pulls = pull[:4]
    np.multiply(columns[:, 0], side, out=pulls)
    pulls += columns[:, 1] * u
    pulls += columns[:, 2] * v
    pulls += columns[:, 3]
    # The planes move as a fifth member would.
    np.negative(outside, out=pull[4])
    safe = np.where(pulls > SMALLEST_PIVOT, pulls, NO_PIVOT)
    ratio = np.maximum(columns[:, 3], NO_WEIGHT) / safe
    second, fourth = ratio[1] < ratio[0], ratio[3] < ratio[2]
    back = np.minimum(ratio[2], ratio[3]) < np.minimum(ratio[0], ratio[1])
    leaves = np.where(back, 2 + fourth, second + 0)
    pivot = pull[leaves, row]
    spots = leaves * (4 * place.size) + row
    # A reference that has lost its pivot turns to NaN here, cannot be proved, and is
    # then solved alone.
    with np.errstate(divide="ignore", invalid="ignore"):
        column = block.reshape(-1).take(spots + place.size * FOUR) / pivot
    # With 1 less the member that leaves becomes the column itself, as it should.
    pull[leaves, row] = pivot - 1.0
    block -= pull[:, None] * column
    code[leaves, row] = 2 * place + (side > 0)


def proofs(code: Places, value: Column, places: Column) -> Column:
    """Work out afresh what each trial's reference proves; NaN where it proves nothing.

    ``value`` has shape (4, t), the members' heights. Twin of `exchange.weigh`.
    """
    side = np.where(code % 2 == 1, TOP, BOTTOM)
    u, v = places[:, code // 2]
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
