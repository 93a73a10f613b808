"""The distinct places of a set of readings, in the order first read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


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
