"""Run every benchmark and print one table.

    OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks [NAME ...]

Each runs in a process of its own, so that none pays for what another has loaded, and
on a quiet machine, or the figures mean nothing.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
from pathlib import Path

from tests.benchmarks.ratios import HEAD

HERE = Path(__file__).parent


def main() -> int:
    """Print the table; give 1 when a figure missed its goal."""
    names = sys.argv[1:] or sorted(
        path.stem.removeprefix("bench_") for path in HERE.glob("bench_*.py")
    )
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python ", end="")
    print(f"{platform.python_version()}\n\n{HEAD}", flush=True)
    missed = False
    for name in names:
        run = subprocess.run(
            [sys.executable, "-m", f"tests.benchmarks.bench_{name}"],
            stdout=subprocess.PIPE,
            text=True,
            check=True,
        )
        rows = [line for line in run.stdout.splitlines() if line.startswith("| ")]
        print(*(row for row in rows if row not in HEAD), sep="\n", flush=True)
        missed = missed or any("**missed**" in row for row in rows)
    return int(missed)


if __name__ == "__main__":
    raise SystemExit(main())
