"""How a face was measured: gauge, plate, places, and what stands behind the doubt."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lapping.answer import Answer
from lapping.html.lengths import Lengths
from lapping.readings import METHOD_NAMES, ReadingSet
from lapping.removal.job import Look
from lapping.words.figures import listed

_FOLDER = re.compile(r"^.*[/\\](?=[^/\\]+\.[^/\\.]+$)")
"""The way to a file; whoever is shown the report need not know this machine."""
DOUBT = (
    "The range of the flatness is that of all surfaces which the readings leave "
    "possible: noise of the gauge, shape of the plate or edge, and what a face may do "
    "between the places read. None of them is left out because it is small.",
    "± stands for two standard uncertainties (GUM, k = 2), which hold the truth in "
    "about 95 of 100 cases; a range in brackets holds it in 95 as it stands.",
    "Flat, or not flat, is said only where that is 95 % sure on its own side (in the "
    "spirit of ISO 14253-1); between them stands: cannot tell.",
    "Heights are counted from the best-fit plane; proud is positive.",
)


def measured(answer: Answer, look: Look, lengths: Lengths) -> list[tuple[str, str]]:
    """Give how the newest readings were taken, as labels with their texts."""
    found = [
        ("Places", f"{answer.points}, face up and counted from the toe-left corner")
    ]
    if answer.face.kind == "lap":
        found = [("Places", f"{answer.points}, counted from the near left corner")]
    if look.at is not None:
        found.append(("Read", f"{look.at.astimezone():%Y-%m-%d %H:%M}"))
    remark = look.remark
    if remark.warmer_k is not None:
        warmer = f"sole {remark.warmer_k:+.1f} K against the top, by thermometer"
        found.append(("Warmth", warmer))
    elif remark.warm is not None:
        found.append(("Warmth", "felt warm" if remark.warm else "read cold"))
    several = len(answer.sets) > 1
    for number, one in enumerate(answer.sets, start=1):
        label = f"Gauge {number}" if several else "Gauge"
        found.append((label, ", ".join(_gauge(one, lengths))))
        found.append((f"Plate {number}" if several else "Plate", _plate(one, lengths)))
    return found


def _gauge(one: ReadingSet, lengths: Lengths) -> Iterator[str]:
    yield f"{METHOD_NAMES[one.method]}, {len(one.readings)} readings in {one.unit}"
    if one.method == "level":
        worth = one.repeatability_um or one.resolution_um or one.step_um
        yield f"worth {worth:.2g} µm/m each"
    elif one.repeatability_um is not None:
        yield f"repeats to {lengths.said(one.repeatability_um)} (standard deviation)"
    elif one.method in ("dial", "straightedge") and not one.leaves_um:
        worth_um = one.resolution_um or one.step_um
        yield f"repeatability not stated, {lengths.said(worth_um)} taken"
    if one.leaves_um:
        sizes = f"{one.leaves_um[0]:g} to {one.leaves_um[-1]:g} µm"
        tolerance = f"each within {one.leaf_tolerance_um:g} µm"
        yield f"{len(one.leaves_um)} leaves, {sizes}, {tolerance}"
    if one.turned is not None:
        yield f"turned by a {one.turned}"


def _plate(one: ReadingSet, lengths: Lengths) -> str:
    if one.method == "level":
        return "none: counted from gravity" if one.datum == "gravity" else "none"
    if one.method == "winding":
        return "none: the sticks are taken for straight"
    if one.reference_flatness_um is None:
        return "flatness not stated, so all is relative to this plate or edge"
    said = f"flat within {lengths.said(one.reference_flatness_um)}"
    return f"{said}, grade {one.reference_grade}" if one.reference_grade else said


def sources(answer: Answer) -> str:
    """Say where the readings came from."""
    return listed(dict.fromkeys(_FOLDER.sub("", one.source) for one in answer.sets))
