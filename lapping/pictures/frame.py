"""What every picture of a face stands in: style, outline, words at the sides."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from lapping.face import Face
from lapping.pictures.marks import TEXT_PT, round_ticks
from lapping.places import edge_names, end_names
from lapping.whole_file import check_target, write_whole

UNDATED: dict[str, dict[str, str | None]] = {
    ".png": {},
    ".svg": {"Date": None},
    ".pdf": {"CreationDate": None},
}
"""The kinds of file, each without the date that would make two of them differ."""
WIDTH_IN, DOTS_PER_IN = 6.0, 200
"""On a phone 390 pixels wide, ten-point text is still nine pixels high."""


def kind_of_file(path: Path) -> str:
    """Give the ending of a picture's file, or refuse it before anything is drawn."""
    return check_target(path, tuple(UNDATED))


def save_figure(figure: Figure, path: Path) -> None:
    """Write a figure whole; the same figure gives the same bytes."""
    write_whole(path, drawn(figure, kind_of_file(path)))


def drawn(figure: Figure, ending: str) -> bytes:
    """Give a figure as a file of this ending would hold it."""
    file = io.BytesIO()
    # Half the time of packing a PNG for a tenth of its size.
    packed: dict[str, Any] = (
        {"pil_kwargs": {"compress_level": 3}} if ending == ".png" else {}
    )
    with plain_style():
        figure.savefig(
            file,
            format=ending[1:],
            dpi=DOTS_PER_IN,
            metadata=UNDATED[ending],
            **packed,
        )
    return file.getvalue()


@contextmanager
def plain_style() -> Iterator[None]:
    """Keep a person's own matplotlib settings out of the picture."""
    with mpl.rc_context():
        mpl.rcdefaults()
        mpl.rcParams.update(
            {"font.size": TEXT_PT, "hatch.linewidth": 0.7, "svg.hashsalt": "lapping"}
        )
        yield


def draw_outline(ax: Axes, face: Face) -> None:
    """Draw the outline, the mouth and the holes; what is no metal is white."""
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


def draw_frame(ax: Axes, face: Face) -> None:
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


def draw_upright(ax: Axes, face: Face) -> None:
    """Draw mouth and holes, without words, on a face with its toe at the top."""
    ax.set_xlim(0, face.width_mm)
    ax.set_ylim(face.length_mm, 0)
    ax.set_xticks([])
    ax.set_yticks([])
    for hole in face.holes:
        at = (hole.across_mm, hole.along_mm)
        ax.add_patch(Circle(at, hole.diameter_mm / 2, fc="white", ec="black", zorder=4))
    if face.mouth is not None:
        low, high = face.mouth_sides_mm()
        size = high - low, face.mouth.to_mm - face.mouth.from_mm
        cut = Rectangle((low, face.mouth.from_mm), *size, fc="white", ec="black")
        cut.set(zorder=4, label="mouth")
        ax.add_patch(cut)
