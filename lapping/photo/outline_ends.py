"""Where a band between two sides could end, and the quads that two ends make.

Along a band, ``along`` counts pixels from the feet of `Bands`, and ``lean`` is how far
the end runs ahead from one side to the other, over the band's width.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_classes import CLASSES, Classes
from lapping.photo.outline_lines import inside, middle_of
from lapping.photo.outline_picture import Colours, Edges
from lapping.photo.outline_sides import Bands
from lapping.photo.sampling import blurred, highest_near

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

ROWS, ALONG_PX = 10, 2.0
ACROSS = 0.04 + 0.92 * (np.arange(ROWS) + 0.5) / ROWS
MOST_LEAN = 0.56
STEP_WEIGHT, STEP_WIDE = 0.8, 0.45
LEAST, KEEP = 0.12, 22
HALF_SEEN = 0.4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ends:
    """Ends found in bands: which band, where, how leaning, how clear (n each).

    ``maps`` (bands, leans, places) is how clear an end would be anywhere; ``places``
    are its distances along, and ``leans`` its leans.
    """

    band: NDArray[np.intp]
    along: Array
    lean: Array
    clear: Array
    maps: Colours
    places: Array
    leans: Array


def find_ends(
    bands: Bands,
    edges: Edges,
    colour: Classes,
    shape: tuple[int, int],
    many: int,
) -> Ends:
    """Find lines across each band where edges run along them and the colours change.

    ``many`` is at how many leans to look.
    """
    leans = np.linspace(-MOST_LEAN, MOST_LEAN, many)
    reach = float(np.hypot(*shape)) / 2
    along = np.arange(-reach, reach + ALONG_PX, ALONG_PX)
    sides = bands.feet[:, :, None] + along[None, None, :, None] * bands.ways[:, :, None]
    part = ACROSS[None, None, :, None]
    places = sides[:, 0, :, None] * (1 - part) + sides[:, 1, :, None] * part
    places = places + middle_of(shape)
    within = inside(places, shape)
    maps = _edge_maps(bands, leans, places, within, edges)
    maps += STEP_WEIGHT * _colour_steps(bands, places, within, colour)[:, None]
    found = [_peaks(m) for m in maps]
    return Ends(
        band=np.repeat(np.arange(len(found)), [len(f[0]) for f in found]),
        lean=leans[np.concatenate([f[0] for f in found])],
        along=along[np.concatenate([f[1] for f in found])],
        clear=np.concatenate([f[2] for f in found]),
        maps=np.stack([f[3] for f in found]),
        places=along,
        leans=leans,
    )


def _edge_maps(
    bands: Bands, leans: Array, places: Array, within: Mask, edges: Edges
) -> Array:
    """Say how much edge there is along each place and lean (bands, leans, places)."""
    many, long, rows = within.shape
    across = bands.feet[:, 1] - bands.feet[:, 0]
    mean = bands.ways.sum(axis=1)
    mean /= np.linalg.norm(mean, axis=1)[:, None]
    way = across[:, None] + leans[:, None] * (bands.wide[:, None] * mean)[:, None]
    way /= np.linalg.norm(way, axis=2, keepdims=True)
    normals = np.stack([-way[..., 1], way[..., 0]], axis=2)[:, :, None, None]
    slopes = edges.slopes_at(places.reshape(many, -1, 2))
    clear = edges.clear(slopes.reshape(many, 1, long, rows, 3), normals)
    clear = clear * within[:, None]
    near = np.float32(0.9) * clear
    np.maximum(clear[:, :, 1:], near[:, :, :-1], out=clear[:, :, 1:])
    np.maximum(clear[:, :, :-1], near[:, :, 1:], out=clear[:, :, :-1])
    # Each row of a leaning end is looked up where the end meets it.
    ahead = leans[:, None] * (ACROSS - 0.5) * bands.wide[:, None, None] / ALONG_PX
    at = np.arange(long)[:, None] + np.rint(ahead).astype(np.intp)[:, :, None]
    at = at.clip(0, long - 1) * rows + np.arange(rows)
    total = np.take_along_axis(
        clear.reshape(many, len(leans), -1), at.reshape(many, len(leans), -1), 2
    )
    known = np.take_along_axis(within.reshape(many, 1, -1), at.reshape(many, 1, -1), 2)
    total = total.reshape(clear.shape).sum(axis=3)
    seen_rows = known.reshape(clear.shape).sum(axis=3)
    share = total / np.maximum(seen_rows, 1) * np.sqrt(seen_rows / rows)
    maps: Array = np.where(seen_rows >= HALF_SEEN * rows, share, 0)
    return maps


def _colour_steps(bands: Bands, places: Array, within: Mask, colour: Classes) -> Array:
    """Say how the colours before and behind each place differ (bands, places)."""
    labels = colour.at(places[..., 0], places[..., 1])
    many, long, rows = labels.shape
    total = np.zeros((many, long + 1, CLASSES))
    for one in range(CLASSES):
        total[:, 1:, one] = np.cumsum(((labels == one) & within).sum(axis=2), axis=1)
    steps = np.zeros((many, long))
    here = np.arange(long)
    for band in range(many):
        run = max(3, int(STEP_WIDE * bands.wide[band] / ALONG_PX))
        count = total[band]
        before = count[here] - count[np.maximum(here - run, 0)]
        behind = count[np.minimum(here + 1 + run, long)] - count[here + 1]
        many_a, many_b = before.sum(axis=1), behind.sum(axis=1)
        same = np.sqrt(before * behind).sum(axis=1) / np.sqrt(many_a * many_b + 1e-9)
        known = np.minimum(many_a, many_b) > run * rows * 0.25
        steps[band] = np.where(known, 1 - same, 0)
    return steps


def _peaks(clear: Array) -> tuple[NDArray[np.intp], NDArray[np.intp], Array, Colours]:
    smooth = blurred(clear.astype(np.float32), 0.6, (3, 3))
    peak = highest_near(smooth, 5, 5)
    leans, places = np.nonzero((smooth >= peak) & (smooth > LEAST))
    value = smooth[leans, places]
    best = np.argsort(-value)[:KEEP]
    return leans[best], places[best], value[best].astype(np.float64), smooth
