"""Pairs of lines that could be the two long sides of a face."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_classes import Classes, unlike
from lapping.photo.outline_lines import (
    ALONG_PX,
    along_lines,
    middle_of,
    normals_of,
    ways_of,
)
from lapping.photo.outline_picture import Edges

Array = NDArray[np.float64]
Whole = NDArray[np.intp]

LEAST_SHARE, MOST_SHARE = 0.15, 1.35
"""How far apart the sides may be, over what a face as long as the picture has."""
MOST_ANGLE = np.radians(16)
REGION = 0.45
INNER, BESIDE = (0.1, 0.3, 0.5, 0.7, 0.9), (-0.1, -0.22, -0.34)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bands:
    """Bands between two sides (n), told from the middle of the picture.

    ``feet`` (n, 2, 2) are where the line across the band through the middle of the
    picture meets both sides, ``ways`` (n, 2, 2) the sides' directions, which agree;
    ``wide`` (n) how far apart the feet are, in pixels.
    """

    feet: Array
    ways: Array
    wide: Array


def find_sides(
    lines: Array,
    edges: Edges,
    colour: Classes,
    shape: tuple[int, int],
    ratio: float,
    keep: tuple[int, int],
) -> Bands:
    """Find the pairs with most edge along both and with a band unlike its sides.

    ``keep`` is how many pairs are kept by their edges, and of these by their bands.
    """
    along, places, within = along_lines(lines, shape)
    normals = normals_of(lines)[:, None]
    clear = np.zeros(places.shape[:2])
    for off in (-1, 0, 1):
        seen = edges.across(places + off * normals, normals) * (1 - 0.06 * abs(off))
        clear = np.maximum(clear, seen)
    clear = clear * within
    total = np.concatenate(
        [np.zeros((len(lines), 1)), np.cumsum(clear, axis=1)], axis=1
    )
    one, other, turned, apart = _pairs(lines, max(shape), ratio)
    long = np.clip(0.85 * ratio * apart, 0.25 * max(shape), max(shape))
    share, start = _best_run(total, one, other, turned, long)
    value = share * np.sqrt(long / max(shape))
    best = np.argsort(-value)[: keep[0]]
    one, other, turned, value = one[best], other[best], turned[best], value[best]
    run = along[0] + start[best] * ALONG_PX, long[best]
    value = value + REGION * _band_apart(lines, one, other, turned, run, colour, shape)
    best = np.argsort(-value)[: keep[1]]
    return _bands(lines, one[best], other[best])


def _pairs(
    lines: Array, longer: int, ratio: float
) -> tuple[Whole, Whole, Array, Array]:
    """Give the pairs that run nearly alike and are about as far apart as said."""
    one, other = np.triu_indices(len(lines), 1)
    between = lines[one, 0] - lines[other, 0]
    angle = np.abs((between + np.pi / 2) % np.pi - np.pi / 2)
    turned = np.where(np.cos(between) < 0, -1.0, 1.0)
    apart = np.abs(lines[one, 1] - turned * lines[other, 1])
    face = longer / ratio
    can = (
        (angle < MOST_ANGLE)
        & (apart > LEAST_SHARE * face)
        & (apart < MOST_SHARE * face)
    )
    return one[can], other[can], turned[can], apart[can]


def _best_run(
    total: Array, one: Whole, other: Whole, turned: Array, long: Array
) -> tuple[Array, Whole]:
    """Give the greatest share of edge along so long a run, and where it begins."""
    steps = total.shape[1] - 1
    run = np.rint(long / ALONG_PX).astype(np.intp)
    share, start = np.zeros(len(one)), np.zeros(len(one), np.intp)
    backwards = total[:, -1:] - total[:, ::-1]
    for first in range(0, len(one), 256):
        now = slice(first, first + 256)
        a = total[one[now]]
        b = np.where(turned[now, None] < 0, backwards[other[now]], total[other[now]])
        stop = np.minimum(np.arange(steps + 1) + run[now, None], steps)
        here = np.take_along_axis(a, stop, 1) - a
        there = np.take_along_axis(b, stop, 1) - b
        both = (here + there + 2 * np.minimum(here, there)) / (4 * run[now, None])
        share[now], start[now] = both.max(axis=1), both.argmax(axis=1)
    return share, start


def _band_apart(
    lines: Array,
    one: Whole,
    other: Whole,
    turned: Array,
    run: tuple[Array, Array],
    colour: Classes,
    shape: tuple[int, int],
) -> Array:
    """Say how unlike the band is to the strips beside it, the worse side twice."""
    normals, ways = normals_of(lines), ways_of(lines)
    begin, long = run
    at = begin[:, None] + long[:, None] * np.linspace(0.03, 0.97, 28)

    def side(line: Whole, way: Array) -> Array:
        foot = normals[line] * lines[line, 1:2] + middle_of(shape)
        return foot[:, None] + at[..., None] * way[:, None]

    a, b = side(one, ways[one]), side(other, ways[other] * turned[:, None])

    def counts(shares: tuple[float, ...]) -> Array:
        part = np.array(shares)[None, None, :, None]
        places = a[:, :, None] * (1 - part) + b[:, :, None] * part
        all_one = np.zeros(places.shape[1] * places.shape[2], np.intp)
        x, y = places.reshape(len(places), all_one.size, 2).transpose(2, 0, 1)
        return colour.counts(x, y, all_one, 1)[:, 0]

    band = counts(INNER)
    near = unlike(band, counts(BESIDE), 0.25)
    far = unlike(band, counts(tuple(1 - share for share in BESIDE)), 0.25)
    return 0.25 * (near + far) + 0.5 * np.minimum(near, far)


def _bands(lines: Array, one: Whole, other: Whole) -> Bands:
    normals, ways = normals_of(lines), ways_of(lines)
    a, b = ways[one], ways[other]
    b = b * np.sign((a * b).sum(axis=1))[:, None]
    mean = a + b
    mean /= np.linalg.norm(mean, axis=1)[:, None]

    def foot(line: Whole, way: Array) -> Array:
        start = normals[line] * lines[line, 1:2]
        back = (start * mean).sum(axis=1) / (way * mean).sum(axis=1)
        result: Array = start - way * back[:, None]
        return result

    feet = np.stack([foot(one, a), foot(other, b)], axis=1)
    return Bands(
        feet=feet,
        ways=np.stack([a, b], axis=1),
        wide=np.linalg.norm(feet[:, 0] - feet[:, 1], axis=1),
    )
