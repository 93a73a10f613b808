"""A face from its first reading to its last: small maps on one common scale.

Upright, with the toe at the top as it points away from you on the bench.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from matplotlib.figure import Figure

from lapping.errors import BadInput
from lapping.face import Face
from lapping.pictures.frame import WIDTH_IN, draw_upright, plain_style
from lapping.pictures.heights import draw_heights
from lapping.pictures.marks import TEXT_PT, draw_colour_bar
from lapping.pictures.page import (
    BAR_LEFT_IN,
    BAR_TALL_IN,
    BAR_WIDE_IN,
    EDGE_IN,
    LINE_IN,
    Page,
    title_in,
)
from lapping.pictures.plan import LEAST_UM, plan_surface, round_levels
from lapping.places import edge_names, end_names
from lapping.removal.glance import Glance

MOST = 6
TALL_IN, GAP_IN = 2.6, 0.14
EACH_IN = (5.3 - GAP_IN * (MOST - 1)) / MOST
HEAD_IN, FOOT_IN, BAR_IN = 0.1, 0.85, 0.6


def progress_maps(label: str, glances: Sequence[Glance]) -> Figure:
    """Draw the first and the last look at a face and some between, in one scale.

    BadInput where there is no look that shows a surface.
    """
    if not glances:
        message = f"{label}: nothing was read that shows a surface; read it first"
        raise BadInput(message)
    with plain_style():
        page = Page(2 * EDGE_IN + title_in(label) + maps_tall_in(glances))
        page.title(label)
        draw_maps(page, glances)
        return page.figure


def maps_tall_in(glances: Sequence[Glance]) -> float:
    """Give how tall the row of maps is, with its words and its colour bar."""
    return LINE_IN + HEAD_IN + _size_in(glances[0].face)[1] + FOOT_IN + BAR_IN


def draw_maps(page: Page, glances: Sequence[Glance]) -> None:
    """Set the row of maps below all else."""
    shown = _few(glances)
    plans = [plan_surface(g.surface, g.look.sets, unseen=bool(g.unseen)) for g in shown]
    most = max(float(np.nanmax(np.abs(p.height_um), initial=LEAST_UM)) for p in plans)
    levels = round_levels(most)
    face = shown[0].face
    wide, tall = _size_in(face)
    top, side = end_names(face)[0].capitalize(), edge_names(face)[0]
    page.say(f"{top} at the top, {side} at the left; all in one scale of colours")
    page.skip(HEAD_IN)
    whole = EACH_IN * len(shown) + GAP_IN * (len(shown) - 1)
    left = (WIDTH_IN - whole) / 2 + (EACH_IN - wide) / 2
    for i, (one, plan) in enumerate(zip(shown, plans, strict=True)):
        ax = page.axes(left + i * (EACH_IN + GAP_IN), wide, tall, f"map {i}")
        draw_heights(ax, replace(plan, levels_um=levels), upright=True)
        draw_upright(ax, face)
        ax.set_xlabel(_words(one), size=TEXT_PT, labelpad=4)
    page.skip(tall + FOOT_IN)
    bar = page.axes(BAR_LEFT_IN, BAR_WIDE_IN, BAR_TALL_IN, "colour bar")
    draw_colour_bar(page.figure, bar, levels)
    page.skip(BAR_IN)


def _size_in(face: Face) -> tuple[float, float]:
    scale = min(EACH_IN / face.width_mm, TALL_IN / face.length_mm)
    return face.width_mm * scale, face.length_mm * scale


def _few(glances: Sequence[Glance]) -> list[Glance]:
    """Give the first, the last, and as many evenly between as there is room for."""
    many = min(MOST, len(glances))
    at = np.linspace(0, len(glances) - 1, many).round().astype(int)
    return [glances[i] for i in at.tolist()]


def _words(one: Glance) -> str:
    at = one.look.at
    into = one.look.entered_at
    when = "" if into is None else f"in {into.astimezone():%d %b}\n"
    if at is not None:
        when = f"{at.astimezone():%d %b}\n"
    if one.likely_um is None:
        return f"{when}not all\nmeasured"
    return f"{when}{one.likely_um:.0f} µm"
