"""How long a network of lines takes, as ratios to what it cannot do without.

The network is the union jack of a plate with 55 stations on 8 lines, read by
autocollimator.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from lapping.methods.level import take_level
from lapping.methods.network import adjust
from lapping.readings_file.reading import read_file
from tests.benchmarks.bench_command import sixty_readings
from tests.benchmarks.ratios import Figure, command, in_turn, tell

LINES = (
    ((0, 0), (800, 600), 10),
    ((0, 600), (800, 0), 10),
    ((0, 0), (800, 0), 8),
    ((0, 600), (800, 600), 8),
    ((0, 0), (0, 600), 6),
    ((800, 0), (800, 600), 6),
    ((0, 300), (800, 300), 8),
    ((400, 0), (400, 600), 6),
)
HEADER = """# method: level
# face: lap
# length: 800 mm
# width: 600 mm
# unit: um/m
# datum: line
line,along_1,across_1,along_2,across_2,slope
"""


def union_jack(folder: Path) -> Path:
    """Write the slopes of an invented plate with two bows and a twist."""
    rows = []
    for number, (start, stop, steps) in enumerate(LINES):
        places = np.linspace(start, stop, steps + 1)
        x, y = (places[:, 0] - 400) / 400, (places[:, 1] - 300) / 300
        rise = np.diff(-8 * x**2 + 4 * y**2 + 6 * x * y)
        apart = np.hypot(*np.diff(places, axis=0).T)
        rows += [
            f"line {number},{a[0]:g},{a[1]:g},{b[0]:g},{b[1]:g},{1e3 * r / d:.2f}"
            for a, b, r, d in zip(places[:-1], places[1:], rise, apart, strict=True)
        ]
    path = folder / "union_jack.csv"
    path.write_text(HEADER + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def measure() -> Iterator[Figure]:
    """Time the adjustment and the whole command."""
    with tempfile.TemporaryDirectory() as folder:
        jack, dial = union_jack(Path(folder)), sixty_readings(Path(folder))
        readings = read_file(jack)
        obs = take_level(readings).observations
        design = np.concatenate([obs.weights, obs.unknowns], axis=1)
        fits = in_turn(
            {
                "ours": lambda: adjust(readings.face, obs),
                "plain": lambda: np.linalg.lstsq(design, obs.value_um, rcond=None),
            },
            rounds=200,
        )
        check = [sys.executable, "-m", "lapping", "check"]
        command([*check, str(jack)])()
        times = in_turn(
            {
                "network": command([*check, str(jack)]),
                "dial": command([*check, str(dial)]),
            },
            rounds=9,
        )
    yield Figure(
        what=f"adjustment of {obs.along_mm.size} stations / numpy lstsq",
        value=fits["ours"] / fits["plain"],
        goal=3,
        bound="the singular values, wanted for the unseen shapes",
    )
    yield Figure(
        what="`lapping check` on it / on 60 dial readings",
        value=times["network"] / times["dial"],
        goal=1.2,
        bound="the same posterior",
    )


if __name__ == "__main__":
    tell(measure())
