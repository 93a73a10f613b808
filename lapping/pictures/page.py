"""A page that is set from the top in inches: words, axes, key."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lapping.pictures.captions import TITLE_CHARS
from lapping.pictures.frame import WIDTH_IN
from lapping.pictures.marks import TEXT_PT

MARGIN_IN, EDGE_IN, LINE_IN, TITLE_IN = 0.2, 0.12, 0.185, 0.225
TITLE_PT = 12.5
BAR_LEFT_IN, BAR_WIDE_IN, BAR_TALL_IN = 0.7, 4.6, 0.14


def title_in(text: str) -> float:
    """Give how tall a title is."""
    return TITLE_IN * len(_title(text))


def _title(text: str) -> list[str]:
    return textwrap.wrap(text, TITLE_CHARS, break_on_hyphens=False)


class Page:
    """A figure as wide as all others; what is set next comes below what is set."""

    def __init__(self, height_in: float, width_in: float = WIDTH_IN) -> None:
        self.height_in, self.width_in = height_in, width_in
        self.figure = Figure(figsize=(width_in, height_in))
        self.top_in = EDGE_IN

    def skip(self, inches: float) -> None:
        """Go on so much further down."""
        self.top_in += inches

    def say(
        self,
        text: str,
        *,
        size: float = TEXT_PT,
        weight: str = "normal",
        colour: str = "black",
        step: float = LINE_IN,
    ) -> None:
        """Write one line and go on below it."""
        self.note(MARGIN_IN, 0.0, text, size=size, weight=weight, colour=colour)
        self.skip(step)

    def title(self, text: str) -> None:
        """Write the title, on as many lines as `title_in` counts."""
        for line in _title(text):
            self.say(line, size=TITLE_PT, weight="bold", step=TITLE_IN)

    def note(
        self,
        left_in: float,
        down_in: float,
        text: str,
        *,
        size: float = TEXT_PT,
        weight: str = "normal",
        colour: str = "black",
        wrap: int = 0,
    ) -> None:
        """Write beside what is set, in lines of so many characters, if any."""
        if wrap:
            text = "\n".join(textwrap.wrap(text, wrap, break_on_hyphens=False))
        at = (left_in / self.width_in, 1 - (self.top_in + down_in) / self.height_in)
        # A name with dollars in it is a name and no formula.
        words = self.figure.text(*at, text, va="top", parse_math=False)
        words.set(size=size, weight=weight, color=colour)

    def axes(self, left_in: float, wide_in: float, tall_in: float, name: str) -> Axes:
        """Open axes whose top is here."""
        bottom = 1 - (self.top_in + tall_in) / self.height_in
        box = (left_in / self.width_in, bottom)
        size = (wide_in / self.width_in, tall_in / self.height_in)
        return self.figure.add_axes((*box, *size), label=name)

    def key(self, marks: Mapping[str, Artist], *, columns: int) -> None:
        """Say what the marks are, and go on below."""
        self.figure.legend(
            list(marks.values()),
            list(marks),
            loc="upper center",
            bbox_to_anchor=(0.5, 1 - self.top_in / self.height_in),
            ncols=columns,
            frameon=False,
            borderpad=0,
            borderaxespad=0,
            labelspacing=0.3,
            columnspacing=1.2,
            handletextpad=0.5,
        )
        self.skip(LINE_IN * -(-len(marks) // columns))
