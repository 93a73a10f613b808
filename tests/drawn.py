"""What tests ask of a figure: its words, its axes, and whether anything is cut off."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from matplotlib.axes import Axes
from matplotlib.axis import Axis
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import BboxBase

PHONE_PX, LEAST_PX = 390, 9


def named(figure: Figure, name: str) -> Axes:
    """Give the axes of this name."""
    (only,) = [ax for ax in figure.axes if ax.get_label() == name]
    return only


def said(figure: Figure) -> list[str]:
    """Give every word that is drawn, wherever."""
    return [text.get_text() for text, _ in words_drawn(figure)]


def words_drawn(figure: Figure) -> Iterator[tuple[Text, BboxBase]]:
    """Give every text that shows, with the room it takes."""
    figure.draw_without_rendering()
    hidden = set(_off_the_scale(figure))
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        if text.get_visible() and text.get_text().strip() and text not in hidden:
            # Of a label with a line to its place the words alone.
            yield text, Text.get_window_extent(text)


def _off_the_scale(figure: Figure) -> Iterator[Text]:
    """Give the labels of ticks beyond the ends of a scale, which are never drawn."""
    for axis in figure.findobj(Axis):
        assert isinstance(axis, Axis)
        low, high = sorted(axis.get_view_interval())
        over = 1e-9 * (high - low)
        on = axis.axes.axison
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
            if not (on and low - over <= tick.get_loc() <= high + over):
                yield from (tick.label1, tick.label2)


def is_whole_and_legible(figure: Figure) -> None:
    """Assert that no word is cut off, none lies over another, none is too small."""
    boxes = list(words_drawn(figure))
    page = figure.bbox
    for text, box in boxes:
        assert page.x0 <= box.x0, text
        assert box.x1 <= page.x1, text
        assert page.y0 <= box.y0, text
        assert box.y1 <= page.y1, text
        px = float(text.get_fontsize()) * PHONE_PX / (72 * figure.get_figwidth())
        assert px >= LEAST_PX, text
    for (one, first), (other, second) in combinations(boxes, 2):
        assert not first.padded(-1).overlaps(second.padded(-1)), (one, other)
