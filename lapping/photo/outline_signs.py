"""What speaks for a quad being the face: edges along it, and colours in and out.

Each sign is a number per quad; `score` weighs them. The weights were fitted on drawn
photos (the share of photos whose best quad is the face), and no sign is a condition.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_classes import Classes, unlike
from lapping.photo.outline_lines import inside, middle_of
from lapping.photo.outline_picture import Edges
from lapping.photo.outline_pose import seen_at
from lapping.photo.outline_quads import Quads

Array = NDArray[np.float64]
Range = tuple[float, float]

SIDES, ENDS = [1, 3], [0, 2]
OFFS = (-2, -1, 0, 1, 2)
RUNS = {"ends": (-0.5, -0.05, 1.05, 1.5), "sides": (-0.12, -0.02, 1.02, 1.12)}
"""Beyond its corners a true side does not run on; where to look, over its length."""
BESIDE, ALONG = 14, 32
MARGIN, NARROW, WIDE = 0.02, 0.16, 0.3
"""Strips beside an edge: how far off it, and how wide, over the face's width."""
UNKNOWN = 0.3

WEIGHTS = {
    "edge on the sides": 3.40,
    "least edge on the sides": 1.60,
    "edge on the ends": 3.32,
    "least edge on the ends": 2.44,
    "colour step on the sides": 2.02,
    "least colour step on the sides": 1.49,
    "colour step on the ends": 3.68,
    "least colour step on the ends": 3.50,
    "wide step on the sides": 2.18,
    "least wide step on the sides": 1.59,
    "wide step on the ends": 1.61,
    "least wide step on the ends": 1.08,
    "change outside": 12.77,
    "outside unlike the whole": 2.18,
    "least outside unlike the whole": 3.36,
    "ring unlike the whole": 1.79,
    "pose": -0.74,
    "sides run on": -6.26,
    "ends run on": -3.02,
    "in the picture": 4.57,
    "least in the picture": 1.04,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """A photo as it is looked at: edges and classes, working shape and scale."""

    edges: Edges
    colour: Classes
    shape: tuple[int, int]
    scale: float


def signs(quads: Quads, seen: Seen, ratio: float) -> dict[str, Array]:
    """Give every sign (n) for every quad."""
    corners = quads.corners + middle_of(seen.shape)
    edge, runs_on, share = _edge(corners, seen)
    near, far = (MARGIN, NARROW), (NARROW, 2 * NARROW)
    strips = ((-NARROW, -MARGIN), near, far)
    counts = _counts(corners, seen.colour, ratio, strips, around=2 * NARROW)
    inner, outer, beyond = counts[:, :4], counts[:, 4:8], counts[:, 8:12]
    whole, ring = counts[:, 12:13], counts[:, 13:]
    against = unlike(outer, whole, UNKNOWN)
    sides = ((-WIDE, 0.0), (0.0, WIDE))
    wider = _counts(corners, seen.colour, ratio, sides)
    found: dict[str, Array] = {}
    for name, by_side in (
        ("edge", edge),
        ("colour step", unlike(inner, outer, UNKNOWN)),
        ("wide step", unlike(wider[:, :4], wider[:, 4:], UNKNOWN)),
    ):
        for part, which in (("sides", SIDES), ("ends", ENDS)):
            found[f"{name} on the {part}"] = by_side[:, which].mean(axis=1)
            found[f"least {name} on the {part}"] = by_side[:, which].min(axis=1)
    found["change outside"] = unlike(outer, beyond, UNKNOWN).mean(axis=1)
    found["outside unlike the whole"] = against.mean(axis=1)
    found["least outside unlike the whole"] = against.min(axis=1)
    found["ring unlike the whole"] = unlike(whole, ring, UNKNOWN)[:, 0]
    found["pose"] = np.sqrt(quads.cost)
    found["sides run on"] = runs_on[:, SIDES].mean(axis=1)
    found["ends run on"] = runs_on[:, ENDS].mean(axis=1)
    found["in the picture"] = share.mean(axis=1)
    found["least in the picture"] = share.min(axis=1)
    return found


def score(found: dict[str, Array]) -> Array:
    """Weigh the signs to one number per quad."""
    total: Array = np.sum([WEIGHTS[name] * found[name] for name in WEIGHTS], axis=0)
    return total


def _edge(corners: Array, seen: Seen) -> tuple[Array, Array, Array]:
    """Give how much edge there is along each side (n, 4), how much beyond its corners,
    and the share of it that is in view.
    """
    way = np.roll(corners, -1, axis=1) - corners
    unit = way / np.linalg.norm(way, axis=2, keepdims=True)
    normal = np.stack([unit[..., 1], -unit[..., 0]], axis=2)[:, :, None]
    along = np.linspace(0.03, 0.97, ALONG)
    at = np.stack(
        [
            np.concatenate(
                [np.linspace(a, b, BESIDE), along, np.linspace(c, d, BESIDE)]
            )
            for a, b, c, d in (RUNS["ends"], RUNS["sides"]) * 2
        ]
    )
    places = corners[:, :, None] + at[..., None] * way[:, :, None]
    within = inside(places, seen.shape)
    flat = (len(corners), -1, 2)
    normals = np.broadcast_to(normal, places.shape).reshape(flat)
    clear = np.zeros((len(corners), within[0].size), np.float32)
    for off in OFFS:
        here = seen.edges.across((places + off * normal).reshape(flat), normals)
        clear = np.maximum(clear, here * np.float32(1 - 0.05 * abs(off)))
    clear = clear.reshape(within.shape) * within

    def mean(part: slice) -> tuple[Array, Array]:
        count = within[..., part].sum(axis=2)
        return clear[..., part].sum(axis=2) / np.maximum(count, 1), count

    edge, count = mean(slice(BESIDE, -BESIDE))
    before, after = mean(slice(BESIDE))[0], mean(slice(-BESIDE, None))[0]
    return edge, (before + after) / 2, count / ALONG


def _counts(
    corners: Array,
    classes: Classes,
    ratio: float,
    strips: tuple[Range, ...],
    around: float | None = None,
) -> Array:
    """Count the classes (n, parts, CLASSES) in strips beside each of the four sides.

    A strip goes from so far to so far outside a side, in shares of the width. With
    ``around`` the whole face is the last part but one, and a ring so wide the last.
    """
    across, along, part = _places(ratio, strips, around)
    x, y = seen_at(corners, across, along)
    return classes.counts(x, y, part, int(part.max()) + 1)


@lru_cache(maxsize=8)
def _places(
    ratio: float, strips: tuple[Range, ...], around: float | None
) -> tuple[Array, Array, NDArray[np.intp]]:
    """Give where on the face to count, across and along, and for which part."""
    rectangles = [
        (4 * number + side, *_strip(side, low, high, ratio))
        for number, (low, high) in enumerate(strips)
        for side in range(4)
    ]
    if around is not None:
        long, whole = around / ratio, 4 * len(strips)
        rectangles.append((whole, (0.0, 1.0), (0.0, 1.0), (12, 40)))
        for across in ((-around, 0.0), (1.0, 1 + around)):
            rectangles.append((whole + 1, across, (-long, 1 + long), (4, 36)))
        for along in ((-long, 0.0), (1.0, 1 + long)):
            rectangles.append((whole + 1, (0.0, 1.0), along, (14, 4)))
    u, v, part = [], [], []
    for number, across, along, many in rectangles:
        grid = np.meshgrid(_middles(*across, many[0]), _middles(*along, many[1]))
        u.append(grid[0].ravel())
        v.append(grid[1].ravel())
        part.append(np.full(grid[0].size, number, np.intp))
    return np.concatenate(u), np.concatenate(v), np.concatenate(part)


def _strip(
    side: int, low: float, high: float, ratio: float
) -> tuple[Range, Range, tuple[int, int]]:
    """Give the rectangle of a strip, across and along, and how often to look in it."""
    if side in SIDES:
        across = (1 + low, 1 + high) if side == 1 else (-high, -low)
        return across, (0.0, 1.0), (4, 36)
    low, high = low / ratio, high / ratio
    return (0.0, 1.0), (-high, -low) if side == 0 else (1 + low, 1 + high), (14, 4)


def _middles(low: float, high: float, many: int) -> Array:
    middles: Array = low + (np.arange(many) + 0.5) / many * (high - low)
    return middles
