"""The places that bore, as regions of small squares: where, how large, in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.face import Face
from lapping.places import corner_names, edge_names, end_names, place_words

LEAST_MM2 = 50.0
PLACES = 5
MOST = 0.6
"""A region of more than this share of the face is nearly all of it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactPlace:
    """One place that bore: its middle, its area, and in words where it is."""

    where: str
    along_mm: float
    across_mm: float
    area_mm2: float


def contact_places(face: Face, bears: NDArray[np.bool_]) -> tuple[ContactPlace, ...]:
    """Give the largest regions of (rows along, columns across) that bear."""
    rows, columns = bears.shape
    along = (np.arange(rows) + 0.5) * face.length_mm / rows
    across = (np.arange(columns) + 0.5) * face.width_mm / columns
    square = face.length_mm / rows * face.width_mm / columns
    found = []
    for region in _regions(bears):
        area = len(region) * square
        if area < LEAST_MM2:
            continue
        i, j = np.array(region).T
        # Of a ring the middle is no part: take the square nearest to it.
        off = np.hypot(along[i] - along[i].mean(), across[j] - across[j].mean())
        near = np.argmin(off)
        place = float(along[i[near]]), float(across[j[near]])
        found.append(
            ContactPlace(
                where=_words(face, set(region), bears.shape, place),
                along_mm=place[0],
                across_mm=place[1],
                area_mm2=area,
            )
        )
    return tuple(sorted(found, key=lambda p: -p.area_mm2)[:PLACES])


def _words(
    face: Face,
    region: set[tuple[int, int]],
    shape: tuple[int, ...],
    place: tuple[float, float],
) -> str:
    """Name a region by the corner, end or edge it takes in, or else by its middle."""
    last, right = shape[0] - 1, shape[1] - 1
    corners = ((0, 0), (0, right), (last, right), (last, 0))
    taken = [n for n, corner in enumerate(corners) if corner in region]
    if len(taken) == 1:
        return f"{corner_names(face)[taken[0]]} corner"
    first, other = end_names(face)
    edges = edge_names(face)
    both: dict[tuple[int, ...], str] = {
        (0, 1): first,
        (2, 3): other,
        (0, 3): edges[0],
        (1, 2): edges[1],
    }
    if len(taken) > 2:
        whole = len(region) > MOST * shape[0] * shape[1]
        return "nearly all over" if whole else "round the rim"
    return both.get(tuple(taken)) or place_words(face, *place)


def _regions(bears: NDArray[np.bool_]) -> list[list[tuple[int, int]]]:
    """Part the squares that bear into those that touch by a side."""
    left = {(int(i), int(j)) for i, j in zip(*np.nonzero(bears), strict=True)}
    found = []
    while left:
        edge = [left.pop()]
        region = []
        while edge:
            i, j = edge.pop()
            region.append((i, j))
            near = {(i + 1, j), (i - 1, j), (i, j + 1), (i, j - 1)} & left
            left -= near
            edge.extend(near)
        found.append(region)
    return found
