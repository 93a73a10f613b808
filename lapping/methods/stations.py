"""The distinct places of a set of readings, in the order first read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WRITTEN_MM = 1e-6
"""Places are on their line if they are as near as their digits can say."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stations:
    """p distinct places, and for each of n readings the number of its place."""

    along_mm: Array
    across_mm: Array
    index: NDArray[np.int64]

    def weights(self) -> Array:
        """Give the (n, p) matrix that picks each reading's place."""
        laid = np.zeros((self.index.size, self.along_mm.size))
        laid[np.arange(self.index.size), self.index] = 1.0
        return laid


def stations(places: Iterable[tuple[float, float]]) -> Stations:
    """Number the distinct places (along_mm, across_mm) of readings."""
    number: dict[tuple[float, float], int] = {}
    index = [number.setdefault(place, len(number)) for place in places]
    along, across = np.array(list(number), dtype=np.float64).reshape(-1, 2).T
    return Stations(along_mm=along, across_mm=across, index=np.array(index))


def on_line(along_mm: Array, across_mm: Array) -> tuple[Array, Array]:
    """Give where the places of one line lie along it, and how far off it (n, 2), in mm.

    Counted from its middle and towards the heel, or towards the right on a line
    straight across, whichever way the line was read.
    """
    places = list(zip(along_mm.tolist(), across_mm.tolist(), strict=True))
    first, last = np.array(min(places)), np.array(max(places))
    way = (last - first) / np.hypot(*(last - first))
    from_middle = np.array(places) - (first + last) / 2
    where = from_middle @ way
    off = from_middle - where[:, None] * way
    off[np.hypot(off[:, 0], off[:, 1]) < WRITTEN_MM] = 0.0
    return where, off


def slopes(found: Stations, known: NDArray[np.bool_] | None = None) -> Array:
    """Give what turns heights, of the known stations, into the tilt of all (2, p).

    Along and across, per millimetre. A place written to whole millimetres lies a little
    beside its line; times that distance this brings it back onto it. Otherwise so much
    of any tilt would seem to be seen, and a bend of the line would pass for tilt.
    """
    one = np.ones(found.along_mm.size)
    terms = np.column_stack([one, found.along_mm, found.across_mm])
    if known is not None:
        terms = np.where(known[:, None], terms, 0.0)
    return np.asarray(np.linalg.pinv(terms)[1:])
