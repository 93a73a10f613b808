"""Progress on one screen, and as JSON."""

from __future__ import annotations

import textwrap
from dataclasses import asdict
from typing import Any

import numpy as np

from lapping.progress import Came, GritUsed, Progress
from lapping.units import HeightUnit
from lapping.words.budgets import budget_words
from lapping.words.came import (
    BROUGHT_IN,
    bears_words,
    figure_words,
    flatness_words,
    strokes_words,
    when_words,
)
from lapping.words.labelled import WIDTH
from lapping.words.plain_map import Signs, spark_line

SHOWN = 14
"""So many times fit on a screen; the first and the newest are shown."""
COLUMNS = ("When", "Strokes before", "Flatness", "Twist", "Bow along", "Bears")
HEIGHTS = COLUMNS[2:5]
FEWEST_SPARKS, MOST_SPARKS = 2, 40


def progress_words(progress: Progress) -> str:
    """Give a line for each time the face was looked at, then grits and what is left."""
    unit = progress.shown_in
    lines = [
        f"{progress.label}: {unit.limit(progress.target_um)} {unit.name} allowed",
        "",
        *_lines(progress.times, unit),
    ]
    if not progress.times:
        lines.append("no heights were read yet")
    if any(when_words(one).startswith("in ") for one in progress.times):
        lines.append(BROUGHT_IN)
    lines.append("")
    lines += [_grit(one, unit) for one in progress.grits]
    for name, phrase in budget_words(progress, unit):
        lines += textwrap.wrap(f"{name}: {phrase}", WIDTH, subsequent_indent="  ")
    lines.append(_left(progress))
    return "\n".join(lines)


def progress_to_json(progress: Progress) -> dict[str, Any]:
    """Give the same as plain lists and numbers; what is not known is None."""
    return {
        "face": progress.label,
        "target_um": progress.target_um,
        "times": [
            {
                "entry": one.number,
                "at": None if one.at is None else one.at.isoformat(),
                "entered_at": (
                    None if one.entered_at is None else one.entered_at.isoformat()
                ),
                "strokes": [
                    {"grit": grit.name, "strokes": many} for grit, many in one.strokes
                ],
                "likely_um": one.likely_um,
                "interval_um": _list(one.interval_um),
                "twist_um": _with_u(one.twist_um),
                "along_bow_um": _with_u(one.along_bow_um),
                "contact_percent": one.contact_percent,
            }
            for one in progress.times
        ],
        "grits": [
            {
                "grit": one.grit.name,
                "strokes": one.strokes,
                "sheets": one.sheets,
                "um_per_100_strokes": [
                    one.rate.low_um,
                    one.rate.middle_um,
                    one.rate.high_um,
                ],
                "assumed": one.rate.assumed,
            }
            for one in progress.grits
        ],
        "strokes_since_read": progress.since,
        "chance_done": progress.chance,
        "strokes_left": _list(progress.strokes_left),
        "spent": None if progress.spent is None else asdict(progress.spent),
        "squareness": [
            {
                "side": one.side,
                "entry": one.number,
                "um": one.found.um,
                "u_um": one.found.u_um,
                "over_mm": one.found.over_mm,
            }
            for one in progress.squares
        ],
    }


def spark_words(progress: Progress, signs: Signs) -> str:
    """Give the flatness of every time as one character, first and last in words."""
    likely = [one.likely_um for one in progress.times][-MOST_SPARKS:]
    known = [um for um in likely if um is not None]
    if len(known) < FEWEST_SPARKS:
        return ""
    values = np.array([np.nan if um is None else um for um in likely])
    unit = progress.shown_in
    line = spark_line(values, max(*known, progress.target_um), signs)
    return signs.said(
        f"Flatness {unit.said(known[0])} {line} {unit.said(known[-1])}, "
        f"{unit.limit(progress.target_um)} allowed"
    )


def _lines(times: tuple[Came, ...], unit: HeightUnit) -> list[str]:
    """Lay the times under their heads, in columns as wide as they need."""
    hidden = max(0, len(times) - SHOWN)
    if hidden:
        times = (times[0], *times[1 - SHOWN :])
    heads = (f"{one} {unit.name}" if one in HEIGHTS else one for one in COLUMNS)
    rows = [tuple(heads), *(_cells(one, unit) for one in times)]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    head, *shown = ["  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]
    if hidden:
        shown.insert(1, f"... {hidden} more ...")
    return [head, *shown]


def _cells(one: Came, unit: HeightUnit) -> tuple[str, ...]:
    return (
        when_words(one),
        strokes_words(one),
        flatness_words(one, unit),
        figure_words(one.twist_um, unit),
        figure_words(one.along_bow_um, unit),
        bears_words(one),
    )


def _grit(one: GritUsed, unit: HeightUnit) -> str:
    rate, bare = one.rate, unit.bare
    how = "assumed, an order of magnitude" if rate.assumed else "learnt here"
    return (
        f"{one.grit.name}: {one.strokes:.0f} strokes; takes off {bare(rate.low_um)} to "
        f"{bare(rate.high_um)} {unit.name} in 100 strokes ({how})"
    )


def _left(progress: Progress) -> str:
    if progress.strokes_left is None:
        return "Strokes left: cannot tell; the face was not all measured"
    few, many = progress.strokes_left
    since = f", {progress.since:.0f} of them made since" if progress.since else ""
    if many == 0:
        return "Strokes left: none, as far as was read"
    return f"Strokes left from the last reading: {few} to {many}{since}"


def _list(pair: tuple[float, float] | None) -> list[float] | None:
    return None if pair is None else list(pair)


def _with_u(pair: tuple[float, float] | None) -> dict[str, float] | None:
    return None if pair is None else {"um": pair[0], "u_um": pair[1]}
