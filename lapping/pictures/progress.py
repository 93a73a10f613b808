"""How a face came along, drawn: flatness, form, contact, strokes and advice.

Every time the face was looked at stands at the same distance from the next; how much
was rubbed between two of them is a bar of its own at the bottom.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lapping.errors import BadInput
from lapping.glance import Glance
from lapping.pictures.frame import WIDTH_IN, plain_style
from lapping.pictures.marks import TEXT_PT, UM_PER_THOU, round_ticks, thou_of, um_of
from lapping.pictures.page import EDGE_IN, LINE_IN, TITLE_IN, TITLE_PT, Page
from lapping.pictures.progress_maps import draw_maps, maps_tall_in
from lapping.progress import Came, Progress
from lapping.units import format_um
from lapping.words import COVERS

LEFT_IN, RIGHT_IN = 0.75, 0.7
FLAT_IN, FORM_IN, BEARS_IN, STROKES_IN = 1.7, 1.15, 0.8, 0.95
HEAD_IN, BETWEEN_IN, DATES_IN, AFTER_IN = 0.3, 0.22, 0.68, 0.15
CHAR_IN = 0.085
"""Room for a letter of upright words."""
TWIST, CROWN, ROOM, INK = "#0b4a86", "#d55e00", "#f6ecd2", "#7a1c00"
GRITS = ("#e8e8e8", "#bdbdbd", "#8f8f8f", "#666666")
HATCHES = ("", "///", "...", "xx")
MOST_LABELS = 26
"""So many upright labels stand beside each other."""


def progress(found: Progress, glances: Sequence[Glance] = ()) -> Figure:
    """Draw the history of a face, and below it small maps of its ``glances``.

    BadInput where it was never looked at.
    """
    if not found.times:
        message = f"{found.label}: nothing was read yet, so there is nothing to draw"
        raise BadInput(message)
    with plain_style():
        return _page(found, glances)


def _page(found: Progress, glances: Sequence[Glance]) -> Figure:
    times = found.times
    bears = any(one.contact_percent is not None for one in times)
    longest = max(len(one.advised or "") for one in times)
    panels = [FLAT_IN, FORM_IN, *([BEARS_IN] if bears else []), STROKES_IN]
    page = Page(
        2 * EDGE_IN
        + TITLE_IN
        + LINE_IN
        + HEAD_IN
        + sum(panels)
        + BETWEEN_IN * (len(panels) - 1)
        + DATES_IN
        + CHAR_IN * longest
        + (AFTER_IN + maps_tall_in(glances) if glances else 0.0)
    )
    page.say(_title(found), size=TITLE_PT, weight="bold", step=TITLE_IN)
    foot = "; at the foot what was to be done next" if longest else ""
    page.say(f"Bars hold 95 %{foot}")
    page.skip(HEAD_IN - BETWEEN_IN)

    def panel(tall: float, name: str) -> Axes:
        page.skip(BETWEEN_IN)
        ax = page.axes(LEFT_IN, WIDTH_IN - LEFT_IN - RIGHT_IN, tall, name)
        ax.set_xlim(-0.6, len(times) - 0.4)
        ax.tick_params(labelbottom=False, bottom=False)
        page.skip(tall)
        return ax

    _flatness(panel(FLAT_IN, "flatness"), found)
    _form(panel(FORM_IN, "form"), times)
    if bears:
        _bears(panel(BEARS_IN, "bears"), times)
    last = panel(STROKES_IN, "strokes")
    _strokes(last, times)
    _dates(last, times)
    _advice(last, times)
    page.skip(DATES_IN + CHAR_IN * longest + AFTER_IN)
    if glances:
        draw_maps(page, glances)
    return page.figure


def _title(found: Progress) -> str:
    last = next((t for t in reversed(found.times) if t.likely_um is not None), None)
    said = f"{found.label}: {found.target_um:g} µm allowed"
    if last is None or last.likely_um is None:
        return said
    return (
        f"{found.label}: now {format_um(last.likely_um)}, {found.target_um:g} allowed"
    )


def _flatness(ax: Axes, found: Progress) -> None:
    ax.axhspan(0, found.target_um, color=ROOM, lw=0, label="room")
    ax.axhline(found.target_um, color="#8a6d1a", lw=1, ls=(0, (6, 3)), label="target")
    at, middle, low, high = [], [], [], []
    for i, one in enumerate(found.times):
        if one.likely_um is not None and one.interval_um is not None:
            at.append(i)
            middle.append(one.likely_um)
            low.append(one.likely_um - one.interval_um[0])
            high.append(one.interval_um[1] - one.likely_um)
    if at:
        drawn = ax.errorbar(at, middle, [low, high], fmt="o-", color="#1a1a1a", ms=4.5)
        drawn.set_label("flatness")
    top = max([found.target_um, *np.add(middle, high).tolist()]) * 1.08
    _scales(ax, 0.0, float(top), "flatness")


def _form(ax: Axes, times: Sequence[Came]) -> None:
    ax.axhline(0, color="#888888", lw=0.8)
    ends = [1.0]
    for name, colour, style, off in (
        ("twist", TWIST, "o-", -0.08),
        ("crown along", CROWN, "s--", 0.08),
    ):
        pairs = [
            (i, one.twist_um if name == "twist" else one.along_bow_um)
            for i, one in enumerate(times)
        ]
        known = [(i, pair) for i, pair in pairs if pair is not None]
        if not known:
            continue
        at = np.array([i + off for i, _ in known])
        um = np.array([pair[0] for _, pair in known])
        u = COVERS * np.array([pair[1] for _, pair in known])
        ax.errorbar(at, um, u, fmt=style, color=colour, ms=4, label=name)
        ends.append(float(np.abs(um).max() + u.max()))
    most = 1.08 * max(ends)
    _scales(ax, -most, most, "")
    ax.legend(
        loc="lower left",
        bbox_to_anchor=(0, 0.97),
        ncols=2,
        frameon=False,
        borderpad=0,
        handletextpad=0.4,
    )


def _bears(ax: Axes, times: Sequence[Came]) -> None:
    known = [(i, t.contact_percent) for i, t in enumerate(times)]
    at = [i for i, percent in known if percent is not None]
    ax.bar(at, [p for _, p in known if p is not None], 0.5, color=INK, label="bears")
    ax.set_ylim(0, 100)
    ax.set_yticks([0, 50, 100])
    ax.set_ylabel("bears, %")


def _strokes(ax: Axes, times: Sequence[Came]) -> None:
    grits = list(dict.fromkeys(grit for one in times for grit, _ in one.strokes))
    for i, one in enumerate(times):
        floor = 0.0
        for grit, many in one.strokes:
            at = grits.index(grit)
            ax.bar(
                i - 0.5,
                many,
                0.5,
                bottom=floor,
                color=GRITS[at % len(GRITS)],
                hatch=HATCHES[at // len(GRITS) % len(HATCHES)],
                edgecolor="#333333",
                lw=0.7,
                label=grit.name,
            )
            floor += many
    ax.set_ylabel("strokes")
    handles, names = ax.get_legend_handles_labels()
    once = dict(zip(names, handles, strict=True))
    if once:
        ax.legend(
            once.values(),
            once,
            loc="lower left",
            bbox_to_anchor=(0, 0.97),
            ncols=5,
            frameon=False,
            borderpad=0,
            handletextpad=0.4,
            columnspacing=1.0,
        )


def _dates(ax: Axes, times: Sequence[Came]) -> None:
    every = max(1, -(-len(times) // MOST_LABELS))
    at = list(range(0, len(times), every))
    words = [
        f"{i + 1}" if (when := times[i].at) is None else f"{when.astimezone():%d %b}"
        for i in at
    ]
    ax.set_xticks(at, words, rotation=90)
    ax.tick_params(labelbottom=True)


def _advice(ax: Axes, times: Sequence[Came]) -> None:
    for i, one in enumerate(times):
        if one.advised is not None:
            ax.annotate(
                one.advised,
                (i, 0),
                xytext=(0, -50),
                xycoords=("data", "axes fraction"),
                textcoords="offset points",
                rotation=90,
                ha="center",
                va="top",
                size=TEXT_PT,
            )


def _scales(ax: Axes, low: float, high: float, name: str) -> None:
    ax.set_ylim(low, high)
    ax.set_yticks(round_ticks(low, high, 4))
    ax.set_ylabel(f"{name} µm".strip())
    thou = ax.secondary_yaxis("right", functions=(thou_of, um_of))
    thou.set_yticks(round_ticks(low / UM_PER_THOU, high / UM_PER_THOU, 4))
    thou.set_ylabel("thou")
    ax.grid(axis="y", lw=0.4, color="#cccccc")
    ax.set_axisbelow(True)
