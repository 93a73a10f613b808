"""Look along the four sides of a quad in the full picture: where edges could lie.

A strip is the picture beside a side, straightened: a row for each of ``at`` (shares of
the way along the side), a column for each of ``off`` (pixels outside it).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from lapping.photo.outline_classes import CLASSES, Classes, class_of
from lapping.photo.outline_lines import inside
from lapping.photo.outline_picture import Colours, Picture, colours_of
from lapping.photo.outline_pose import seen_at
from lapping.photo.sampling import blurred, highest_near, values_at

Array = NDArray[np.float64]

STATIONS, GROUP = 128, 4
"""Lines are slid over the means of so many stations, and set on all of them."""
STEP_MM, MEAN_MM, GAP_MM, BENCH_MM = 0.16, 0.6, 0.2, 1.0
COLOURED = 1.5
LEAST_SCALE = 6.0
BESIDE_PEAK = 0.75
TILT, TILT_STEP = 0.3, 2
BENCH_WEIGHT, LEAST_EDGE, KEEP = 0.4, 0.12, 4
LEAST_STATIONS = 10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strips:
    """The edges beside the four sides of a quad (4, 2).

    ``edge`` (4, stations, offs) is in steps of grey, ``within`` says what of it is in
    the picture; ``off`` (4, offs) differs from side to side, ``at`` does not.
    """

    quad: Array
    ways: Array
    outs: Array
    at: Array
    off: Array
    edge: Colours
    within: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Peaks:
    """Lines on which an edge lies: offsets at both ends in pixels, and what for them.

    ``edge`` is how much of the way an edge is seen (0 to 1), ``bench`` how much more
    the outside looks like what lies round the face than the inside does.
    """

    offs: Array
    edge: Array
    bench: Array


def bench_likeness(corners: Array, colour: Classes, ratio: float) -> Array:
    """Say of each colour class how far it belongs round the quad and not in it.

    ``corners`` (4, 2) are in pixels of the small picture that was sorted into classes.
    """
    near = np.linspace(0.08, 0.45, 8)
    long = np.linspace(-0.45 / ratio, 1 + 0.45 / ratio, 60)
    wide = np.linspace(0, 1, 14)
    grids = [
        np.meshgrid(across, along)
        for across, along in (
            (np.linspace(0.08, 0.92, 14), np.linspace(0.02, 0.98, 60)),
            (np.concatenate([-near, 1 + near]), long),
            (wide, np.concatenate([-near, ratio + near]) / ratio),
        )
    ]
    across, along = (np.concatenate([g[k].ravel() for g in grids]) for k in (0, 1))
    ring = (np.arange(len(across)) >= grids[0][0].size).astype(np.intp)
    x, y = seen_at(corners[None], across, along)
    count = colour.counts(x, y, ring, 2)[0]
    within, around = (count + 1) / (count.sum(axis=1, keepdims=True) + CLASSES)
    result: Array = around / (around + within)
    return result


def strips_beside(
    picture: Picture, quad: Array, px_per_mm: Array, reach_mm: Array
) -> tuple[Strips, Colours]:
    """Straighten the picture beside each side of a quad (4, 2) going round as seen.

    ``px_per_mm`` (4) is across each side, ``reach_mm`` (4) how far beside it to look.
    Gives the colours too: all strips, one under the other.
    """
    ways = np.roll(quad, -1, axis=0) - quad
    units = ways / np.linalg.norm(ways, axis=1)[:, None]
    outs = np.stack([units[:, 1], -units[:, 0]], axis=1)
    finest = np.maximum(1.0, STEP_MM * px_per_mm)
    reach = reach_mm * px_per_mm
    half = int(np.ceil((reach / finest).max()))
    off = reach[:, None] * np.arange(-half, half + 1) / half
    at = (np.arange(STATIONS) + 0.5) / STATIONS
    places = (
        quad[:, None, None]
        + at[:, None, None] * ways[:, None, None]
        + off[:, None, :, None] * outs[:, None, None]
    )
    within = inside(places, (picture.shape[0], picture.shape[1]), rim=0.0)
    colours = colours_of(values_at(picture, places.reshape(-1, 2 * half + 1, 2)))
    many = max(1, round(MEAN_MM * half / float(reach_mm.mean())))
    edge = _edges(colours, many).reshape(within.shape)
    edge[~within] = 0
    strips = Strips(
        quad=quad, ways=ways, outs=outs, at=at, off=off, edge=edge, within=within
    )
    return strips, colours


def look_along(
    picture: Picture,
    quad: Array,
    px_per_mm: Array,
    reach_mm: Array,
    bench: Array,
    colour: Classes,
) -> tuple[Strips, list[Peaks]]:
    """Find the edges beside each side; ``bench`` says how like it each class is."""
    strips, colours = strips_beside(picture, quad, px_per_mm, reach_mm)
    likes = bench.astype(np.float32)[class_of(colours[GROUP // 2 :: GROUP], colour)]
    likes = likes.reshape(4, -1, likes.shape[1])
    per_mm = strips.off.shape[1] / (2 * reach_mm)
    return strips, [
        _peaks(strips, side, likes[side], float(per_mm[side])) for side in range(4)
    ]


def _edges(colours: Colours, many: int) -> Colours:
    """Give the step between the means of so many samples on either side."""
    weighed = colours * np.array([1.0, COLOURED, COLOURED], np.float32)
    kernel = np.repeat(np.array([-1, 0, 1], np.float32) / many, [many, 1, many])
    steps = np.asarray(cv2.filter2D(weighed, -1, kernel[None]), np.float32)
    edge: Colours = np.sqrt(np.einsum("ijk,ijk->ij", steps, steps))
    edge[:, :many] = edge[:, -many:] = 0
    return edge


def _peaks(strips: Strips, side: int, likes: Colours, samples_per_mm: float) -> Peaks:
    """Slide and tilt a line over a strip; give the best ones that differ."""
    none = Peaks(offs=np.zeros((1, 2)), edge=np.zeros(1), bench=np.zeros(1))
    edge, off = strips.edge[side], strips.off[side]
    wide = len(off)
    known = strips.within[side].all(axis=1).reshape(-1, GROUP).all(axis=1)
    if GROUP * known.sum() < LEAST_STATIONS:
        return none
    groups = edge.reshape(-1, GROUP * wide)[known].reshape(-1, wide)
    scale = max(2 * float(np.median(groups)), LEAST_SCALE)
    clear = np.minimum(edge / scale, 1)
    beside = np.maximum(np.roll(edge, 1, axis=1), np.roll(edge, -1, axis=1))
    clear[edge < 0.999 * beside] *= BESIDE_PEAK
    clear = clear.reshape(-1, GROUP, wide).mean(axis=1)[known]
    more = _more_outside(likes[known], samples_per_mm)
    rim = max(1, round(MEAN_MM * samples_per_mm))
    for one in (clear, more):
        one[:, :rim] = one[:, -rim:] = 0
    most = int(TILT * wide)
    tilts = np.arange(-most, most + 1, TILT_STEP)
    middles = strips.at.reshape(-1, GROUP).mean(axis=1)[known] - 0.5
    ahead = np.rint(middles * tilts[:, None]).astype(np.intp)

    def slid(values: Colours) -> Colours:
        pad = most // 2 + 1
        runs = sliding_window_view(np.pad(values, ((0, 0), (pad, pad))), wide, axis=1)
        found: Colours = runs[np.arange(len(values)), pad + ahead].mean(axis=1)
        return found

    seen, outside = slid(clear), slid(more)
    both = blurred(seen + np.float32(BENCH_WEIGHT) * outside, 0.6, (3, 3))
    peak = highest_near(both, 5, 5)
    rows, columns = np.nonzero((both >= peak) & (seen > LEAST_EDGE))
    if len(rows) == 0:
        return none
    best = np.argsort(-both[rows, columns])[:KEEP]
    rows, columns = rows[best], columns[best]
    tilt_px = tilts[rows] * (off[1] - off[0]) / 2
    return Peaks(
        offs=np.stack([off[columns] - tilt_px, off[columns] + tilt_px], axis=1),
        edge=seen[rows, columns].astype(np.float64),
        bench=outside[rows, columns].astype(np.float64),
    )


def _more_outside(bench: Colours, samples_per_mm: float) -> Colours:
    """Say how much more the millimetre outside each place is like the bench."""
    many = max(1, round(BENCH_MM * samples_per_mm))
    gap = round(GAP_MM * samples_per_mm)
    kernel = np.repeat(
        np.array([-1, 0, 1], np.float32) / many, [many, 2 * gap + 1, many]
    )
    return np.asarray(
        cv2.filter2D(bench, -1, kernel[None], borderType=cv2.BORDER_REPLICATE),
        np.float32,
    )
