"""Look along one side of a quad in the full picture: where its edge could lie.

A strip is the picture beside a side, straightened: a row for each of ``at`` (shares of
the way along the side), a column for each of ``off`` (pixels outside it).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_classes import CLASSES, Classes, class_of
from lapping.photo.outline_lines import inside
from lapping.photo.outline_picture import Colours, Picture, colours_of
from lapping.photo.sampling import blurred, highest_near, values_at

Array = NDArray[np.float64]

STATIONS = 128
STEP_MM, MEAN_MM, GAP_MM, BENCH_MM = 0.16, 0.6, 0.2, 1.0
COLOURED = 1.5
LEAST_SCALE = 6.0
BESIDE_PEAK = 0.75
TILT = 0.3
BENCH_WEIGHT, LEAST_EDGE, KEEP = 0.4, 0.12, 4
LEAST_STATIONS = 10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strip:
    """The edges beside one side: ``edge`` (stations, offs) in steps of grey."""

    start: Array
    stop: Array
    out: Array
    at: Array
    off: Array
    edge: Array
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
    unit = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], np.float32)
    to_picture = cv2.getPerspectiveTransform(unit, corners.astype(np.float32))

    def counts(across: Array, along: Array) -> Array:
        grid = np.stack(np.meshgrid(across, along), axis=-1).reshape(1, -1, 2)
        places = np.asarray(cv2.perspectiveTransform(grid, to_picture), np.float64)
        counted: Array = colour.counts(places)[0]
        return counted

    whole = counts(np.linspace(0.08, 0.92, 14), np.linspace(0.02, 0.98, 60))
    near = np.linspace(0.08, 0.45, 8)
    long = np.linspace(-0.45 / ratio, 1 + 0.45 / ratio, 60)
    wide = np.linspace(0, 1, 14)
    ring = counts(-near, long) + counts(1 + near, long)
    ring += counts(wide, -near / ratio) + counts(wide, 1 + near / ratio)
    within = (whole + 1) / (whole.sum() + CLASSES)
    around = (ring + 1) / (ring.sum() + CLASSES)
    result: Array = around / (around + within)
    return result


def look_along(
    picture: Picture,
    side: Array,
    px_per_mm: float,
    half_mm: float,
    bench: Array,
    colour: Classes,
) -> tuple[Strip, Peaks]:
    """Find the edges beside a side (2, 2); ``px_per_mm`` is across it."""
    way = side[1] - side[0]
    unit = way / np.linalg.norm(way)
    out = np.array([unit[1], -unit[0]])
    step = max(1.0, STEP_MM * px_per_mm)
    reach = half_mm * px_per_mm
    off = np.arange(-reach, reach + step / 2, step)
    at = (np.arange(STATIONS) + 0.5) / STATIONS
    places = side[0] + at[:, None, None] * way + off[None, :, None] * out
    within = inside(places, (picture.shape[0], picture.shape[1]), rim=0.0)
    colours = colours_of(values_at(picture, places))
    edge = _edges(colours, max(1, round(MEAN_MM * px_per_mm / step)))
    edge[~within] = 0
    strip = Strip(
        start=side[0], stop=side[1], out=out, at=at, off=off, edge=edge, within=within
    )
    return strip, _peaks(strip, bench[class_of(colours, colour)], px_per_mm / step)


def _edges(colours: Colours, many: int) -> Array:
    """Give the step between the means of so many samples on either side."""
    weighed = colours * np.array([1.0, COLOURED, COLOURED], np.float32)
    total = np.cumsum(weighed, axis=1, dtype=np.float64)
    total = np.concatenate([np.zeros_like(total[:, :1]), total], axis=1)
    edge = np.zeros(colours.shape[:2])
    here = np.arange(many, colours.shape[1] - many)
    before = (total[:, here] - total[:, here - many]) / many
    behind = (total[:, here + 1 + many] - total[:, here + 1]) / many
    edge[:, here] = np.linalg.norm(behind - before, axis=2)
    return edge


def _peaks(strip: Strip, bench: Array, samples_per_mm: float) -> Peaks:
    """Slide and tilt a line over the strip; give the best ones that differ."""
    none = Peaks(offs=np.zeros((1, 2)), edge=np.zeros(1), bench=np.zeros(1))
    known = strip.within.all(axis=1)
    if known.sum() < LEAST_STATIONS:
        return none
    edge, off = strip.edge, strip.off
    scale = max(2 * float(np.median(edge[known])), LEAST_SCALE)
    beside = np.maximum(np.roll(edge, 1, axis=1), np.roll(edge, -1, axis=1))
    top = np.where(edge >= 0.999 * beside, 1.0, BESIDE_PEAK)
    clear = np.clip(edge / scale, 0, 1) * top
    more = _more_outside(bench, samples_per_mm)
    wide = len(off)
    most = int(TILT * wide)
    tilts = np.arange(-most, most + 1)
    seen, likes = np.zeros((len(tilts), wide)), np.zeros((len(tilts), wide))
    rim = max(1, round(MEAN_MM * samples_per_mm))
    for row, tilt in enumerate(tilts):
        ahead = np.rint((strip.at - 0.5) * tilt).astype(int)[known]
        at = np.arange(wide)[None, :] + ahead[:, None]
        sound = (at >= rim) & (at < wide - rim)
        at = at.clip(0, wide - 1)
        seen[row] = (np.take_along_axis(clear[known], at, 1) * sound).mean(axis=0)
        likes[row] = (np.take_along_axis(more[known], at, 1) * sound).mean(axis=0)
    both = (seen + BENCH_WEIGHT * likes).astype(np.float32)
    both = blurred(both, 0.6, (3, 3))
    peak = highest_near(both, 7, 5)
    rows, columns = np.nonzero((both >= peak) & (seen > LEAST_EDGE))
    if len(rows) == 0:
        return none
    best = np.argsort(-both[rows, columns])[:KEEP]
    rows, columns = rows[best], columns[best]
    tilt_px = tilts[rows] * (off[1] - off[0]) / 2
    return Peaks(
        offs=np.stack([off[columns] - tilt_px, off[columns] + tilt_px], axis=1),
        edge=seen[rows, columns],
        bench=likes[rows, columns],
    )


def _more_outside(bench: Array, samples_per_mm: float) -> Array:
    """Say how much more the millimetre outside each place is like the bench."""
    wide = bench.shape[1]
    total = np.concatenate(
        [np.zeros((len(bench), 1)), np.cumsum(bench, axis=1)], axis=1
    )
    many = max(1, round(BENCH_MM * samples_per_mm))
    gap = round(GAP_MM * samples_per_mm)
    here = np.arange(wide)

    def mean(low: NDArray[np.intp], high: NDArray[np.intp]) -> Array:
        low = low.clip(0, wide - 1)
        high = np.maximum(high.clip(0, wide), low + 1)
        result: Array = (total[:, high] - total[:, low]) / (high - low)
        return result

    return mean(here + gap + 1, here + gap + 1 + many) - mean(
        here - gap - many, here - gap
    )
