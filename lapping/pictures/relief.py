"""The face as a relief: drawn to scale but for its heights, and it says how much.

Seen from the left edge and above, toe at the left: an oblique projection, in which
lengths along are true, so that a place is found again on the map above it.
"""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import PolyCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.grid import metal_mask
from lapping.pictures.frame import WIDTH_IN, plain_style
from lapping.pictures.marks import COLOURS
from lapping.pictures.page import Page
from lapping.pictures.plan import BLANK, MapPlan, plan_map
from lapping.places import edge_names, end_names

Array = NDArray[np.float64]

LONG_IN = 4.6
LEAN = (0.35, 0.5)
"""A millimetre across goes so far to the right and so far up."""
RISE_IN = 0.55
"""The range of heights is drawn so tall."""


def relief(answer: Answer) -> Figure:
    """Draw the relief on a page of its own."""
    plan = plan_map(answer)
    with plain_style():
        tall = tall_in(answer)
        page = Page(tall + 0.9)
        page.say(words_of(answer, plan))
        page.skip(0.2)
        draw_relief(page.axes(0.2, WIDTH_IN - 0.4, tall, "relief"), answer, plan)
        return page.figure


def _per_mm(answer: Answer) -> float:
    face = answer.face
    return LONG_IN / (face.length_mm + LEAN[0] * face.width_mm)


def tall_in(answer: Answer) -> float:
    """Give how tall the drawing is."""
    return LEAN[1] * answer.face.width_mm * _per_mm(answer) + RISE_IN + 0.5


def exaggeration(answer: Answer, plan: MapPlan) -> float:
    """Give how many times larger heights are drawn than lengths, a round number."""
    range_um = float(plan.levels_um[-1] - plan.levels_um[0])
    times = RISE_IN / _per_mm(answer) / (range_um / 1000)
    size = 10.0 ** np.floor(np.log10(times))
    return float(max(m * size for m in (1, 2, 5) if m * size <= times))


def words_of(answer: Answer, plan: MapPlan) -> str:
    """Say how much larger heights are drawn than lengths."""
    return f"Relief: heights {exaggeration(answer, plan):g} times as large as lengths"


def draw_relief(ax: Axes, answer: Answer, plan: MapPlan) -> None:
    """Draw the surface in small tiles, the farthest first."""
    face, k = answer.face, exaggeration(answer, plan) / 1000
    z = plan.height_um
    metal = metal_mask(face, plan.along_mm, plan.across_mm)
    z = np.where(metal & (plan.near >= BLANK), z, np.nan)
    x = plan.along_mm[:, None] + LEAN[0] * plan.across_mm
    y = LEAN[1] * plan.across_mm + k * z
    corners = np.stack(
        [
            np.stack([v[:-1, :-1], v[1:, :-1], v[1:, 1:], v[:-1, 1:]], axis=-1)
            for v in (np.broadcast_to(x, z.shape), y)
        ],
        axis=-1,
    )
    mean = (z[:-1, :-1] + z[1:, :-1] + z[1:, 1:] + z[:-1, 1:]) / 4
    # The right edge is the farthest.
    order = np.arange(mean.shape[1])[::-1]
    tiles = corners[:, order].swapaxes(0, 1).reshape(-1, 4, 2)
    heights = mean[:, order].T.ravel()
    known = np.isfinite(heights)
    norm = Normalize(plan.levels_um[0], plan.levels_um[-1])
    colours = ScalarMappable(norm, COLOURS).to_rgba(heights[known])
    drawn = PolyCollection(list(tiles[known]), facecolors=colours, linewidths=0.3)
    drawn.set(edgecolor=colours, label="relief", rasterized=True)
    ax.add_collection(drawn)
    _level_frame(ax, answer)
    ax.set_xlim(0, face.length_mm + LEAN[0] * face.width_mm)
    ax.set_aspect("equal")
    ax.autoscale_view()
    ax.set_axis_off()


def _level_frame(ax: Axes, answer: Answer) -> None:
    """Draw where the best-fit plane has its outline, with the frame's own words."""
    length, width = answer.face.length_mm, answer.face.width_mm
    over = LEAN[0] * width, LEAN[1] * width
    ax.plot(
        [0, length, length + over[0], over[0], 0],
        [0, 0, over[1], over[1], 0],
        color="black",
        lw=0.8,
        ls=(0, (4, 2)),
        label="best-fit plane",
    )
    first, last = end_names(answer.face)
    low, _ = edge_names(answer.face)
    for words, at, ha, va, off in (
        (first, (over[0] / 2, over[1] / 2), "right", "center", (-6, 0)),
        (last, (length + over[0] / 2, over[1] / 2), "left", "center", (6, 0)),
        (low, (length / 2, 0), "center", "top", (0, -14)),
    ):
        ax.annotate(words, at, xytext=off, textcoords="offset points", ha=ha, va=va)
