"""A face from its first reading to its last: small maps on one common scale.

Upright, with the toe at the top as it points away from you on the bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from lapping.errors import BadInput
from lapping.face import Face
from lapping.glance import Glance
from lapping.pictures.frame import WIDTH_IN, plain_style
from lapping.pictures.heights import draw_heights
from lapping.pictures.marks import TEXT_PT, draw_colour_bar
from lapping.pictures.page import Page
from lapping.pictures.plan import LEAST_UM, plan_surface, round_levels
from lapping.places import edge_names, end_names

MOST = 6
TALL_IN, WIDE_IN, GAP_IN = 2.6, 5.3, 0.14


def progress_maps(label: str, glances: Sequence[Glance]) -> Figure:
    """Draw the first and the last look at a face and some between, in one scale.

    BadInput where there is no look that shows a surface.
    """
    if not glances:
        message = f"{label}: nothing was read that shows a surface; read it first"
        raise BadInput(message)
    with plain_style():
        return _page(label, _few(glances))


def _few(glances: Sequence[Glance]) -> list[Glance]:
    """Give the first, the last, and as many evenly between as there is room for."""
    many = min(MOST, len(glances))
    at = np.linspace(0, len(glances) - 1, many).round().astype(int)
    return [glances[i] for i in at.tolist()]


def _page(label: str, shown: Sequence[Glance]) -> Figure:
    plans = [plan_surface(g.surface, g.look.sets, unseen=bool(g.unseen)) for g in shown]
    most = max(float(np.nanmax(np.abs(p.height_um), initial=LEAST_UM)) for p in plans)
    levels = round_levels(most)
    face = shown[0].surface.face
    each = (WIDE_IN - GAP_IN * (MOST - 1)) / MOST
    scale = min(each / face.width_mm, TALL_IN / face.length_mm)
    wide, tall = face.width_mm * scale, face.length_mm * scale
    page = Page(0.12 + 0.225 + 0.185 + 0.4 + tall + 1.0 + 0.95)
    page.say(label, weight="bold", size=12.5, step=0.225)
    top, side = end_names(face)[0].capitalize(), edge_names(face)[0]
    page.say(f"{top} at the top, {side} at the left; all in one scale")
    page.skip(0.3)
    whole = each * len(shown) + GAP_IN * (len(shown) - 1)
    left = (WIDTH_IN - whole) / 2 + (each - wide) / 2
    for i, (one, plan) in enumerate(zip(shown, plans, strict=True)):
        ax = page.axes(left + i * (each + GAP_IN), wide, tall, f"map {i}")
        draw_heights(
            ax,
            replace(plan, levels_um=levels),
            upright=True,
        )
        _outline(ax, face)
        ax.set_xlabel(_words(one), size=TEXT_PT, labelpad=4)
    page.skip(tall + 1.0)
    bar = page.axes(0.7, 4.6, 0.14, "colour bar")
    draw_colour_bar(page.figure, bar, levels)
    return page.figure


def _words(one: Glance) -> str:
    at = one.look.at
    when = "" if at is None else f"{at.astimezone():%d %b}\n"
    if one.likely_um is None:
        return f"{when}not all\nmeasured"
    return f"{when}{one.likely_um:.0f} µm"


def _outline(ax: Axes, face: Face) -> None:
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
