"""How long a network of lines takes, as ratios to what it cannot do without.

Run with ``python -m tests.benchmarks.bench_network`` on a quiet machine. The network is
the union jack of a plate with 55 stations on 8 lines, read by autocollimator.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from lapping.methods.level import take_level
from lapping.methods.network import adjust
from lapping.readings_file import read_file
from tests.benchmarks.bench_command import best, sixty_readings

ROUNDS = 200
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


def best_of(works: list[Callable[[], object]]) -> list[float]:
    """Time each piece of work in turn, ROUNDS times; give the best of each."""
    found = [float("inf")] * len(works)
    for _ in range(ROUNDS):
        for i, work in enumerate(works):
            start = time.perf_counter()
            work()
            found[i] = min(found[i], time.perf_counter() - start)
    return found


def main() -> None:
    """Print each ratio with its goal."""
    with tempfile.TemporaryDirectory() as folder:
        jack, dial = union_jack(Path(folder)), sixty_readings(Path(folder))
        readings = read_file(jack)
        obs = take_level(readings).observations
        design = np.concatenate([obs.weights, obs.unknowns], axis=1)
        ours, plain = best_of(
            [
                lambda: adjust(readings.face, obs),
                lambda: np.linalg.lstsq(design, obs.value_um, rcond=None),
            ]
        )
        command = [sys.executable, "-m", "lapping", "check"]
        subprocess.run([*command, str(jack)], check=True, capture_output=True)
        times = best({"network": [*command, str(jack)], "dial": [*command, str(dial)]})
    stations = obs.along_mm.size
    _say(f"adjust {stations} stations / numpy lstsq", ours / plain, 3.0)
    _say("check it / check 60 dial readings", times["network"] / times["dial"], 1.2)


def _say(what: str, ratio: float, goal: float) -> None:
    word = "pass" if ratio <= goal else "MISSED"
    print(f"{what:42} {ratio:5.2f}, goal {goal:g}: {word}")


if __name__ == "__main__":
    main()
