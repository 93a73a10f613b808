"""How long the command line takes, as ratios to what it cannot do without."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.ratios import Figure, command, in_turn, tell

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


def measure() -> Iterator[Figure]:
    """Time `--help` and `check` against their imports."""
    python = sys.executable
    with tempfile.TemporaryDirectory() as folder:
        file = str(sixty_readings(Path(folder)))
        times = in_turn(
            {
                "help": command([python, "-m", "lapping", "--help"]),
                "minimal": command([python, "-c", MINIMAL]),
                "check": command([python, "-m", "lapping", "check", file]),
                "imports": command([python, "-c", "import typer, numpy, scipy.linalg"]),
            },
            ROUNDS,
        )
    yield Figure(
        what="`lapping --help` / the smallest Typer program",
        value=times["help"] / times["minimal"],
        goal=1.5,
        bound="Typer itself; one module per command is read for its options",
    )
    yield Figure(
        what="`lapping check`, 60 readings / its imports",
        value=times["check"] / times["imports"],
        goal=2,
        bound="the posterior over hypotheses of the form",
    )


if __name__ == "__main__":
    tell(measure())
