"""Cross-sections: how the face runs along its edges and its centre, and across.

Heights are drawn far larger than lengths, and the picture says how many times. Toe and
heel are laid over each other at the end: where their lines part, the face is twisted.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from lapping.answer import Answer
from lapping.face import Face
from lapping.pictures.captions import title_lines, what_line
from lapping.pictures.cuts import Cut, cuts
from lapping.pictures.frame import WIDTH_IN, plain_style
from lapping.pictures.marks import TEXT_PT, UM_PER_THOU, round_ticks, thou_of, um_of
from lapping.pictures.page import EDGE_IN, LINE_IN, TITLE_IN, TITLE_PT, Page
from lapping.places import edge_names, end_names
from lapping.words.figures import COVERS, twist_words

LINE, BAND, ROOM, LAP = "#1a1a1a", "#9db7d5", "#f6ecd2", "#b35900"
ROOM_LINE = "#8a6d1a"
FIRST, LAST = "#0b4a86", "#d55e00"
"""Toe and heel: dark blue and vermilion keep apart for every eye, and in grey."""
LEFT_IN, RIGHT_IN = 0.75, 0.7
WIDE_IN = WIDTH_IN - LEFT_IN - RIGHT_IN
TALL_IN, SHORT_IN, GAP_IN, BESIDE_IN = 0.95, 1.25, 0.08, 0.2
EACH_IN = (WIDE_IN - 2 * BESIDE_IN) / 3
TO_CUTS_IN, UNDER_IN, UNDER_KEY_IN = 0.35, 0.72, 0.38
TWIST_IN = 2.2
TICKS = 6


def sections(answer: Answer) -> Figure:
    """Draw three cuts along and three across, with doubt, room allowed and the lap."""
    with plain_style():
        return _page(answer)


def _page(answer: Answer) -> Figure:
    found = cuts(answer)
    along, across = found[:3], found[3:]
    scale = _limits(answer, found)
    title, face = title_lines(answer), answer.face
    page = Page(
        2 * EDGE_IN
        + TITLE_IN * len(title)
        + 2 * LINE_IN
        + TO_CUTS_IN
        + 3 * (TALL_IN + GAP_IN)
        + 2 * (UNDER_IN + SHORT_IN)
        + UNDER_KEY_IN
        + 2 * LINE_IN
    )
    for text in title:
        page.say(text, size=TITLE_PT, weight="bold", step=TITLE_IN)
    page.say(what_line(answer))
    page.say(_exaggeration(face, scale[1] - scale[0]))
    page.skip(TO_CUTS_IN)
    page.note(LEFT_IN - 0.3, -LINE_IN, "µm")
    page.note(WIDTH_IN - RIGHT_IN, -LINE_IN, "thou")
    for i, cut in enumerate(along):
        ax = page.axes(LEFT_IN, WIDE_IN, TALL_IN, f"along {i}")
        _draw(ax, answer, cut, scale)
        ax.set_xlim(0, face.length_mm)
        _name(ax, cut.name)
        ax.tick_params(labelbottom=i == 2)
        page.skip(TALL_IN + GAP_IN)
    ax.set_xlabel(f"mm from the {end_names(face)[0]}", labelpad=2)
    page.skip(UNDER_IN - GAP_IN)
    for i, cut in enumerate(across):
        left = LEFT_IN + i * (EACH_IN + BESIDE_IN)
        ax = page.axes(left, EACH_IN, SHORT_IN, f"across {i}")
        _draw(ax, answer, cut, scale)
        _frame_across(ax, face)
        ax.set_title(cut.name, size=TEXT_PT, weight="bold", pad=3)
        ax.tick_params(labelleft=i == 0)
        for thou in ax.child_axes:
            thou.tick_params(labelright=i == 2)
    page.skip(SHORT_IN + UNDER_IN)
    _draw_twist(page, answer, across, scale)
    page.skip(SHORT_IN + UNDER_KEY_IN)
    _key(page, answer)
    return page.figure


def _name(ax: Axes, name: str) -> None:
    words = ax.annotate(name, (0, 1), xytext=(5, -4), xycoords="axes fraction")
    words.set(va="top", weight="bold", zorder=9)
    words.set_anncoords("offset points")
    words.set_bbox({"fc": "white", "lw": 0, "pad": 1.5, "alpha": 0.85})


def _limits(answer: Answer, found: Sequence[Cut]) -> tuple[float, float]:
    """Give one scale for all cuts: all that is drawn lies in it."""
    ends: list[float] = []
    for cut in found:
        ends += [float(cut.top_um.min()) - answer.target_um, float(cut.top_um.max())]
        if cut.seen:
            doubt = COVERS * cut.u_um
            ends += [
                float(np.nanmin(cut.mean_um - doubt)),
                float(np.nanmax(cut.mean_um + doubt)),
            ]
            ends += cut.read_um.tolist()
            if cut.lap_um is not None:
                ends.append(float(cut.lap_um.max()))
    low, high = min(ends), max(ends)
    over = 0.06 * (high - low)
    return low - over, high + over


def _exaggeration(face: Face, range_um: float) -> str:
    along = (TALL_IN / range_um) / (WIDE_IN / face.length_mm) * 1000
    across = (SHORT_IN / range_um) / (EACH_IN / face.width_mm) * 1000
    return (
        f"Heights are drawn {_two_figures(along)} times as large as lengths, "
        f"{_two_figures(across)} times across"
    )


def _two_figures(value: float) -> str:
    return f"{float(f'{value:.2g}'):g}"


def _draw(ax: Axes, answer: Answer, cut: Cut, scale: tuple[float, float]) -> None:
    at = cut.place_mm
    if not answer.unseen:
        bottom = cut.top_um - answer.target_um
        ax.fill_between(at, bottom, cut.top_um, color=ROOM, lw=0, label="room")
        for side in (bottom, cut.top_um):
            ax.plot(at, side, color=ROOM_LINE, lw=0.8, ls=(0, (6, 3)))
    doubt = COVERS * cut.u_um
    ax.fill_between(
        at, cut.mean_um - doubt, cut.mean_um + doubt, color=BAND, lw=0, label="doubt"
    )
    ax.plot(at, cut.mean_um, color=LINE, lw=1.5, label="likely")
    ax.plot(cut.read_mm, cut.read_um, "o", ms=3.4, mfc="black", mec="white", mew=0.5)
    if cut.lap_um is not None and cut.seen:
        ax.plot(at, cut.lap_um, color=LAP, lw=1.3, ls=(0, (2, 1.2)), label="lap")
    if not cut.seen:
        ax.text(0.5, 0.5, "not seen", transform=ax.transAxes, ha="center", va="center")
    _scales(ax, scale)


def _scales(ax: Axes, scale: tuple[float, float]) -> None:
    """Put µm at the left and thou at the right, no figure too near to an end."""
    low, high = scale
    ax.set_ylim(low, high)
    over = 0.07 * (high - low)
    low, high = low + over, high - over
    ax.set_yticks(round_ticks(low, high, TICKS))
    ax.grid(axis="y", lw=0.4, color="#cccccc")
    ax.set_axisbelow(True)
    thou = ax.secondary_yaxis("right", functions=(thou_of, um_of))
    thou.set_yticks(round_ticks(low / UM_PER_THOU, high / UM_PER_THOU, TICKS))


def _frame_across(ax: Axes, face: Face) -> None:
    left, right = (name.removesuffix(" edge") for name in edge_names(face))
    ax.set_xlim(0, face.width_mm)
    ax.set_xticks([0, face.width_mm], [left, right])
    one, other = ax.get_xticklabels()
    one.set_horizontalalignment("left")
    other.set_horizontalalignment("right")


def _draw_twist(
    page: Page, answer: Answer, across: Sequence[Cut], scale: tuple[float, float]
) -> None:
    """Lay the lines of both ends over each other."""
    face = answer.face
    ax = page.axes(LEFT_IN, TWIST_IN, SHORT_IN, "twist")
    for cut, colour, style in (
        (across[0], FIRST, "-"),
        (across[-1], LAST, (0, (5, 2))),
    ):
        ax.plot(cut.place_mm, cut.mean_um, color=colour, lw=2, ls=style, label=cut.name)
    _frame_across(ax, face)
    _scales(ax, scale)
    for thou in ax.child_axes:
        thou.tick_params(labelright=False)
    first, last = end_names(face)
    ax.set_title(f"{first} over {last}", size=TEXT_PT, weight="bold", pad=3)
    x = LEFT_IN + TWIST_IN + 0.2
    page.note(x, 0.1, f"— {first}", colour=FIRST, weight="bold")
    page.note(x, 0.3, f"- - {last}", colour=LAST, weight="bold")
    page.note(
        x,
        0.55,
        "Twist " + twist_words(face, answer.form.twist, answer.shown_in),
        wrap=32,
    )


def _key(page: Page, answer: Answer) -> None:
    marks: dict[str, Artist] = {
        "likely height": Line2D([], [], color=LINE, lw=1.5),
        "95 % band": Patch(fc=BAND),
        "reading": Line2D([], [], ls="", marker="o", ms=4, mfc="black", mec="white"),
    }
    if not answer.unseen:
        room = Patch(fc=ROOM, ec=ROOM_LINE, ls=(0, (6, 3)))
        unit = answer.shown_in
        marks[f"room of {unit.limit(answer.target_um)} {unit.name}"] = room
    if answer.rest is not None:
        lap = Line2D([], [], color=LAP, lw=1.3, ls=(0, (2, 1.2)))
        marks["flat lap it rests on"] = lap
    page.key(marks, columns=3)
