"""How advice and progress grow with the history of a face and with the log around it.

Whole commands, timed in processor time, as ratios to the same command on a tenth of the
history.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from lapping.log.opening import open_log
from tests.benchmarks.bench_log import fill
from tests.benchmarks.ratios import Figure, command, in_turn, of_children, tell
from tests.made_logs import Clock, bench
from tests.made_sessions import evenings

ROUNDS = 7
FEW, MANY = 10, 100
PLANES, FEW_SETS, MANY_SETS = 10, 100, 1000


def measure() -> Iterator[Figure]:
    """Time both commands on histories of one face, and advice among other planes."""
    with tempfile.TemporaryDirectory() as at:
        folder = Path(at)
        for sessions in (FEW, MANY):
            clock = Clock()
            with bench(folder / f"{sessions}.lapping", clock) as log:
                evenings(log, clock, sessions)
        for sets in (FEW_SETS, MANY_SETS):
            with open_log(folder / f"ten_{sets}.lapping") as log:
                fill(log, PLANES, sets)
        asked = {
            f"{words[0]} {name}": (words, folder / f"{name}.lapping")
            for words, names in (
                (("advice", "Bramble/sole"), (FEW, MANY)),
                (("progress", "Bramble/sole"), (FEW, MANY)),
                (
                    ("advice", "Bramble 0/sole"),
                    (f"ten_{FEW_SETS}", f"ten_{MANY_SETS}"),
                ),
            )
            for name in names
        }
        times = in_turn(
            {
                name: command(
                    [sys.executable, "-m", "lapping", *words], _with_log(path)
                )
                for name, (words, path) in asked.items()
            },
            ROUNDS,
            clock=of_children,
        )
    yield Figure(
        what=f"`lapping advice`, a face of {MANY} sessions / of {FEW}",
        value=times[f"advice {MANY}"] / times[f"advice {FEW}"],
        goal=1.5,
        bound="reading every set back; what was learnt of 20 stages, not of 9",
    )
    yield Figure(
        what=f"`lapping progress`, a face of {MANY} sessions / of {FEW}",
        value=times[f"progress {MANY}"] / times[f"progress {FEW}"],
        goal=2.5,
        bound="a hundred surfaces drawn, and their flatness, for every session told",
    )
    yield Figure(
        what=f"`lapping advice`, {PLANES} planes with {MANY_SETS:,} sets / {FEW_SETS}",
        value=times[f"advice ten_{MANY_SETS}"] / times[f"advice ten_{FEW_SETS}"],
        goal=1.3,
        bound="reading every set of the face back, and its heights and form",
    )


def _with_log(path: Path) -> dict[str, str]:
    env = dict(os.environ, LAPPING_LOG=str(path))
    env.setdefault("OPENBLAS_NUM_THREADS", "1")
    return env


if __name__ == "__main__":
    tell(measure())
