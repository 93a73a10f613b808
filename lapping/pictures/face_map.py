"""The face map: where a face is proud and hollow, for a phone, a page or a print.

Landscape, toe at the left and across 0 at the bottom (docs/conventions.md), in true
proportion. Only this package loads matplotlib, and never pyplot: its figures are freed
with the last name for them.
"""

from __future__ import annotations

from pathlib import Path

from matplotlib.figure import Figure

from lapping.answer import Answer
from lapping.pictures.captions import (
    badges,
    form_lines,
    spot_line,
    title_lines,
    what_line,
)
from lapping.pictures.frame import (
    WIDTH_IN,
    draw_frame,
    draw_outline,
    kind_of_file,
    plain_style,
    save_figure,
)
from lapping.pictures.heights import draw_heights
from lapping.pictures.marks import (
    HIGH,
    LOW,
    TEXT_PT,
    draw_colour_bar,
    draw_key,
    draw_marks,
)
from lapping.pictures.plan import plan_map

MAP_IN = (4.95, 3.6)
BAR_IN = (0.7, 4.6)
LEFT_IN, LINE_IN, TITLE_IN = 0.62, 0.185, 0.225
TITLE_PT = 12.5


def save_face_map(answer: Answer, path: Path) -> None:
    """Draw the face map to a .png, .svg or .pdf file; BadInput where it cannot be.

    The file is whole or not there, and the same answer gives the same bytes.
    """
    kind_of_file(path)
    save_figure(face_map(answer), path)


def face_map(answer: Answer) -> Figure:
    """Draw heights over the best-fit plane, readings, spots and touching places."""
    with plain_style():
        return _page(answer)


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
    draw_heights(ax, plan)
    draw_outline(ax, face)
    draw_frame(ax, face)
    draw_marks(ax, answer, 72 * scale_in)
    bar = figure.add_axes(
        (BAR_IN[0] / WIDTH_IN, (foot - 1.0) / page, BAR_IN[1] / WIDTH_IN, 0.14 / page),
        label="colour bar",
    )
    draw_colour_bar(figure, bar, plan.levels_um)
    draw_key(figure, answer, (foot - 1.64) / page, blank=plan.has_blank)
    y = foot - 1.88
    for badge in spots:
        colour = HIGH if badge.spot.height_um > 0 else LOW
        say(y, spot_line(answer, badge), TEXT_PT, "normal", colour)
        y -= LINE_IN
    return figure
