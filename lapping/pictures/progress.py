"""How a face came along, drawn: flatness, form, contact, strokes and advice.

Every time the face was looked at stands at the same distance from the next; how much
was rubbed between two of them is a bar of its own at the bottom.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from lapping.errors import BadInput
from lapping.grits import Grit
from lapping.pictures.frame import WIDTH_IN, plain_style
from lapping.pictures.marks import UM_PER_THOU, round_ticks, thou_of, um_of
from lapping.pictures.page import EDGE_IN, LINE_IN, Page, title_in
from lapping.pictures.progress_maps import draw_maps, maps_tall_in
from lapping.progress import Came, Progress
from lapping.removal.glance import Glance
from lapping.units import format_um
from lapping.words.came import when_short
from lapping.words.figures import COVERS

LEFT_IN, RIGHT_IN = 0.75, 0.7
STEEP = 15.0
"""More than so many times what is allowed asks for a scale of ratios."""
FLAT_IN, FORM_IN, BEARS_IN, STROKES_IN = 1.7, 1.15, 0.8, 0.95
HEAD_IN, BETWEEN_IN, DATES_IN, AFTER_IN = 0.26, 0.22, 0.42, 0.1
ADVICE_LINE_IN = 0.17
TWIST, CROWN, ROOM, INK = "#0b4a86", "#d55e00", "#f6ecd2", "#7a1c00"
CLEAR = 0.07
"""No figure stands nearer than this share of a scale to its end."""
GREYS = ("#e8e8e8", "#bdbdbd", "#8f8f8f", "#666666")
HATCHES = ("", "///", "...", "xx")
GRITS_IN_A_ROW, MOST_LABELS = 5, 5
"""So many labels stand beside each other."""


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
    times, title = found.times, _title(found)
    grits = list(dict.fromkeys(grit for one in times for grit, _ in one.strokes))
    panels: list[tuple[str, float, Callable[[Axes], None]]] = [
        ("flatness", FLAT_IN, lambda ax: _flatness(ax, found))
    ]
    if any(one.twist_um is not None for one in times):
        panels.append(("form", FORM_IN, lambda ax: _form(ax, times)))
    if any(one.contact_percent is not None for one in times):
        panels.append(("bears", BEARS_IN, lambda ax: _bears(ax, times)))
    panels.append(("strokes", STROKES_IN, lambda ax: _strokes(ax, times, grits)))
    keys_in = LINE_IN * max(0, -(-len(grits) // GRITS_IN_A_ROW) - 1)
    longest = max(len((times[i].advised or "").split()) for i in _labelled(times))
    foot_in = DATES_IN + ADVICE_LINE_IN * longest
    page = Page(
        2 * EDGE_IN
        + title_in(title)
        + LINE_IN
        + HEAD_IN
        + sum(tall for _, tall, _ in panels)
        + BETWEEN_IN * (len(panels) - 1)
        + keys_in
        + foot_in
        + (AFTER_IN + maps_tall_in(glances) if glances else 0.0)
    )
    page.title(title)
    foot = "; at the foot what was to be done next" if longest else ""
    page.say(f"Bars hold 95 %{foot}")
    page.skip(HEAD_IN - BETWEEN_IN)
    for name, tall, draw in panels:
        page.skip(BETWEEN_IN + (keys_in if name == "strokes" else 0.0))
        ax = page.axes(LEFT_IN, WIDTH_IN - LEFT_IN - RIGHT_IN, tall, name)
        ax.set_xlim(-0.6, len(times) - 0.4)
        ax.tick_params(labelbottom=False, bottom=False)
        draw(ax)
        page.skip(tall)
    _dates(ax, times)
    _advice(ax, times)
    page.skip(foot_in + AFTER_IN)
    if glances:
        draw_maps(page, glances)
    return page.figure


def _title(found: Progress) -> str:
    last = next((t for t in reversed(found.times) if t.likely_um is not None), None)
    allowed = f"{found.target_um:g} µm allowed"
    if last is None or last.likely_um is None:
        return f"{found.label}: {allowed}"
    return f"{found.label}: now {format_um(last.likely_um)}, {allowed}"


def _flatness(ax: Axes, found: Progress) -> None:
    known = [
        (i, one.likely_um, *one.interval_um)
        for i, one in enumerate(found.times)
        if one.likely_um is not None and one.interval_um is not None
    ]
    target = found.target_um
    top = 1.08 * max(target, *(high for *_, high in known), 0.0)
    bottom = 0.0
    if top > STEEP * target:
        # What was far out at first would leave no room for the end.
        ax.set_yscale("log")
        bottom = min(target, *(likely for _, likely, *_ in known)) / 3
    ax.axhspan(bottom, target, color=ROOM, lw=0, label="room")
    ax.axhline(target, color="#8a6d1a", lw=1, ls=(0, (6, 3)), label="target")
    if known:
        at, likely, low, high = (
            np.array(column) for column in zip(*known, strict=True)
        )
        off = likely - np.maximum(low, bottom), high - likely
        drawn = ax.errorbar(at, likely, off, fmt="o-", color="#1a1a1a", ms=4.5)
        drawn.set_label("flatness")
    else:
        words = ax.text(0.5, 0.9, "flatness not measured", transform=ax.transAxes)
        words.set(ha="center", va="top")
    _scales(ax, bottom, float(top), "flatness")


def _form(ax: Axes, times: Sequence[Came]) -> None:
    ax.axhline(0, color="#888888", lw=0.8)
    ends = [1.0]
    for name, colour, style, off in (
        ("twist", TWIST, "o-", -0.08),
        ("bow along", CROWN, "s--", 0.08),
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
    marks, words = ax.get_legend_handles_labels()
    _key_over(ax, marks, words, 2)


def _bears(ax: Axes, times: Sequence[Came]) -> None:
    known = [(i, t.contact_percent) for i, t in enumerate(times)]
    at = [i for i, percent in known if percent is not None]
    ax.bar(at, [p for _, p in known if p is not None], 0.5, color=INK, label="bears")
    ax.set_ylim(0, 100)
    ax.set_yticks([0, 50, 100])
    ax.set_ylabel("bears, %")


def _strokes(ax: Axes, times: Sequence[Came], grits: Sequence[Grit]) -> None:
    kinds: dict[Grit, dict[str, Any]] = {
        grit: {
            "facecolor": GREYS[at % len(GREYS)],
            "hatch": HATCHES[at // len(GREYS) % len(HATCHES)],
            "edgecolor": "#333333",
            "lw": 0.7,
        }
        for at, grit in enumerate(grits)
    }
    for i, one in enumerate(times):
        floor = 0.0
        for grit, many in one.strokes:
            ax.bar(i - 0.5, many, 0.5, bottom=floor, label=grit.name, **kinds[grit])
            floor += many
    ax.set_ylabel("strokes")
    if grits:
        marks = [Patch(**kind) for kind in kinds.values()]
        _key_over(ax, marks, [grit.name for grit in grits], GRITS_IN_A_ROW)
    else:
        ax.set_yticks([])


def _key_over(
    ax: Axes, marks: Sequence[Artist], words: Sequence[str], columns: int
) -> None:
    ax.legend(
        marks,
        words,
        loc="lower left",
        bbox_to_anchor=(0, 0.97),
        ncols=columns,
        frameon=False,
        borderpad=0,
        labelspacing=0.2,
        handletextpad=0.4,
        columnspacing=1.0,
    )


def _labelled(times: Sequence[Came]) -> list[int]:
    """Give the times for whose words there is room, the last among them."""
    every = -(-len(times) // MOST_LABELS)
    return list(range(len(times) - 1, -1, -every))


def _dates(ax: Axes, times: Sequence[Came]) -> None:
    at = _labelled(times)
    ax.set_xticks(at, [when_short(times[i]).replace("in ", "in\n") for i in at])
    ax.tick_params(labelbottom=True)


def _advice(ax: Axes, times: Sequence[Came]) -> None:
    for i in _labelled(times):
        said = times[i].advised
        if said is not None:
            down = -72 * DATES_IN
            words = ax.annotate("\n".join(said.split()), (i, 0), xytext=(0, down))
            words.xycoords = ("data", "axes fraction")
            words.set_anncoords("offset points")
            words.set(ha="center", va="top")


def _scales(ax: Axes, low: float, high: float, name: str) -> None:
    ax.set_ylim(low, high)
    thou = ax.secondary_yaxis("right", functions=(thou_of, um_of))
    if ax.get_yscale() == "linear":
        # The scale above ends where this one begins, and a 0 must be seen.
        clear = CLEAR * (high - low)
        low, high = low + clear * (low < 0), high - clear
        ax.set_yticks(round_ticks(low, high, 4))
        thou.set_yticks(round_ticks(low / UM_PER_THOU, high / UM_PER_THOU, 4))
    else:
        for axis in (ax.yaxis, thou.yaxis):
            axis.set_major_formatter("{x:g}")
            axis.set_minor_formatter("")
    ax.set_ylabel(f"{name} µm".strip())
    thou.set_ylabel("thou")
    ax.grid(axis="y", lw=0.4, color="#cccccc")
    ax.set_axisbelow(True)
