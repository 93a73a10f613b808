"""The face as a relief: drawn to scale but for its heights, and it says how much.

Seen from the left edge and above, toe at the left: an oblique projection, in which
lengths along are true, so that a place is found again on the map above it.
"""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from numpy.typing import NDArray

from lapping.face import Face
from lapping.grid import metal_mask
from lapping.pictures.marks import COLOURS
from lapping.pictures.plan import BLANK, MapPlan
from lapping.places import edge_names, end_names

Array = NDArray[np.float64]

RELIEF_LEFT_IN, RELIEF_WIDE_IN = 0.2, 5.6
LONG_IN = 4.6
LEAN = (0.35, 0.5)
"""A millimetre across goes so far to the right and so far up."""
STRIDE = 2
RISE_IN = 0.55
"""The range of heights is drawn so tall."""
WORDS_IN, ABOVE_IN = 0.25, 0.05


def _per_mm(face: Face) -> float:
    return LONG_IN / (face.length_mm + LEAN[0] * face.width_mm)


def relief_tall_in(face: Face) -> float:
    """Give how tall the drawing is."""
    return LEAN[1] * face.width_mm * _per_mm(face) + RISE_IN + WORDS_IN + ABOVE_IN


def exaggeration(face: Face, plan: MapPlan) -> float:
    """Give how many times larger heights are drawn than lengths, a round number."""
    range_um = float(plan.levels_um[-1] - plan.levels_um[0])
    times = RISE_IN / _per_mm(face) / (range_um / 1000)
    size = 10.0 ** np.floor(np.log10(times))
    return float(max(m * size for m in (1, 2, 5) if m * size <= times))


def exaggeration_words(face: Face, plan: MapPlan) -> str:
    """Say how much larger heights are drawn than lengths."""
    return f"Relief: heights {exaggeration(face, plan):g} times as large as lengths"


def draw_relief(ax: Axes, face: Face, plan: MapPlan) -> None:
    """Draw the surface in small tiles, the farthest first."""
    k = exaggeration(face, plan) / 1000
    along, across = plan.along_mm[::STRIDE], plan.across_mm[::STRIDE]
    z = plan.height_um[::STRIDE, ::STRIDE]
    metal = metal_mask(face, along, across)
    z = np.where(metal & (plan.near[::STRIDE, ::STRIDE] >= BLANK), z, np.nan)
    x = np.broadcast_to(along[:, None] + LEAN[0] * across, z.shape)
    y = LEAN[1] * across + k * z
    levels = plan.levels_um
    height = (z[:-1, :-1] + z[1:, :-1] + z[1:, 1:] + z[:-1, 1:]) / 4
    # In the same bands as on the map.
    band = np.clip(np.searchsorted(levels, height) - 1, 0, levels.size - 2)
    middle = np.where(np.isnan(height), np.nan, (levels[band] + levels[band + 1]) / 2)
    # The right edge is the farthest, and what is nearer is drawn over it.
    tiles = ax.pcolormesh(
        x.T[::-1],
        np.nan_to_num(y).T[::-1],
        np.ma.masked_invalid(middle.T[::-1]),
        cmap=COLOURS,
        norm=Normalize(levels[0], levels[-1]),
    )
    tiles.set_label("relief")
    for line in (
        (x[0], y[0]),
        (x[-1], y[-1]),
        (x[:, 0], y[:, 0]),
        (x[:, -1], y[:, -1]),
    ):
        ax.plot(*line, color="#333333", lw=0.7, label="rim")
    _level_frame(ax, face)
    inch = 1 / _per_mm(face)
    aside = (RELIEF_WIDE_IN - LONG_IN) / 2 * inch
    ax.set_xlim(-aside, LONG_IN * inch + aside)
    ax.set_ylim(
        -(RISE_IN / 2 + WORDS_IN) * inch,
        LEAN[1] * face.width_mm + (RISE_IN / 2 + ABOVE_IN) * inch,
    )
    ax.set_axis_off()


def _level_frame(ax: Axes, face: Face) -> None:
    """Draw where the best-fit plane has its outline, with the frame's own words."""
    length, width = face.length_mm, face.width_mm
    over = LEAN[0] * width, LEAN[1] * width
    ax.plot(
        [0, length, length + over[0], over[0], 0],
        [0, 0, over[1], over[1], 0],
        color="black",
        lw=0.8,
        ls=(0, (4, 2)),
        label="best-fit plane",
    )
    first, last = end_names(face)
    for words, at, ha, off in (
        (first, (0, over[1] / 2), "right", -4),
        (last, (length + over[0], over[1] / 2), "left", 4),
    ):
        said = words.replace(" ", "\n")
        ax.annotate(
            said, at, xytext=(off, 0), textcoords="offset points", ha=ha, va="center"
        )
    low, _ = edge_names(face)
    ax.text(0.5, 0, low, transform=ax.transAxes, ha="center", va="bottom")
