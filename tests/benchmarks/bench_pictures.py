"""How long a picture takes beside matplotlib alone, and what many of them leave.

Each is timed in a process of its own, in turn, in processor time; the best counts. The
answer is worked out before the clock starts.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.bench_command import sixty_readings
from tests.benchmarks.ratios import Figure, tell

ROUNDS = 5
FIGURES = 500
BARE = """
import io, time
start = time.process_time()
from matplotlib.figure import Figure
Figure().savefig(io.BytesIO(), format="png")
print(time.process_time() - start)
"""
READY = """
import sys, time
from pathlib import Path
from lapping.answer import answer
from lapping.readings_file.reading import read_file
found = answer([read_file(Path(sys.argv[1]))])
out = Path(sys.argv[2])
"""
OURS = """
start = time.process_time()
from lapping.pictures.{name} import {name}
from lapping.pictures.frame import save_figure
save_figure({name}(found), out)
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


def measure() -> Iterator[Figure]:
    """Time a face map and cross-sections, and count what 500 figures leave."""
    codes = {
        "bare": BARE,
        "map": READY + OURS.format(name="face_map"),
        "sections": READY + OURS.format(name="sections"),
    }
    best = dict.fromkeys(codes, float("inf"))
    with tempfile.TemporaryDirectory() as folder:
        words = str(sixty_readings(Path(folder))), str(Path(folder) / "out.png")
        for _ in range(ROUNDS):
            for name, code in codes.items():
                best[name] = min(best[name], timed(code, *words))
        left_kb = timed(READY + LEAK, *words, str(FIGURES))
    yield Figure(
        what="face map PNG / import of matplotlib and one bare savefig",
        value=best["map"] / best["bare"],
        goal=1.4,
        bound="words, ticks and the colour bar; the import is two thirds",
    )
    yield Figure(
        what="cross-sections PNG / the same",
        value=best["sections"] / best["bare"],
        goal=1.8,
        bound="seven axes with two scales each",
    )
    yield Figure(
        what="memory after 500 more figures",
        value=left_kb / 1000,
        goal=20,
        unit="MB",
        bound="no figure is kept; fonts and caches fill up",
    )


if __name__ == "__main__":
    tell(measure())
