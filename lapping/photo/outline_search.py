"""Search a small copy of a photo for quads that could be the face."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.photo.outline_classes import (
    Classes,
    colour_classes,
    off_border,
)
from lapping.photo.outline_ends import find_ends
from lapping.photo.outline_lines import settle, vote
from lapping.photo.outline_picture import (
    BLUR,
    MAP_BLUR,
    Colours,
    Edges,
    Picture,
    colours_of,
    find_edges,
    shrink,
)
from lapping.photo.outline_quads import Quads, find_quads
from lapping.photo.outline_sides import find_sides
from lapping.photo.outline_signs import Seen, signs

Array = NDArray[np.float64]

FLOOR, MAP_FLOOR = 1.5, 0.5
MAP_STEPS = 40.0
"""A share of 0 to 1 in the map of colours, as steps of grey."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pains:
    """How finely to look, and how many lines, bands, leans and quads to follow.

    Lines come from edges and from borders of colours; bands are chosen by their edges,
    and fewer of these by their colours.
    """

    longer_px: int
    lines: tuple[int, int]
    bands: tuple[int, int]
    leans: int
    quads: int


QUICK = Pains(longer_px=250, lines=(24, 12), bands=(40, 4), leans=11, quads=18)
THOROUGH = Pains(longer_px=640, lines=(90, 50), bands=(150, 16), leans=17, quads=160)


def candidates(
    picture: Picture, ratio: float, pains: Pains
) -> tuple[Quads | None, Seen, dict[str, Array]]:
    """Give quads that could be the face, in the small picture, and their signs."""
    small, scale = shrink(picture, pains.longer_px)
    shape = small.shape[0], small.shape[1]
    colours = colours_of(small)
    colour = colour_classes(colours)
    edges, edgels = find_edges(colours, BLUR, 1.0, FLOOR)
    by_edges, by_colours = pains.lines
    lines = np.concatenate(
        [vote(edgels, shape, by_edges), _map_lines(colour, by_colours)]
    )
    seen = Seen(edges=edges, colour=colour, shape=shape, scale=scale)
    if len(lines) == 0:
        return None, seen, {}
    lines = settle(lines, edges, shape)
    bands = find_sides(lines, edges, colour, shape, ratio, pains.bands)
    if len(bands.wide) == 0:
        return None, seen, {}
    ends = find_ends(bands, edges, colour, shape, pains.leans)
    quads = find_quads(bands, ends, shape, ratio, pains.quads)
    return quads, seen, {} if quads is None else signs(quads, seen, ratio)


def _shape(colours: Colours) -> tuple[int, int]:
    return colours.shape[0], colours.shape[1]


def _enlarged(lines: Array, edges: Edges) -> Array:
    enlarged: Array = lines * np.array([1.0, 1 / edges.share])
    return enlarged


def _map_lines(classes: Classes, keep: int) -> Array:
    """Find the borders of what the rim of the picture does not show."""
    likely = off_border(classes) * np.float32(MAP_STEPS)
    edges, edgels = find_edges(likely, MAP_BLUR, classes.share, MAP_FLOOR)
    return _enlarged(vote(edgels, _shape(likely), keep), edges)
