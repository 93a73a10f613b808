"""Throw a stated number of random inputs at each reader, and say what came of it.

    python -m tests.fuzz [TARGET ...] [--runs N] [--seed S]

With atheris installed (`pip install atheris`), the inputs are steered by the code they
reach; without it they are whole files spoilt at random. An input that raises anything
but a refusal in words, takes over two seconds, or brings the process over 300 MB ends
the run with exit code 1 and is left in the current folder.
"""

from __future__ import annotations

import argparse
import random
import resource
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from types import FrameType
from typing import NoReturn

RUNS = {"units": 1_000_000, "readings": 1_000_000, "pictures": 100_000, "folders": 5000}
SECONDS = 2
MOST_MB = 300
AT_ONCE = 250_000
"""So many inputs go to one process: what the fuzzer itself keeps of them grows."""


def main() -> int:
    """Run each target in a process of its own; give 1 if one of them failed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("targets", nargs="*", default=list(RUNS))
    parser.add_argument("--runs", type=int)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--here", choices=("plain", "steered"), help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.here == "plain":
        return plain(asked.targets[0], asked.runs, asked.seed)
    if asked.here == "steered":
        steered(asked.targets[0], asked.runs, asked.seed)
    kind = "steered" if _has_atheris() else "plain"
    print("| target | inputs | how | seconds | most MB | failed |")
    print("| --- | --- | --- | --- | --- | --- |")
    failed = 0
    for name in asked.targets:
        runs = asked.runs or RUNS[name]
        began = time.perf_counter()
        for seed, done in enumerate(range(0, runs, AT_ONCE), start=asked.seed):
            part = str(min(AT_ONCE, runs - done))
            words = [name, "--runs", part, "--seed", str(seed), "--here", kind]
            run = subprocess.run(
                [sys.executable, "-m", "tests.fuzz", *words],
                stderr=subprocess.PIPE,
                text=True,
            )
            if run.returncode:
                break
        took = time.perf_counter() - began
        most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
        bad = run.returncode != 0
        failed += bad
        if bad:
            print(run.stderr[-4000:], file=sys.stderr)
        print(
            f"| {name} | {runs:,} | {kind} | {took:.0f} | {most:.0f} "
            f"| {'**yes**' if bad else 'none'} |",
            flush=True,
        )
    return int(failed > 0)


def _has_atheris() -> bool:
    from importlib.util import find_spec

    return find_spec("atheris") is not None


def plain(name: str, runs: int, seed: int) -> int:
    """Throw spoilt files at a target; the first that fails is kept."""
    from tests.fuzz.spoil import spoilt
    from tests.fuzz.targets import TARGETS, WORDS, seeds

    target, lot, whole = TARGETS[name], random.Random(seed), seeds(name)

    def too_slow(_signal: int, _frame: FrameType | None) -> NoReturn:
        message = f"took over {SECONDS} s"
        raise TimeoutError(message)

    signal.signal(signal.SIGALRM, too_slow)
    for number in range(runs):
        data = spoilt(lot, whole, WORDS[name])
        signal.alarm(SECONDS)
        try:
            target(data)
        except BaseException:
            kept = Path(f"failed-{name}-{seed}-{number}")
            kept.write_bytes(data)
            print(f"input {number}, kept in {kept}", file=sys.stderr)
            raise
        finally:
            signal.alarm(0)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    if most > MOST_MB:
        print(f"{most:.0f} MB, at most {MOST_MB} allowed", file=sys.stderr)
        return 1
    return 0


def steered(name: str, runs: int, seed: int) -> NoReturn:
    """Let atheris look for inputs that reach new code; it leaves the process."""
    import atheris

    with atheris.instrument_imports(include=["lapping"]):
        from tests.fuzz.targets import TARGETS, WORDS, seeds

    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        (folder / "corpus").mkdir()
        for number, data in enumerate(seeds(name)):
            (folder / "corpus" / f"{number}").write_bytes(data)
        escaped = ("".join(f"\\x{b:02x}" for b in w.encode()) for w in WORDS[name])
        (folder / "words").write_text("".join(f'"{w}"\n' for w in escaped if w))
        options = (
            *(f"-runs={runs}", f"-seed={seed}", f"-timeout={SECONDS}"),
            *(f"-rss_limit_mb={MOST_MB}", "-max_len=4096", f"-dict={folder / 'words'}"),
            f"-artifact_prefix=failed-{name}-",
        )
        atheris.Setup([sys.argv[0], *options, str(folder / "corpus")], TARGETS[name])
        atheris.Fuzz()
    raise SystemExit


if __name__ == "__main__":
    raise SystemExit(main())
