"""Choose among the edges beside the four sides of a quad those that make the face."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_classes import Classes
from lapping.photo.outline_lines import middle_of
from lapping.photo.outline_picture import Picture
from lapping.photo.outline_pose import pose_fit
from lapping.photo.outline_strips import Peaks, Strips, bench_likeness, look_along

Array = NDArray[np.float64]

HALF_MM, HALF_SHARE, END_MM = 7.0, 0.14, 1.0
"""How far beside a side to look: at most, over the width, and more for the ends."""
MOST_COST = 60.0
SIDES, ENDS = [1, 3], [0, 2]

WEIGHTS = {
    "edge on the sides": 9.14,
    "least edge on the sides": 6.53,
    "edge on the ends": 10.00,
    "least edge on the ends": 4.61,
    "bench on the sides": 2.27,
    "least bench on the sides": 1.33,
    "bench on the ends": 5.00,
    "least bench on the ends": 2.89,
    "pose": -2.17,
    "behind": -0.37,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """A quad with the edges chosen for it: ``corners`` (4, 2) in pixels of the photo.

    ``px_per_mm`` (4) is across each side and ``usual`` (4) how strong edges beside it
    are as a rule; ``score`` compares choices of one photo.
    """

    corners: Array
    px_per_mm: Array
    usual: Array
    score: float


def choose_edges(
    picture: Picture,
    quad: Array,
    behind: float,
    colour: Classes,
    scale: float,
    length_mm: float,
    width_mm: float,
) -> Choice:
    """Look beside the four sides of a quad (4, 2) and choose the edges.

    ``behind`` is how far the quad's own score is below that of the best; ``scale`` is
    the small picture's size over the photo's.
    """
    way = np.roll(quad, -1, axis=0) - quad
    per_mm = np.linalg.norm(way, axis=1) / [width_mm, length_mm, width_mm, length_mm]
    along, across = per_mm[SIDES].mean(), per_mm[ENDS].mean()
    normal = np.array([along, across, along, across])
    ratio = length_mm / width_mm
    bench = bench_likeness((quad + 0.5) * scale - 0.5, colour, ratio)
    reach_mm = np.full(4, min(HALF_MM, HALF_SHARE * width_mm))
    reach_mm[ENDS] += END_MM
    strips, peaks = look_along(picture, quad, normal, reach_mm, bench, colour)
    which = np.stack(
        [n.ravel() for n in np.indices([len(peak.edge) for peak in peaks])], axis=1
    )
    corners = _corners(strips, peaks, which)
    shape = picture.shape[0], picture.shape[1]
    fit = pose_fit(corners - middle_of(shape), ratio, max(shape))
    found = signs(peaks, which, fit.cost, behind)
    value = score(found)
    best = int(value.argmax())
    return Choice(
        corners=corners[best],
        px_per_mm=normal,
        usual=np.median(strips.edge.reshape(4, -1), axis=1),
        score=float(value[best]),
    )


def signs(
    peaks: list[Peaks], which: NDArray[np.intp], cost: Array, behind: float
) -> dict[str, Array]:
    """Give every sign for every combination of edges."""
    edge = np.stack([peak.edge[which[:, k]] for k, peak in enumerate(peaks)], axis=1)
    bench = np.stack([peak.bench[which[:, k]] for k, peak in enumerate(peaks)], axis=1)
    found: dict[str, Array] = {}
    for name, values in (("edge", edge), ("bench", bench)):
        for part, sides in (("sides", SIDES), ("ends", ENDS)):
            found[f"{name} on the {part}"] = values[:, sides].mean(axis=1)
            found[f"least {name} on the {part}"] = values[:, sides].min(axis=1)
    found["pose"] = np.sqrt(np.minimum(cost, MOST_COST))
    found["behind"] = np.full(len(which), behind)
    return found


def score(found: dict[str, Array]) -> Array:
    """Weigh the signs to one number per combination."""
    total: Array = np.sum([WEIGHTS[name] * found[name] for name in WEIGHTS], axis=0)
    return total


def crossing(one: Array, one_way: Array, other: Array, other_way: Array) -> Array:
    """Say where lines through places (..., 2) along ways (..., 2) cross."""
    turn = one_way[..., 0] * other_way[..., 1] - one_way[..., 1] * other_way[..., 0]
    gap = other - one
    share = (gap[..., 0] * other_way[..., 1] - gap[..., 1] * other_way[..., 0]) / turn
    result: Array = one + share[..., None] * one_way
    return result


def _corners(strips: Strips, peaks: list[Peaks], which: NDArray[np.intp]) -> Array:
    offs = np.stack([peak.offs[which[:, k]] for k, peak in enumerate(peaks)], axis=1)
    start = strips.quad + strips.outs * offs[..., :1]
    way = strips.ways + strips.outs * (offs[..., 1:] - offs[..., :1])
    return crossing(np.roll(start, 1, axis=1), np.roll(way, 1, axis=1), start, way)
