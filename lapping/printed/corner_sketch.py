"""Two small drawings of how a corner card lies: from above, and cut through."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Polygon, Rectangle
from numpy.typing import NDArray

from lapping.photo.cards import (
    CORNERS,
    LIP_MM,
    OUTER_MM,
    card_outline_mm,
    mark_corners_mm,
)

Array = NDArray[np.float64]

SMALL = 0.25
"""Cards from above are drawn at this share of their size."""
FACE_MM = (36.0, 14.0)
METAL, PAPER, BACKING = "#b0b0b0", "black", "#c9a36b"
TEXT_PT = 8.0
BIG = 2.0


def sketch_from_above(page: Axes, left_mm: float, top_mm: float) -> None:
    """Draw a face with its four cards, toe up."""
    long, wide = FACE_MM
    away = OUTER_MM * SMALL
    left, top = left_mm + away, top_mm - away

    def at(places: Array) -> Array:
        return np.stack([left + places[:, 1], top - places[:, 0]], axis=1)

    corners = np.array([[0, 0], [0, wide], [long, wide], [long, 0]])
    page.add_patch(Polygon(at(corners), fc=METAL, ec="black", lw=0.6))
    for corner in range(len(CORNERS)):
        card = corners[corner] + SMALL * card_outline_mm(corner)
        mark = corners[corner] + SMALL * mark_corners_mm(corner)
        page.add_patch(Polygon(at(card), fc="white", ec="black", lw=0.5))
        page.add_patch(Polygon(at(mark), fc="black", lw=0))
    for place, words in ((long * 0.2, "toe"), (long * 0.8, "heel")):
        x, y = at(np.array([[place, wide / 2]]))[0]
        page.text(x, y, words, size=TEXT_PT, ha="center", va="center")


def sketch_cut_through(page: Axes, left_mm: float, top_mm: float) -> None:
    """Draw the edge of the face with a card against it, twice its size."""
    edge = left_mm + BIG * OUTER_MM / 2
    lip = BIG * LIP_MM
    page.add_patch(Rectangle((edge, top_mm - 22), 30, 22, fc=METAL, ec="black", lw=0.6))
    page.add_patch(
        Rectangle((left_mm, top_mm - 3), edge - left_mm, 3, fc=BACKING, lw=0)
    )
    page.plot([left_mm, edge + lip], [top_mm + 0.4] * 2, color=PAPER, lw=1.4)
    page.plot(
        [left_mm + 20, edge - 0.7, edge - 0.7],
        [top_mm - 3.6, top_mm - 3.6, top_mm - 14],
        color="#3060a0",
        lw=1.6,
    )
    for words, across, down, side in (
        ("paper with the mark", left_mm, 2.2, "left"),
        ("lip on the metal", edge + lip + 1, 2.2, "left"),
        ("stiff card", left_mm, -7.0, "left"),
        ("tape", edge - 3.0, -12.0, "right"),
        ("face of the plane", edge + 2, -8.0, "left"),
    ):
        page.text(across, top_mm + down, words, size=TEXT_PT, ha=side)
