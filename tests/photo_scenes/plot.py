"""The face cut into small squares: places, metal, and sums over 10 mm cells."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lapping.face import Face
from tests.photo_scenes.scene import Array

CELL_MM = 10.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plot:
    """Squares of a face, a whole number of them to each cell.

    ``metal`` is 1 where the middle of the square is metal. ``fine`` is squares per mm
    (nearly the same both ways).
    """

    face: Face
    cells: tuple[int, int]
    shape: tuple[int, int]
    metal: Array

    @property
    def fine(self) -> float:
        """Give how many squares there are to a millimetre."""
        return self.shape[0] / self.face.length_mm

    def along_mm(self, shape: tuple[int, int] | None = None) -> Array:
        """Give the middles of the squares along the face, as a column."""
        rows = (shape or self.shape)[0]
        middles = (np.arange(rows) + 0.5) * self.face.length_mm / rows
        return np.asarray(middles[:, None], np.float32)

    def across_mm(self, shape: tuple[int, int] | None = None) -> Array:
        """Give the middles of the squares across the face, as a row."""
        columns = (shape or self.shape)[1]
        middles = (np.arange(columns) + 0.5) * self.face.width_mm / columns
        return np.asarray(middles[None, :], np.float32)

    def coarse(self, mm: float) -> tuple[int, int]:
        """Give how many squares of about ``mm`` there would be each way."""
        return (
            max(4, round(self.face.length_mm / mm)),
            max(4, round(self.face.width_mm / mm)),
        )

    def sums(self, field: Array) -> np.ndarray:
        """Add up a field over each cell."""
        rows, columns = self.cells
        high, wide = self.shape
        parts = field.astype(np.float64).reshape(
            rows, high // rows, columns, wide // columns
        )
        return np.asarray(parts.sum(axis=(1, 3)))


def plot(face: Face, fine: float) -> Plot:
    """Cut a face into squares, about ``fine`` of them to a millimetre."""
    cells = (
        max(1, round(face.length_mm / CELL_MM)),
        max(1, round(face.width_mm / CELL_MM)),
    )
    high = cells[0] * max(1, round(face.length_mm * fine / cells[0]))
    wide = cells[1] * max(1, round(face.width_mm * fine / cells[1]))
    along = (np.arange(high) + 0.5)[:, None] * face.length_mm / high
    across = (np.arange(wide) + 0.5)[None, :] * face.width_mm / wide
    metal = np.ones((high, wide), bool)
    if face.mouth is not None:
        left, right = face.mouth_sides_mm()
        metal &= ~(
            (along > face.mouth.from_mm)
            & (along < face.mouth.to_mm)
            & (across > left)
            & (across < right)
        )
    for hole in face.holes:
        far = np.hypot(along - hole.along_mm, across - hole.across_mm)
        metal &= far >= hole.diameter_mm / 2
    return Plot(
        face=face, cells=cells, shape=(high, wide), metal=metal.astype(np.float32)
    )
