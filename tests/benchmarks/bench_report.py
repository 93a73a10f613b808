"""How long a report on thirty sessions takes, as a ratio to matplotlib alone.

Matplotlib alone is a process that imports it and saves one figure with empty axes as
PNG; the report is the whole command, from opening the log to the page on the disk.
Both are timed in processor time.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.ratios import Figure, command, in_turn, of_children, tell
from tests.made_logs import Clock, bench
from tests.made_sessions import evenings

ROUNDS = 7
SESSIONS = 30
BARE = """
import io
from matplotlib.figure import Figure
figure = Figure()
figure.subplots()
figure.savefig(io.BytesIO(), format="png")
"""


def measure() -> Iterator[Figure]:
    """Time the command against importing matplotlib and saving one bare figure."""
    python = sys.executable
    with tempfile.TemporaryDirectory() as at:
        folder = Path(at)
        clock = Clock()
        with bench(folder / "years.lapping", clock) as log:
            evenings(log, clock, SESSIONS)
        page = folder / "report.html"
        env = dict(os.environ, LAPPING_LOG=str(folder / "years.lapping"))
        env.setdefault("OPENBLAS_NUM_THREADS", "1")
        words = ["-m", "lapping", "report", "Bramble/sole", "-o", str(page)]
        times = in_turn(
            {
                "bare": command([python, "-c", BARE], env),
                "report": command([python, *words], env),
                "progress": command(
                    [python, "-m", "lapping", "progress", "Bramble/sole"], env
                ),
            },
            ROUNDS,
            clock=of_children,
        )
        size = page.stat().st_size
    alone = times["progress"] / times["bare"]
    yield Figure(
        what=f"`lapping report`, {SESSIONS} sessions / import matplotlib and one PNG",
        value=times["report"] / times["bare"],
        goal=3,
        bound="a look at each session and what was learnt between them, "
        f"{alone:.1f} alone in `lapping progress`; importing matplotlib; four figures",
    )
    yield Figure(
        what=f"size of that report, {SESSIONS} sessions",
        value=size / 1e6,
        goal=1.5,
        unit="MB",
        bound="the maps' outlines",
    )


if __name__ == "__main__":
    tell(measure())
