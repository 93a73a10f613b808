"""How long the command line takes, as ratios to what it cannot do without.

Run with ``python -m tests.benchmarks.bench_command`` on a quiet machine. Every pair is
timed in turn, several times, and the best of each counts.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROUNDS = 9
MINIMAL = """
import typer
app = typer.Typer(add_completion=False, rich_markup_mode=None)
@app.command()
def one(): pass
@app.command()
def two(): pass
app(["--help"])
"""
HEADER = """# method: dial
# face: sole
# length: 250 mm
# width: 60 mm
# unit: um
# sense: high-positive
# resolution: 2 um
along,across,reading
"""


def sixty_readings(folder: Path) -> Path:
    """Write 60 invented readings of a twisted, hollow sole."""
    rows = [
        f"{a},{c},{2 * round((a - 125) * (c - 30) / 300 + (a - 125) ** 2 / 900)}"
        for a in range(5, 250, 21)
        for c in (5, 17, 30, 43, 55)
    ]
    path = folder / "sixty.csv"
    path.write_text(HEADER + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def best(commands: dict[str, list[str]]) -> dict[str, float]:
    """Time each command in turn, ROUNDS times; give the best of each in seconds."""
    times: dict[str, float] = {}
    for _ in range(ROUNDS):
        for name, command in commands.items():
            start = time.perf_counter()
            subprocess.run(command, check=True, capture_output=True)
            took = time.perf_counter() - start
            times[name] = min(took, times.get(name, took))
    return times


def main() -> None:
    """Print each ratio with its goal."""
    python = sys.executable
    with tempfile.TemporaryDirectory() as folder:
        file = str(sixty_readings(Path(folder)))
        times = best(
            {
                "help": [python, "-m", "lapping", "--help"],
                "minimal": [python, "-c", MINIMAL],
                "check": [python, "-m", "lapping", "check", file],
                "imports": [python, "-c", "import typer, numpy, scipy.linalg"],
            }
        )
    for what, over, goal in (("help", "minimal", 1.5), ("check", "imports", 2.0)):
        ratio = times[what] / times[over]
        word = "pass" if ratio <= goal else "MISSED"
        print(
            f"{what:8} {1e3 * times[what]:6.0f} ms / {over:8} "
            f"{1e3 * times[over]:6.0f} ms = {ratio:5.2f}, goal {goal:g}: {word}"
        )


if __name__ == "__main__":
    main()
