"""How cost grows: with readings, sessions in the log, photos and strokes.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.growth [readings|sessions|...]

Commands are timed whole, as their user waits for them. There are no goals here; what
matters is that nothing grows out of hand.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lapping.log.opening import open_log
from lapping.zone.minimum_zone import minimum_zone
from tests.benchmarks.bench_command import HEADER
from tests.benchmarks.bench_log import fill

ROOT = Path(__file__).resolve().parents[2]
Column = NDArray[np.float64]
Timed = tuple[str, int, float, float]
READINGS = (30, 300, 3000, 30_000, 60_000)
"""A file of more than 200,000 cells is refused: one file holds one face."""
PLACES = (30, 300, 3000, 30_000, 300_000, 1_000_000)
SESSIONS = (10, 100, 1000, 10_000)
PHOTOS = (1, 10, 50, 200)
STROKES = (100, 1000, 10_000, 100_000)


def run(words: Sequence[str], env: dict[str, str] | None = None) -> tuple[float, float]:
    """Give the seconds and the most MB that a command takes; it has to answer."""
    began = time.perf_counter()
    child = subprocess.Popen(
        [sys.executable, "-m", "lapping", *words],
        stdout=subprocess.DEVNULL,
        env=os.environ | (env or {}),
    )
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    assert child.returncode == 0, words
    return time.perf_counter() - began, used.ru_maxrss / 1024


def own_mb() -> float:
    """Give the most memory that this process has taken so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def invented(n: int) -> tuple[Column, Column, Column]:
    """Give places and heights of a hollow, twisted sole, read with noise of 1 µm."""
    rng = np.random.default_rng(1)
    along, across = rng.uniform(5, 245, n), rng.uniform(4, 56, n)
    height = (along - 125) ** 2 / 500 + (along - 125) * (across - 30) / 150
    return along, across, height + rng.normal(size=n)


def readings(folder: Path) -> Iterator[Timed]:
    """Find the exact zone of ever more places, and check dial files of them."""
    for n in READINGS:
        rows = (
            f"{a:.3f},{c:.3f},{2 * round(z / 2)}"
            for a, c, z in zip(*invented(n), strict=True)
        )
        path = folder / f"{n}.csv"
        path.write_text(HEADER + "\n".join(rows) + "\n", encoding="utf-8")
        yield "`lapping check`, readings", n, *run(["check", str(path)])
    for n in PLACES:
        along, across, height = invented(n)
        began = time.perf_counter()
        minimum_zone(along, across, height)
        yield "exact minimum zone, places", n, time.perf_counter() - began, own_mb()


def sessions(folder: Path) -> Iterator[Timed]:
    """Look back on logs of ever more sessions, one face of ten in each."""
    for n in SESSIONS:
        path = folder / f"{n}.lapping"
        with open_log(path) as log:
            fill(log, 10, n)
        for words in (
            ("strokes", "Bramble 0/sole", "P240", "100"),
            ("log", "show", "Bramble 0/sole"),
            ("advice", "Bramble 0/sole"),
            ("progress", "Bramble 0/sole"),
        ):
            used = run(words, {"LAPPING_LOG": str(path)})
            command = " ".join(words[: 2 if words[0] == "log" else 1])
            yield f"`lapping {command}`, sessions of ten planes", n, *used


def photos(folder: Path) -> Iterator[Timed]:
    """Look through folders of ever more photos."""
    sample = ROOT / "sample_measurements" / "tansy_after.jpg"
    for n in PHOTOS:
        many = folder / f"{n}"
        many.mkdir()
        for number in range(n):
            shutil.copy(sample, many / f"{number:03}.jpg")
        words = ("scribble", str(many), "--length", "245mm", "--width", "62mm")
        used = run((*words, "--mouth", "80 mm to 86 mm", "--toe", "left"))
        yield "`lapping scribble FOLDER`, photos", n, *used


def strokes(folder: Path) -> Iterator[Timed]:
    """Wear a face by ever more strokes."""
    from lapping.wear.lap_model import rub
    from lapping.wear.lap_strokes import Rubbing
    from tests.benchmarks.bench_lap import CELLS, SHEET

    del folder
    a = CELLS.terms[:, 1]
    rough = np.random.default_rng(1).normal(size=len(CELLS)) * 10
    swung = Rubbing(load_n=40, stroke_mm=250, swing_along_mm=50)
    for n in STROKES:
        began = time.perf_counter()
        rub(CELLS, 80 * a**2 + rough, swung, SHEET, n)
        yield (
            "wear of 60 × 20 cells, strokes",
            n,
            time.perf_counter() - began,
            own_mb(),
        )


def main() -> None:
    """Print one table."""
    parts = {one.__name__: one for one in (readings, sessions, photos, strokes)}
    print("| what grows | to | seconds | most MB |\n| --- | --- | --- | --- |")
    for name in sys.argv[1:] or parts:
        with tempfile.TemporaryDirectory() as folder:
            for what, n, took, most in parts[name](Path(folder)):
                print(f"| {what} | {n:,} | {took:.2f} | {most:.0f} |", flush=True)


if __name__ == "__main__":
    main()
