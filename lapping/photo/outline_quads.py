"""Quads that could be the face: two sides, two ends, and a true rectangle's pose."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_ends import ALONG_PX, Ends
from lapping.photo.outline_pose import other_end, pose_fit
from lapping.photo.outline_sides import Bands

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

TRIED_FOCALS = (0.65, 0.8, 1.0, 1.35)
BEST_ENDS = 5
NEAR = 0.07
CLEAR = 0.3
LEAST_LONG, LEAST_AREA, OUTSIDE = 0.25, 0.02, 0.15
MOST_COST, COST_WEIGHT = 40.0, 0.02


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Quads:
    """Quads (n, 4, 2) from the middle of the picture, going round as seen.

    The first and third sides are ends. ``cost`` and ``focal`` are of `pose_fit`.
    """

    corners: Array
    cost: Array
    focal: Array


def find_quads(
    bands: Bands, ends: Ends, shape: tuple[int, int], ratio: float, keep: int
) -> Quads | None:
    """Join ends in pairs, and each clear end to where the other one must be.

    ``keep`` is how many of the best quads are given.
    """
    if len(ends.band) == 0:
        return None
    rows = np.concatenate(
        [_both_seen(bands, ends), _one_worked_out(bands, ends, shape, ratio)]
    )
    rows = np.unique(np.round(rows, 3), axis=0)
    corners, clear = _corners(bands, rows)
    can = _possible(corners, shape, ratio)
    corners, clear = corners[can], clear[can]
    if len(corners) == 0:
        return None
    fit = pose_fit(corners, ratio, max(shape))
    value = clear - COST_WEIGHT * fit.cost - 1e6 * (fit.cost >= MOST_COST)
    best = np.argsort(-value)[:keep]
    best = best[fit.cost[best] < MOST_COST]
    if len(best) == 0:
        return None
    return Quads(corners=corners[best], cost=fit.cost[best], focal=fit.focal[best])


def _both_seen(bands: Bands, ends: Ends) -> Array:
    """Give band, then along, lean and clearness of two ends, the lower first."""
    rows = [np.zeros((0, 7))]
    for band in range(len(bands.wide)):
        mine = np.flatnonzero(ends.band == band)
        a, b = np.triu_indices(len(mine), 1)
        one, other = mine[a], mine[b]
        swap = ends.along[one] > ends.along[other]
        one, other = np.where(swap, other, one), np.where(swap, one, other)
        rows.append(
            np.column_stack(
                [
                    np.full(len(one), band),
                    *(ends.along[one], ends.lean[one], ends.clear[one]),
                    *(ends.along[other], ends.lean[other], ends.clear[other]),
                ]
            )
        )
    return np.concatenate(rows)


def _one_worked_out(
    bands: Bands, ends: Ends, shape: tuple[int, int], ratio: float
) -> Array:
    """Give the same for clear ends with the other one where the pose puts it."""
    first = np.searchsorted(ends.band, ends.band)
    clear = np.flatnonzero(np.arange(len(ends.band)) - first < BEST_ENDS)
    # Each clear end as the near one and as the far one, for every focal length.
    way = np.repeat([1.0, -1.0], len(TRIED_FOCALS) * len(clear))
    focal = np.tile(np.repeat(TRIED_FOCALS, len(clear)), 2) * max(shape)
    clear = np.tile(clear, 2 * len(TRIED_FOCALS))
    band, along, lean = ends.band[clear], ends.along[clear], ends.lean[clear]
    corners = _end_corners(bands, band, along, lean)
    far, can = other_end(corners, bands.ways[band], ratio, focal, way > 0)
    off = ((far - bands.feet[band]) * bands.ways[band]).sum(axis=2)
    there, leans = off.mean(axis=1), (off[:, 1] - off[:, 0]) / bands.wide[band]
    can &= (np.abs(leans) < 1) & (np.abs(there) < 0.75 * np.hypot(*shape))
    near = _nearest_peak(bands, ends, band, there, leans)
    known = np.column_stack([along, lean, ends.clear[clear]])
    onward = (way > 0)[:, None]
    both = np.where(onward, known, near), np.where(onward, near, known)
    return np.column_stack([band, *both])[can]


def _nearest_peak(
    bands: Bands, ends: Ends, band: Whole, along: Array, lean: Array
) -> Array:
    """Give the clearest end close to a place, or the place itself if none is clear."""
    # What cannot be (no depth) is dropped by the caller.
    along, lean = np.nan_to_num(along), np.nan_to_num(lean)
    step = ends.leans[1] - ends.leans[0]
    at = np.rint((along - ends.places[0]) / ALONG_PX).clip(-9999, 9999).astype(int)
    at_lean = np.rint((lean - ends.leans[0]) / step).clip(-99, 99).astype(int)
    reach = np.maximum(2, (NEAR * bands.wide[band] / ALONG_PX).astype(int))
    off = np.arange(-int(reach.max()), int(reach.max()) + 1)
    places = at[:, None, None] + off[None, None, :]
    leans = at_lean[:, None, None] + np.array([-1, 0, 1])[None, :, None]
    known = (
        (np.abs(off)[None, None, :] <= reach[:, None, None])
        & (places >= 0)
        & (places < len(ends.places))
        & (leans >= 0)
        & (leans < len(ends.leans))
    )
    places, leans = (
        places.clip(0, len(ends.places) - 1),
        leans.clip(0, len(ends.leans) - 1),
    )
    seen = np.where(known, ends.maps[band[:, None, None], leans, places], 0)
    best = seen.reshape(len(seen), -1).argmax(axis=1)
    which_lean, which_off = np.divmod(best, len(off))
    rows = np.arange(len(seen))
    value = seen[rows, which_lean, which_off]
    clear = value > CLEAR
    return np.column_stack(
        [
            np.where(clear, ends.places[places[rows, 0, which_off]], along),
            np.where(clear, ends.leans[leans[rows, which_lean, 0]], lean),
            np.where(clear, value, 0.0),
        ]
    )


def _end_corners(bands: Bands, band: Whole, along: Array, lean: Array) -> Array:
    """Give the two corners (n, 2, 2) of ends, on the first and the second side."""
    ahead = lean * bands.wide[band] / 2
    off = np.stack([along - ahead, along + ahead], axis=1)
    result: Array = bands.feet[band] + off[..., None] * bands.ways[band]
    return result


def _corners(bands: Bands, rows: Array) -> tuple[Array, Array]:
    """Give quads going round as seen, and how clear both their ends are."""
    band = rows[:, 0].astype(np.intp)
    near = _end_corners(bands, band, rows[:, 1], rows[:, 2])
    far = _end_corners(bands, band, rows[:, 4], rows[:, 5])
    corners = np.stack([near[:, 0], near[:, 1], far[:, 1], far[:, 0]], axis=1)
    backwards = _areas(corners) < 0
    corners[backwards] = corners[backwards][:, [1, 0, 3, 2]]
    return corners, rows[:, 3] + rows[:, 6]


def _areas(corners: Array) -> Array:
    x, y = corners[..., 0], corners[..., 1]
    ahead = np.roll(x, -1, axis=1), np.roll(y, -1, axis=1)
    result: Array = 0.5 * (x * ahead[1] - ahead[0] * y).sum(axis=1)
    return result


def _possible(
    corners: Array, shape: tuple[int, int], ratio: float
) -> NDArray[np.bool_]:
    """Drop quads that are crossed, small, or far out of the picture."""
    longer = max(shape)
    way = np.roll(corners, -1, axis=1) - corners
    after = np.roll(way, -1, axis=1)
    turns = way[..., 0] * after[..., 1] - way[..., 1] * after[..., 0]
    long = np.linalg.norm(way[:, [1, 3]], axis=2)
    half = np.array([shape[1], shape[0]]) / 2 + OUTSIDE * longer
    result: NDArray[np.bool_] = (
        (turns > 0).all(axis=1)
        & (long > LEAST_LONG * longer).all(axis=1)
        & (np.abs(corners) < half).all(axis=(1, 2))
        & (_areas(corners) > LEAST_AREA * longer**2 / ratio)
    )
    return result
