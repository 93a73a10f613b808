"""A face map and a line of progress in plain characters, for a terminal.

Landscape with the toe at the left, as all pictures. Darker stands prouder, and the line
below says by how much.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.grid import metal_mask
from lapping.pictures.plan import BLANK, FineSurface
from lapping.places import edge_names, end_names
from lapping.units import HeightUnit

Array = NDArray[np.float64]

WIDEST, NARROWEST, TALLEST = 60, 16, 12
TALL = 2.1
"""A character is so many times taller than wide."""
STEPS = (-0.6, -0.2, 0.2, 0.6)
"""Where the shades change, as shares of the largest height."""
NOT_SEEN, NO_METAL = "/", " "


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """Characters from hollow to proud, and from nothing to all; what is not known."""

    shades: str
    bars: str
    unknown: str
    plain: bool

    def said(self, text: str) -> str:
        """Write a line so that the terminal can show it."""
        if not self.plain:
            return text
        return text.replace("µ", "u").replace("−", "-").replace("±", "+/-")


BLOCKS = Signs(shades="·░▒▓█", bars="▁▂▃▄▅▆▇█", unknown="·", plain=False)
ASCII = Signs(shades=".:+*#", bars="_.-=+*%#", unknown=" ", plain=True)


def plain_map(answer: Answer, signs: Signs, columns: int) -> list[str]:
    """Draw the heights on lines that fit; none where nothing can be drawn.

    None either where a bow or twist is unseen, because any height of it may be so.
    """
    first, last = end_names(answer.face)
    beside = len(first) + len(last) + 6
    wide = min(WIDEST, columns - beside)
    if answer.unseen or wide < NARROWEST:
        return []
    face = answer.face
    tall = wide * face.width_mm / face.length_mm / TALL
    if tall > TALLEST:
        wide, tall = round(wide * TALLEST / tall), TALLEST
    tall = max(3, round(tall))
    along = (np.arange(wide) + 0.5) * face.length_mm / wide
    across = (np.arange(tall) + 0.5) * face.width_mm / tall
    fine = FineSurface.of(answer.surface, answer.sets, unseen=False)
    height = fine.height_um(along, across)
    near = fine.near(along, across) >= BLANK
    if not near.any():
        return []
    floor = 0.0 if answer.floor is None else answer.floor.clear_um / 2
    most = max(float(np.abs(height[near]).max()), floor, 1.0)
    shades = np.array(list(signs.shades))[np.digitize(height / most, STEPS)]
    drawn = np.where(near, shades, NOT_SEEN)
    drawn[~metal_mask(face, along, across)] = NO_METAL
    low, high = edge_names(face)
    margin = " " * (len(first) + 2)
    middle = tall // 2
    lines = [margin + high.center(wide + 2).rstrip(), f"{margin}+{'-' * wide}+"]
    for i, row in enumerate(drawn.T[::-1]):
        left, right = (first, f" {last}") if i == middle else ("", "")
        lines.append(f"{left:>{len(first)}}  |{''.join(row)}|{right}")
    lines += [lines[1], margin + low.center(wide + 2).rstrip()]
    told = [
        *_told(signs, most, answer.shown_in),
        *([f"{NOT_SEEN} not seen"] if not near.all() else []),
    ]
    return [signs.said(line) for line in [*lines, "  ".join(told)]]


def _told(signs: Signs, most_um: float, unit: HeightUnit) -> list[str]:
    """Say what the shades mean, from proud to hollow."""
    small, large = (unit.bare(share * most_um) for share in STEPS[2:])
    hollow, low, level, high, proud = tuple(signs.shades)
    return [
        f"{proud} over +{large}",
        f"{high} over +{small}",
        f"{level} ±{small}",
        f"{low} under −{small}",
        f"{hollow} under −{large} {unit.name}",
    ]


def spark_line(values: Array, most: float, signs: Signs) -> str:
    """Draw values from 0 to ``most`` as one character each; NaN is not known."""
    steps = len(signs.bars)
    return "".join(
        signs.unknown
        if np.isnan(value)
        else signs.bars[min(steps - 1, int(value / most * steps))]
        for value in values
    )
