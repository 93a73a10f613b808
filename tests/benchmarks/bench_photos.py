"""How long a scribble photo takes, as ratios to one full decode of the same file.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.bench_photos

The photos are the drawn samples brought to twelve megapixels, with a sensor's noise so
that they pack like a phone's. The two photos of a pair are read side by side where
there are two cores, so that less time passes on the wall than processors spend.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

from lapping.face import Face, Mouth
from lapping.photo.look import look
from tests.benchmarks.ratios import Figure, Work, in_turn, tell

SAMPLES = Path(__file__).resolve().parents[2] / "sample_measurements"
FACE = Face(length_mm=245, width_mm=62, mouth=Mouth(from_mm=80, to_mm=86))
NARROW = replace(FACE, width_mm=57)
"""Said to be so narrow, the face is not found surely at a quick look."""
SIZE = (4000, 3000)
ONE, PAIR = 1.5, 2.5
MOST_MB = 200
ROUNDS = 12
DECODE = "one full decode"
FOUND = "unpacking the JPEG, finding the outline, the fit of ink and metal"
GIVEN = "unpacking the JPEG, the fit of ink and metal"


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


def works(after: Path, before: Path) -> dict[str, Work]:
    """Give what is timed, by name."""
    packed = np.frombuffer(after.read_bytes(), np.uint8)
    seen = look(after, FACE, before=before, toe="left")
    assert seen.before is not None
    one, other = seen.after.corners_px, seen.before.corners_px
    return {
        DECODE: lambda: cv2.imdecode(packed, cv2.IMREAD_COLOR),
        "one photo": lambda: look(after, FACE, toe="left"),
        "one photo, hard to tell": lambda: look(after, NARROW, toe="left"),
        "one photo, corners given": lambda: look(after, FACE, corners_px=one),
        "a pair of photos": lambda: look(after, FACE, before=before, toe="left"),
        "a pair of photos, corners given": lambda: look(
            after, FACE, before=before, corners_px=one, before_corners_px=other
        ),
    }


def most_memory_mb(after: Path, before: Path) -> float:
    """Give the most memory that a process takes which does nothing but look once."""
    call = [sys.executable, "-m", __spec__.name, "--one", str(after), str(before)]
    told = subprocess.run(call, capture_output=True, text=True, check=True).stdout
    return float(told)


def measure(after: Path, before: Path) -> Iterator[Figure]:
    """Measure one photo, a pair, and the memory of a pair."""
    clocks = {"processor": time.process_time, "wall": time.perf_counter}
    for kind, clock in clocks.items():
        took = in_turn(works(after, before), ROUNDS, clock=clock)
        decode = took.pop(DECODE)
        for name, seconds in took.items():
            yield Figure(
                what=f"{name} / {DECODE}, {kind} time",
                value=seconds / decode,
                goal=PAIR if "pair" in name else ONE,
                bound=f"{GIVEN if 'given' in name else FOUND}; {seconds * 1e3:.0f} ms",
            )
    yield Figure(
        what="memory of a process that reads a pair of photos",
        value=most_memory_mb(after, before),
        goal=MOST_MB,
        unit="MB",
        bound="the libraries",
    )


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
        tell(measure(after, before))


if __name__ == "__main__":
    main()
