"""Invented histories of a face as `progress` has them, with no reading behind them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

from lapping.grits import parse_grit
from lapping.progress import Came, Progress

STARTED = datetime(2031, 1, 5, 20, tzinfo=UTC)
GRADES = ("P80", "P120", "P150", "P180", "P220", "P320", "P400")


def came(number: int, of: int, likely_um: float | None = None) -> Came:
    """Give one of so many evenings, on finer and finer paper."""
    grit = parse_grit(GRADES[number * len(GRADES) // of])
    likely = 300 * 0.85**number if likely_um is None else likely_um
    return Came(
        number=2 * number + 1,
        at=STARTED + timedelta(days=number),
        strokes=((grit, 100.0),) if number else (),
        likely_um=likely,
        interval_um=(0.8 * likely, 1.3 * likely),
        twist_um=(likely / 3, 5.0),
        along_bow_um=(-likely / 2, 3.0),
    )


def evenings(many: int) -> list[Came]:
    """Give so many evenings in a row."""
    return [came(i, many) for i in range(many)]


def only_bore(one: Came, percent: float) -> Came:
    """Take away what was read, and say what bore."""
    bare = Came(number=one.number, at=None, strokes=one.strokes)
    return replace(bare, contact_percent=percent)


def history(
    times: Iterable[Came], label: str = "Bramble/sole", target_um: float = 80.0
) -> Progress:
    """Put times together."""
    return Progress(
        label=label,
        target_um=target_um,
        times=tuple(times),
        grits=(),
        since=0,
        chance=None,
        strokes_left=None,
    )
