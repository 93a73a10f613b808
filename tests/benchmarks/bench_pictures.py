"""How long pictures take, as ratios to matplotlib alone, and what they leak.

Run with ``python -m tests.benchmarks.bench_pictures`` on a quiet machine. Each is timed
in a process of its own, in turn, several times, and the best of each counts, in
processor time. Matplotlib alone is its import and one figure of the usual size with
empty axes; the answer is worked out before the clock starts.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.benchmarks.bench_command import sixty_readings

ROUNDS = 5
GOAL = 1.4
FIGURES, LEAST_KB = 500, 20_000
BARE = """
import io, time
start = time.process_time()
from matplotlib.figure import Figure
figure = Figure(figsize=(6, 4.5))
figure.subplots()
figure.savefig(io.BytesIO(), format="png", dpi=200)
print(time.process_time() - start)
"""
READY = """
import sys, time
from pathlib import Path
from lapping.answer import answer
from lapping.readings_file import read_file
found = answer([read_file(Path(sys.argv[1]))])
out = Path(sys.argv[2])
"""
OURS = """
start = time.process_time()
from lapping.pictures.{module} import {function}
from lapping.pictures.frame import save_figure
save_figure({function}(found), out)
print(time.process_time() - start)
"""
LEAK = """
import gc, resource
from lapping.pictures.face_map import face_map
from lapping.pictures.sections import sections
def draw(times):
    for i in range(times):
        (face_map if i % 2 else sections)(found).draw_without_rendering()
    gc.collect()
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
first = draw(50)
print(draw(int(sys.argv[3])) - first)
"""


def timed(code: str, *words: str) -> float:
    """Run code in a process of its own and give the number that it prints."""
    command = [sys.executable, "-c", code, *words]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return float(done.stdout)


def main() -> None:
    """Print each ratio with its goal, and what many figures leave behind."""
    codes = {"bare savefig": BARE}
    for module, function in (("face_map", "face_map"), ("sections", "sections")):
        ours = OURS.format(module=module, function=function)
        codes[function.replace("_", " ")] = READY + ours
    with tempfile.TemporaryDirectory() as folder:
        words = str(sixty_readings(Path(folder))), str(Path(folder) / "out.png")
        best: dict[str, float] = {}
        for _ in range(ROUNDS):
            for name, code in codes.items():
                took = timed(code, *words)
                best[name] = min(took, best.get(name, took))
        left_kb = timed(READY + LEAK, *words, str(FIGURES))
    bare = best.pop("bare savefig")
    for name, took in best.items():
        ratio = took / bare
        goal = f", goal {GOAL:g}: {'pass' if ratio <= GOAL else 'MISSED'}"
        print(
            f"{name:9} {1e3 * took:5.0f} ms / bare savefig {1e3 * bare:5.0f} ms = "
            f"{ratio:4.2f}{goal if name == 'face map' else ''}"
        )
    word = "pass" if left_kb <= LEAST_KB else "MISSED"
    print(
        f"{FIGURES} more figures leave {left_kb / 1000:.1f} MB, goal "
        f"{LEAST_KB / 1000:g}: {word}"
    )


if __name__ == "__main__":
    main()
