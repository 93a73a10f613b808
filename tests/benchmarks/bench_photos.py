"""How long a scribble photo takes, as ratios to one full decode of the same file.

    python -m tests.benchmarks.bench_photos

The photos are the drawn samples brought to twelve megapixels, with a sensor's noise so
that they pack like a phone's.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np

from lapping.face import Face, Mouth
from lapping.photo.look import look

SAMPLES = Path(__file__).resolve().parents[2] / "sample_measurements"
FACE = Face(length_mm=245, width_mm=62, mouth=Mouth(from_mm=80, to_mm=86))
SIZE = (4000, 3000)
GOALS = {"one photo": 1.5, "a pair": 2.5}
MOST_MB = 200
TIMES = 9


def large(name: str, folder: Path) -> Path:
    """Write a sample photo at twelve megapixels."""
    small = cv2.imread(str(SAMPLES / name))
    assert small is not None
    noise = np.random.default_rng(1).normal(0, 6, (SIZE[1], SIZE[0], 3))
    wide = cv2.resize(small, SIZE, interpolation=cv2.INTER_CUBIC) + noise
    path = folder / name
    cv2.imwrite(
        str(path),
        np.clip(wide, 0, 255).astype(np.uint8),
        [cv2.IMWRITE_JPEG_QUALITY, 92],
    )
    return path


def best(run: Callable[[], object]) -> float:
    """Give the middle time of a few runs; the first does not count."""
    taken = []
    for _ in range(TIMES + 1):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return float(np.median(taken[1:]))


def main() -> None:
    """Print the table."""
    if sys.argv[1:2] == ["--one"]:
        look(Path(sys.argv[2]), FACE, before=Path(sys.argv[3]), toe="left")
        status = Path("/proc/self/status").read_text("ascii")
        print(int(status.partition("VmHWM:")[2].split()[0]) / 1024)
        return
    with tempfile.TemporaryDirectory() as folder:
        after = large("tansy_after.jpg", Path(folder))
        before = large("tansy_before.jpg", Path(folder))
        packed = np.frombuffer(after.read_bytes(), np.uint8)
        decode = best(lambda: cv2.imdecode(packed, cv2.IMREAD_COLOR))
        print(f"one full decode: {1000 * decode:.0f} ms, {packed.size / 1e6:.1f} MB")
        runs = {
            "one photo": lambda: look(after, FACE, toe="left"),
            "a pair": lambda: look(after, FACE, before=before, toe="left"),
        }
        print("| what | ratio to a full decode | goal | |\n| --- | --- | --- | --- |")
        for name, run in runs.items():
            ratio = best(run) / decode
            met = "met" if ratio <= GOALS[name] else "missed"
            print(f"| {name} | {ratio:.2f} | {GOALS[name]} | {met} |")
        call = [sys.executable, "-m", __spec__.name, "--one", after, before]
        told = subprocess.run(call, capture_output=True, text=True, check=True).stdout
        most = float(told)
        met = "met" if most <= MOST_MB else "missed"
        print(f"| memory for a pair, MB | {most:.0f} | {MOST_MB} | {met} |")


if __name__ == "__main__":
    main()
