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
    draw_frame,
    draw_outline,
    kind_of_file,
    plain_style,
    save_figure,
)
from lapping.pictures.heights import draw_heights
from lapping.pictures.marks import HIGH, LOW, draw_colour_bar, draw_marks, key_of
from lapping.pictures.page import (
    BAR_LEFT_IN,
    BAR_TALL_IN,
    BAR_WIDE_IN,
    EDGE_IN,
    LINE_IN,
    TITLE_IN,
    TITLE_PT,
    Page,
)
from lapping.pictures.plan import plan_map
from lapping.pictures.relief import (
    RELIEF_LEFT_IN,
    RELIEF_WIDE_IN,
    draw_relief,
    exaggeration_words,
    relief_tall_in,
)

MAP_IN = (4.95, 3.6)
LEFT_IN, TO_MAP_IN, FRAME_IN = 0.62, 0.37, 0.98
BAR_TO_KEY_IN = 0.68
RELIEF_SHARE = 0.6
KEY_COLUMNS, KEY_TO_SPOTS_IN = 3, 0.1


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
    """Set the page from the top: words, map, colour bar, key, spots, relief."""
    face, plan = answer.face, plan_map(answer)
    title, small = title_lines(answer), [*form_lines(answer), what_line(answer)]
    spots = list(badges(answer))
    scale_in = min(MAP_IN[0] / face.length_mm, MAP_IN[1] / face.width_mm)
    wide, tall = face.length_mm * scale_in, face.width_mm * scale_in
    marks = key_of(answer, blank=plan.has_blank)
    stands = plan.has_heights
    foot_in = (
        (BAR_TO_KEY_IN if stands else 0.0)
        + KEY_TO_SPOTS_IN
        + LINE_IN * (-(-len(marks) // KEY_COLUMNS) + len(spots))
    )
    # Of scattered pieces no eye makes a shape.
    raised = stands and plan.shown_share >= RELIEF_SHARE
    relief_in = 2 * LINE_IN + relief_tall_in(face) if raised else 0.0
    page = Page(
        2 * EDGE_IN
        + TITLE_IN * len(title)
        + LINE_IN * len(small)
        + TO_MAP_IN
        + tall
        + FRAME_IN
        + foot_in
        + relief_in
    )
    for text in title:
        page.say(text, size=TITLE_PT, weight="bold", step=TITLE_IN)
    for text in small:
        page.say(text)
    page.skip(TO_MAP_IN)
    ax = page.axes(LEFT_IN + (MAP_IN[0] - wide) / 2, wide, tall, "map")
    draw_heights(ax, plan)
    draw_outline(ax, face)
    draw_frame(ax, face)
    draw_marks(ax, answer, 72 * scale_in)
    page.skip(tall + FRAME_IN)
    if stands:
        bar = page.axes(BAR_LEFT_IN, BAR_WIDE_IN, BAR_TALL_IN, "colour bar")
        draw_colour_bar(page.figure, bar, plan.levels_um)
        page.skip(BAR_TO_KEY_IN)
    page.key(marks, columns=KEY_COLUMNS)
    page.skip(KEY_TO_SPOTS_IN)
    for badge in spots:
        colour = HIGH if badge.spot.height_um > 0 else LOW
        page.say(spot_line(answer, badge), colour=colour)
    if raised:
        page.skip(LINE_IN)
        page.say(exaggeration_words(face, plan))
        box = page.axes(RELIEF_LEFT_IN, RELIEF_WIDE_IN, relief_tall_in(face), "relief")
        draw_relief(box, face, plan)
    return page.figure
