"""The face map: where a face is proud and hollow, for a phone, a page or a print.

Landscape, toe at the left and across 0 at the bottom (docs/conventions.md), in true
proportion. Only this package loads matplotlib, and never pyplot: its figures are freed
with the last name for them.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.face import Face
from lapping.pictures.captions import (
    badges,
    form_lines,
    spot_line,
    title_lines,
    what_line,
)
from lapping.pictures.marks import (
    COLOURS,
    HATCH,
    HIGH,
    LOW,
    TEXT_PT,
    draw_colour_bar,
    draw_key,
    draw_marks,
    round_ticks,
)
from lapping.pictures.plan import BLANK, MapPlan, plan_map
from lapping.places import edge_names, end_names
from lapping.whole_file import check_target, write_whole

Array = NDArray[np.float64]

UNDATED: dict[str, dict[str, str | None]] = {
    ".png": {},
    ".svg": {"Date": None},
    ".pdf": {"CreationDate": None},
}
"""The kinds of file, each without the date that would make two of them differ."""
WIDTH_IN, DOTS_PER_IN = 6.0, 200
"""On a phone 390 pixels wide, ten-point text is still nine pixels high."""
MAP_IN = (4.95, 3.6)
BAR_IN = (0.7, 4.6)
LEFT_IN, LINE_IN, TITLE_IN = 0.62, 0.185, 0.225
TITLE_PT = 12.5


def save_face_map(answer: Answer, path: Path) -> None:
    """Draw the face map to a .png, .svg or .pdf file; BadInput where it cannot be.

    The file is whole or not there, and the same answer gives the same bytes.
    """
    ending = check_target(path, tuple(UNDATED))
    drawn = io.BytesIO()
    with _plain_style():
        face_map(answer).savefig(
            drawn, format=ending[1:], dpi=DOTS_PER_IN, metadata=UNDATED[ending]
        )
    write_whole(path, drawn.getvalue())


def face_map(answer: Answer) -> Figure:
    """Draw heights over the best-fit plane, readings, spots and touching places."""
    with _plain_style():
        return _page(answer)


@contextmanager
def _plain_style() -> Iterator[None]:
    """Keep a person's own matplotlib settings out of the picture."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(
            {"font.size": TEXT_PT, "hatch.linewidth": 0.7, "svg.hashsalt": "lapping"}
        )
        yield


def _page(answer: Answer) -> Figure:
    """Set the page from the top: words, map, colour bar, key, spots."""
    face, plan = answer.face, plan_map(answer)
    title, small = title_lines(answer), [*form_lines(answer), what_line(answer)]
    spots = list(badges(answer))
    scale_in = min(MAP_IN[0] / face.length_mm, MAP_IN[1] / face.width_mm)
    wide, tall = face.length_mm * scale_in, face.width_mm * scale_in
    head = 0.12 + TITLE_IN * len(title) + LINE_IN * len(small) + 0.37
    foot = 1.98 + LINE_IN * len(spots)
    page = head + tall + foot
    figure = Figure(figsize=(WIDTH_IN, page))

    def say(y_in: float, text: str, size: float, weight: str, colour: str) -> None:
        words = figure.text(0.2 / WIDTH_IN, y_in / page, text, va="top")
        words.set(size=size, weight=weight, color=colour)

    y = page - 0.12
    for text in title:
        say(y, text, TITLE_PT, "bold", "black")
        y -= TITLE_IN
    for text in small:
        say(y, text, TEXT_PT, "normal", "black")
        y -= LINE_IN
    left = LEFT_IN + (MAP_IN[0] - wide) / 2
    ax = figure.add_axes(
        (left / WIDTH_IN, foot / page, wide / WIDTH_IN, tall / page), label="map"
    )
    _heights(ax, plan)
    _outline(ax, face)
    _frame(ax, face)
    draw_marks(ax, answer, 72 * scale_in)
    bar = figure.add_axes(
        (BAR_IN[0] / WIDTH_IN, (foot - 1.0) / page, BAR_IN[1] / WIDTH_IN, 0.14 / page),
        label="colour bar",
    )
    draw_colour_bar(figure, bar, plan)
    draw_key(figure, answer, (foot - 1.64) / page, blank=plan.has_blank)
    y = foot - 1.88
    for badge in spots:
        colour = HIGH if badge.spot.height_um > 0 else LOW
        say(y, spot_line(answer, badge), TEXT_PT, "normal", colour)
        y -= LINE_IN
    return figure


def _heights(ax: Axes, plan: MapPlan) -> None:
    levels = plan.levels_um
    x, y, z = plan.along_mm, plan.across_mm, plan.height_um.T
    norm = Normalize(levels[0], levels[-1])
    if np.isfinite(z).any():
        bands = ax.contourf(x, y, z, levels=levels, cmap=COLOURS, norm=norm, zorder=1)
        bands.set_label("heights")
    # Hollow lines are dashed, so that a print without colours can be read.
    lines = plan.lines_um
    dashes = ["dashed" if level < 0 else "solid" for level in lines]
    if lines.size:
        thin = ax.contour(x, y, z, lines, colors="#333333", linestyles=dashes)
        thin.set(linewidth=0.5, zorder=1.5, label="level lines")
    if plan.has_blank:
        blank = ax.contourf(
            x, y, plan.near.T, [-1, BLANK], colors=["white"], hatches=["////"], zorder=2
        )
        blank.set(edgecolor=HATCH, linewidth=0, label="blank")


def _outline(ax: Axes, face: Face) -> None:
    whole = Rectangle((0, 0), face.length_mm, face.width_mm, fill=False, lw=1.1)
    whole.set(label="outline", zorder=3, clip_on=False)
    ax.add_patch(whole)
    for hole in face.holes:
        at = (hole.along_mm, hole.across_mm)
        ax.add_patch(
            Circle(at, hole.diameter_mm / 2, fc="white", ec="black", lw=1.1, zorder=4)
        )
    if face.mouth is None:
        return
    start, stop = face.mouth.from_mm, face.mouth.to_mm
    low, high = face.mouth_sides_mm()
    # Open where it reaches the edge: the white goes over the outline's line there.
    over = 0.02 * face.width_mm
    bottom = low if low > 0 else -over
    top = high if high < face.width_mm else face.width_mm + over
    cut = Rectangle((start, bottom), stop - start, top - bottom, fc="white", lw=0)
    cut.set(label="mouth", zorder=4, clip_on=False)
    ax.add_patch(cut)
    rims = [([start, start], [low, high]), ([stop, stop], [low, high])]
    rims += [([start, stop], [c, c]) for c in (low, high) if 0 < c < face.width_mm]
    for along, across in rims:
        ax.plot(along, across, color="black", lw=1.1, zorder=4, label="_rim")


def _frame(ax: Axes, face: Face) -> None:
    """Put the frame's own words on the four sides; the outline is the border."""
    first, last = end_names(face)
    low, high = edge_names(face)
    ax.set_xlim(0, face.length_mm)
    ax.set_ylim(0, face.width_mm)
    for spine in ax.spines.values():
        spine.set_visible(False)
    ax.set_xticks(round_ticks(0, face.length_mm, 6))
    ax.set_yticks(round_ticks(0, face.width_mm, 3))
    ax.set_xlabel(f"{low}, mm from the {first}", labelpad=2)
    ax.set_ylabel(first, labelpad=2)
    ax.set_title(high, size=TEXT_PT, pad=7)
    ax.annotate(
        last,
        (1, 0.5),
        xytext=(9, 0),
        xycoords="axes fraction",
        textcoords="offset points",
        rotation=-90,
        va="center",
    )
