"""The words round a face map: the verdict, the form, the spots, as lines that fit."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from lapping.answer import Answer
from lapping.places import place_words
from lapping.surface.form import Bow
from lapping.surface.spots import Spot
from lapping.units import HeightUnit
from lapping.words.figures import COVERS, bow_words, high_corners

TITLE_CHARS = 52


class Badge(NamedTuple):
    """A numbered spot: ``H1``, ``L2``, with ``?`` where it is doubtful."""

    name: str
    spot: Spot


def title_lines(answer: Answer) -> list[str]:
    """Give the verdict with the likely flatness, its interval and the target."""
    low, high = answer.likely.interval_um
    likely = answer.likely.likely_um
    word, unit = answer.verdict.capitalize(), answer.shown_in
    if likely is None or high is None:
        said = f"at least {unit.said(low)}, upper limit not known"
    else:
        said = f"likely {unit.range(likely, low, high)}"
    target = f"target {unit.limit(answer.target_um)} {unit.name}"
    lines = [f"{word}: {said}", target]
    whole = "; ".join(lines)
    return [whole] if len(whole) <= TITLE_CHARS else lines


def form_lines(answer: Answer) -> list[str]:
    """Give a line for twist, one for the two bows and one for what was not seen."""
    form, twist, unit = answer.form, answer.form.twist, answer.shown_in
    if twist is None:
        said = "Twist not measured"
    else:
        said = f"Twist {unit.said(abs(twist.um), COVERS * twist.u_um)}"
        corners = high_corners(answer.face, twist)
        said += f": {' and '.join(corners)} high" if corners else " (none clear)"
    ways = (("along", form.along_bow), ("across", form.across_bow))
    bows = "; ".join(_bow(way, bow, unit) for way, bow in ways)
    lines = [said, f"Bow {bows}"]
    if answer.unseen:
        lines.append(f"The map cannot show {', '.join(answer.unseen)}: not seen.")
    return lines


def _bow(way: str, bow: Bow | None, unit: HeightUnit) -> str:
    if bow is None:
        return f"{way}: not measured"
    return f"{way}: {bow_words(way, bow, unit)}"


def what_line(answer: Answer) -> str:
    """Say which face this is, how big, and from how many places."""
    face = answer.face
    return (
        f"{face.kind.capitalize()} {face.length_mm:g} × {face.width_mm:g} mm, "
        f"{answer.points} places read; ± and ranges cover 95 %"
    )


def badges(answer: Answer) -> Iterator[Badge]:
    """Number the high spots and then the low ones, the most prominent first."""
    for letter, found in (("H", answer.high_spots), ("L", answer.low_spots)):
        for number, spot in enumerate(found, start=1):
            yield Badge(f"{letter}{number}{'' if spot.sure else '?'}", spot)


def spot_line(answer: Answer, badge: Badge) -> str:
    """Say where a numbered spot is and how far it stands from the best-fit plane."""
    spot = badge.spot
    sign = "+" if spot.height_um > 0 else "−"
    return (
        f"{badge.name}  {place_words(answer.face, spot.along_mm, spot.across_mm)} "
        f"{sign}{answer.shown_in.said(abs(spot.height_um), COVERS * spot.u_um)}"
        + ("" if spot.sure else ", doubtful")
    )
