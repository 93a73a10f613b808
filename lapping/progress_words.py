"""Progress on one screen, and as JSON."""

from __future__ import annotations

from typing import Any

import numpy as np

from lapping.came_words import (
    BROUGHT_IN,
    bears_words,
    figure_words,
    flatness_words,
    strokes_words,
    when_words,
)
from lapping.plain_map import Signs, spark_line
from lapping.progress import Came, GritUsed, Progress
from lapping.units import MICROMETRES, format_um

SHOWN = 14
"""So many times fit on a screen; the first and the newest are shown."""
COLUMNS = ("When", "Strokes before", "Flatness µm", "Twist µm", "Bow along µm", "Bears")
FEWEST_SPARKS, MOST_SPARKS = 2, 40
WIDTHS = (17, 18, 17, 11, 13, 5)


def progress_words(progress: Progress) -> str:
    """Give a line for each time the face was looked at, then grits and what is left."""
    lines = [
        f"{progress.label}: {progress.target_um:g} µm allowed",
        "",
        _columns(COLUMNS),
    ]
    lines += _lines(progress.times)
    if not progress.times:
        lines.append("nothing was read yet")
    if any(when_words(one).startswith("in ") for one in progress.times):
        lines.append(BROUGHT_IN)
    lines.append("")
    lines += [_grit(one) for one in progress.grits]
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
    }


def spark_words(progress: Progress, signs: Signs) -> str:
    """Give the flatness of every time as one character, first and last in words."""
    likely = [one.likely_um for one in progress.times][-MOST_SPARKS:]
    known = [um for um in likely if um is not None]
    if len(known) < FEWEST_SPARKS:
        return ""
    values = np.array([np.nan if um is None else um for um in likely])
    line = spark_line(values, max(*known, progress.target_um), signs)
    return signs.said(
        f"Flatness {format_um(known[0])} {line} {format_um(known[-1])}, "
        f"{progress.target_um:g} allowed"
    )


def _lines(times: tuple[Came, ...]) -> list[str]:
    shown = [_line(one) for one in times]
    if len(shown) <= SHOWN:
        return shown
    hidden = len(shown) - SHOWN
    return [shown[0], f"... {hidden} more ...", *shown[1 - SHOWN :]]


def _line(one: Came) -> str:
    return _columns(
        (
            when_words(one),
            strokes_words(one),
            flatness_words(one),
            figure_words(one.twist_um),
            figure_words(one.along_bow_um),
            bears_words(one),
        )
    )


def _columns(cells: tuple[str, ...]) -> str:
    laid = (f"{cell:<{wide}}" for cell, wide in zip(cells, WIDTHS, strict=True))
    return " ".join(laid).rstrip()


def _grit(one: GritUsed) -> str:
    rate, bare = one.rate, MICROMETRES.bare
    how = "assumed, an order of magnitude" if rate.assumed else "learnt here"
    return (
        f"{one.grit.name}: {one.strokes:.0f} strokes; takes off {bare(rate.low_um)} to "
        f"{bare(rate.high_um)} µm in 100 strokes ({how})"
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
