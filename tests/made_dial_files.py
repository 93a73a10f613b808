"""Invented readings files of faces of every size and shape, for what draws them."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from functools import cache
from itertools import product
from pathlib import Path

import numpy as np

from lapping.answer import Answer, answer
from lapping.readings_file.reading import read_file

MOUTH = "# mouth: 80 mm to 86 mm, across 6 mm to 54 mm\n"
HOLES = "# holes: 40,12,4; 40,48,4\n"

Shape = Callable[[float, float], float]
"""Height in µm over places scaled to -1 ... +1 along and across."""


def dial_text(
    length: float,
    width: float,
    shape: Shape,
    counts: tuple[int, int] = (6, 3),
    extra: str = "",
    kind: str = "sole",
) -> str:
    """Give an invented dial file; places in the mouth are left out."""
    rows = [
        f"{a:.1f},{c:.1f},{shape(2 * a / length - 1, 2 * c / width - 1):.1f}"
        for a, c in product(
            np.linspace(5, length - 5, counts[0]), np.linspace(4, width - 4, counts[1])
        )
        if not ("mouth" in extra and 79 < a < 87)
    ]
    return (
        f"# invented data\n# method: dial\n# face: {kind}\n# length: {length:g} mm\n"
        f"# width: {width:g} mm\n# unit: um\n# sense: high-positive\n"
        f"# repeatability: 2 um\n{extra}along,across,reading\n" + "\n".join(rows) + "\n"
    )


def twisted(x: float, y: float) -> float:
    return 45 * x * y - 20 * x * x


def wild(x: float, y: float) -> float:
    return 4000 * float(np.sin(37 * x + 91 * y * y))


FEELER = """\
# invented data
# method: feeler
# face: sole
# length: 250 mm
# width: 60 mm
# unit: mm
# leaves: 0.03, 0.05, 0.08, 0.10, 0.15, 0.20
along,across,goes
2,2,0
2,58,0.05
60,2,0.03
60,58,0.05
125,2,0.05
125,58,0.03
190,2,0.08
190,58,0
248,2,0.10
248,58,0
2,30,0.03
248,30,0.05
"""

CASES = {
    "plain": dial_text(250, 60, twisted, extra=MOUTH + HOLES),
    "small": dial_text(150, 40, twisted, (5, 3)),
    "long": dial_text(600, 76, lambda x, y: 60 * x * y - 90 * x * x, (12, 3)),
    "many": dial_text(
        250, 60, lambda x, y: twisted(x, y) + 9 * np.sin(19 * x), (50, 6)
    ),
    "level": dial_text(250, 60, lambda x, y: 0.0, extra=MOUTH + HOLES),
    "wild": dial_text(250, 60, wild, (6, 4)),
    "side": dial_text(
        250, 50, lambda x, y: 30 * x * x, extra="# left_edge: top\n", kind="side"
    ),
    "lap": dial_text(300, 200, lambda x, y: 30 * x * x, (6, 5), kind="lap"),
    "three": dial_text(250, 60, lambda x, y: 0.0, (2, 2)).rsplit("245", 1)[0],
    "two rows": dial_text(250, 60, lambda x, y: 30 * x * x, (7, 2)),
    "open mouth": dial_text(250, 60, twisted, extra="# mouth: 80 mm to 86 mm\n"),
    "feeler": FEELER,
    "thou": dial_text(250, 60, lambda x, y: 2 * x * y - x * x)
    .replace("# unit: um", "# unit: thou\n# target: 3 thou")
    .replace("repeatability: 2 um", "repeatability: 0.1 thou"),
}


@cache
def solve(name: str) -> Answer:
    """Answer for one of the cases, once for all tests."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.csv"
        path.write_text(CASES[name], encoding="utf-8")
        return answer([read_file(path)])
