"""What a face showed at one time, in words: the same in text, report and picture."""

from __future__ import annotations

from lapping.progress import Came
from lapping.units import MICROMETRES, HeightUnit
from lapping.words.figures import COVERS

BROUGHT_IN = "in: when it was brought in from a file; nobody said when it was read"
"""What the mark of `when_words` means."""


def when_words(one: Came) -> str:
    """Say when a face was read; with ``in`` before it, when that was brought in."""
    return _when(one, "%Y-%m-%d %H:%M", brought_in="%Y-%m-%d")


def when_short(one: Came) -> str:
    """Say the same for a picture: ``28 Nov``, ``in 28 Nov``."""
    return _when(one, "%d %b", brought_in="%d %b")


def _when(one: Came, read: str, *, brought_in: str) -> str:
    if one.at is not None:
        return one.at.astimezone().strftime(read)
    if one.entered_at is not None:
        return f"in {one.entered_at.astimezone().strftime(brought_in)}"
    return f"entry {one.number}"


def strokes_words(one: Came) -> str:
    """Say the strokes since the time before, by grit."""
    return " + ".join(f"{many:.0f} {grit.name}" for grit, many in one.strokes)


def flatness_words(one: Came, unit: HeightUnit = MICROMETRES) -> str:
    """Say the likely flatness and its range, without the unit."""
    if one.likely_um is None or one.interval_um is None:
        return "not all measured" if one.contact_percent is None else "not measured"
    likely, low, high = unit.rounded(one.likely_um, *one.interval_um)
    return f"{likely} ({low} to {high})"


def figure_words(
    pair: tuple[float, float] | None, unit: HeightUnit = MICROMETRES
) -> str:
    """Say twist or bow with its sign and its 95 % doubt, without the unit."""
    if pair is None:
        return ""
    value, u = pair
    said = unit.said(value, COVERS * u).removesuffix(f" {unit.name}")
    zero = said.startswith(("-", "0 "))
    return said if zero else f"+{said}"


def bears_words(one: Came) -> str:
    """Say how much of the face bore on the paper."""
    return "" if one.contact_percent is None else f"{one.contact_percent:.0f} %"
