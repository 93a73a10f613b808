"""Marks on a face map: readings, touching places, numbered spots, bar and key."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator
from numpy.typing import ArrayLike, NDArray

from lapping.answer import Answer
from lapping.pictures.badges import place_badges
from lapping.pictures.captions import badges

Array = NDArray[np.float64]

TEXT_PT = 10.0
COLOURS = "RdBu_r"
"""Red proud, blue hollow, white between: needs no telling of red from green."""
HIGH, LOW, TOUCH, HATCH = "#8c1020", "#0b4a86", "#ffd60a", "#8a8a8a"
ROCK: dict[str, Any] = {"color": "#6a3d9a", "lw": 2.0, "ls": (0, (1.2, 1.0))}
UM_PER_THOU = 25.4
MANY_READINGS, MOST_TOUCHES = 100, 12


def round_ticks(low: float, high: float, most: int) -> list[float]:
    """Give at most so many round numbers between two ends."""
    ticks = MaxNLocator(most, steps=[1, 2, 5, 10]).tick_values(low, high)
    return [float(t) for t in ticks if low <= t <= high]


def draw_marks(ax: Axes, answer: Answer, pt_per_mm: float) -> None:
    """Mark readings, touching places and the numbered spots."""
    along, across = answer.places_mm
    size = 2.2 if along.size > MANY_READINGS else 3.6
    dots = Line2D(along, across, ls="", marker="o", ms=size)
    dots.set(mfc="black", mec="white", mew=0.5, zorder=5, label="reading")
    few = _few_touches(answer)
    touches = Line2D(*np.reshape(few, (-1, 2)).T, ls="", marker="^", ms=8)
    touches.set(mfc=TOUCH, mec="black", mew=0.9, zorder=6, label="touching place")
    over = Line2D(*np.reshape(_rock_line(answer), (-1, 2)).T, **ROCK)
    over.set(zorder=4.5, label="rocks over this line")
    for line in (dots, touches, over):
        line.set_clip_on(False)
        ax.add_line(line)
    spots = list(badges(answer))
    at = [(b.spot.along_mm * pt_per_mm, b.spot.across_mm * pt_per_mm) for b in spots]
    face = answer.face
    marks = [*few, *((hole.along_mm, hole.across_mm) for hole in face.holes)]
    avoid = [(a * pt_per_mm, c * pt_per_mm) for a, c in marks]
    size_pt = (face.length_mm * pt_per_mm, face.width_mm * pt_per_mm)
    for badge, spot, middle in zip(
        spots, at, place_badges(at, avoid, size_pt), strict=True
    ):
        colour = HIGH if badge.spot.height_um > 0 else LOW
        ax.annotate(
            badge.name,
            (badge.spot.along_mm, badge.spot.across_mm),
            xytext=(middle[0] - spot[0], middle[1] - spot[1]),
            textcoords="offset points",
            ha="center",
            va="center",
            size=TEXT_PT,
            weight="bold",
            color=colour,
            bbox={"boxstyle": "round,pad=0.15", "fc": "white", "ec": colour, "lw": 1},
            arrowprops={"arrowstyle": "-", "color": colour, "lw": 1.4, "shrinkB": 0},
            zorder=8,
        )


def _few_touches(answer: Answer) -> tuple[tuple[float, float], ...]:
    """Give the touching places, or none where a level face touches all over."""
    return answer.touches_mm if len(answer.touches_mm) <= MOST_TOUCHES else ()


def draw_colour_bar(figure: Figure, bar: Axes, levels: Array) -> None:
    """Draw the colours with their heights, in µm below and thou above."""
    colours = ScalarMappable(Normalize(levels[0], levels[-1]), COLOURS)
    drawn = figure.colorbar(
        colours, cax=bar, orientation="horizontal", boundaries=levels
    )
    drawn.set_ticks(levels[len(levels) // 2 % 2 :: 2].tolist())
    thou = bar.secondary_xaxis("top", functions=(thou_of, um_of))
    end = float(levels[-1]) / UM_PER_THOU
    thou.set_xticks(round_ticks(-end, end, 6))
    bar.set_xlabel("hollow − (dashed)    height from the best-fit plane    + proud")
    for y, unit in ((0, "µm"), (1, "thou")):
        bar.annotate(
            unit,
            (1, y),
            xytext=(20, -7 if y == 0 else 7),
            xycoords="axes fraction",
            textcoords="offset points",
            va="top" if y == 0 else "bottom",
        )


def thou_of(um: ArrayLike) -> Array:
    """Turn micrometres into thousandths of an inch."""
    return np.asarray(um, dtype=np.float64) / UM_PER_THOU


def um_of(thou: ArrayLike) -> Array:
    """Turn thousandths of an inch into micrometres."""
    return np.asarray(thou, dtype=np.float64) * UM_PER_THOU


def key_of(answer: Answer, *, blank: bool) -> dict[str, Artist]:
    """Give the marks that are on the map, by what they are."""
    found: dict[str, Artist] = {
        "reading": Line2D([], [], ls="", marker="o", ms=4, mfc="black", mec="white")
    }
    if _few_touches(answer):
        found["touching place"] = Line2D(
            [], [], ls="", marker="^", ms=8, mfc=TOUCH, mec="black", mew=0.9
        )
    if _rock_line(answer):
        found["rocks over this line"] = Line2D([], [], **ROCK)
    if blank:
        found["not seen"] = Patch(fc="white", ec=HATCH, hatch="////", lw=0)
    return found


def _rock_line(answer: Answer) -> tuple[tuple[float, float], ...]:
    """Give the ends of the line over which the face tips, none where it rests."""
    line = None if answer.rest is None else answer.rest.rock_line_mm
    return line if answer.rocks and line is not None else ()
