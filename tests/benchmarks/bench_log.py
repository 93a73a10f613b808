"""How long recording takes, as ratios to what it cannot do without.

Run with ``python -m tests.benchmarks.bench_log`` on a quiet machine. Every pair is
timed in turn, several times, and the best of each counts.
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from lapping.history import LoggedReading, LoggedSet, Plane, SetMark, Strokes
from lapping.log.entering import OpenSet, start_set
from lapping.log.entries import add
from lapping.log.look_back import face_history
from lapping.log.opening import Log, open_log, writing
from lapping.log.planes import FaceEntry, add_face, add_plane, make_face, the_face
from lapping.log.sets import readings_of, sets_of

MEMORY = Path("/dev/shm")
ROUNDS = 15
COMMITS = 200
FACES = 40
SETS = 2000
READINGS = 60
SOLE = (("face", "sole"), ("length", "250mm"), ("width", "60mm"))
DIAL = (("unit", "um"), ("sense", "high-positive"))
COLUMNS = ("along", "across", "reading")


def best_in_turn(
    things: dict[str, Callable[[], object]], rounds: int
) -> dict[str, float]:
    """Time each thing in turn; give the best of each in seconds."""
    times: dict[str, float] = {}
    for _ in range(rounds):
        for name, thing in things.items():
            start = time.perf_counter()
            thing()
            took = time.perf_counter() - start
            times[name] = min(took, times.get(name, took))
    return times


def commands(folder: Path) -> None:
    """Time the recording commands against loading what they stand on."""
    env = dict(os.environ, LAPPING_LOG=str(folder / "commands.lapping"))
    # As installed, with everything compiled, ours and what it stands on.
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    env["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")

    def runs(*words: str) -> Callable[[], object]:
        command = [sys.executable, *words]
        return lambda: subprocess.run(command, check=True, capture_output=True, env=env)

    lapping = ("-m", "lapping")
    runs(*lapping, "plane", "Bramble", "--length", "245mm", "--width", "60mm")()
    runs(*lapping, "strokes", "Bramble/sole", "P240", "100")()
    times = best_in_turn(
        {
            "imports": runs("-c", "import typer, sqlite3"),
            "strokes": runs(*lapping, "strokes", "100"),
            "plane": runs(*lapping, "plane", "Bramble", "--weight", "1.8kg"),
            "show": runs(*lapping, "log", "show", "Bramble/sole"),
        },
        ROUNDS,
    )
    for name in ("strokes", "plane", "show"):
        say(name, times[name], "imports", times["imports"], 1.4)


def saving(folder: Path) -> None:
    """Time saving a reading against one commit of a row to a file like it."""
    bare = sqlite3.connect(folder / "bare.db", isolation_level=None)
    bare.execute("PRAGMA journal_mode = WAL")
    bare.execute("PRAGMA synchronous = FULL")
    bare.execute("CREATE TABLE reading (id INTEGER PRIMARY KEY, typed TEXT) STRICT")

    def commit() -> None:
        bare.execute("BEGIN IMMEDIATE")
        bare.execute("INSERT INTO reading (typed) VALUES ('-12')")
        bare.execute("COMMIT")

    with open_log(folder / "saving.lapping") as log:
        begun = start_set(log, first_face(log), "dial", COLUMNS, headers=DIAL)
        pairs = []
        for number in range(COMMITS):
            cells = (str(5 + number % 240), "30", str(number % 17))
            # In turn and one by one: a disk is not equally fast all the time.
            start = time.perf_counter()
            commit()
            middle = time.perf_counter()
            begun.add(cells)
            pairs.append((middle - start, time.perf_counter() - middle))
    bare.close()
    commits, saves = (sorted(times) for times in zip(*pairs, strict=True))
    say("saving", saves[COMMITS // 2], "commit", commits[COMMITS // 2], 1.3)


def first_face(log: Log) -> FaceEntry:
    """Set up one invented plane."""
    add_face(log, make_face("sole", SOLE), add_plane(log, Plane(name="Bramble")))
    return the_face(log, "Bramble/sole")


def fill(log: Log, faces: int, sets: int) -> None:
    """Put invented years into a log, session by session, each face in turn."""
    known = []
    for number in range(faces):
        plane = add_plane(log, Plane(name=f"Bramble {number}"))
        known.append(add_face(log, make_face("sole", SOLE), plane))
    pattern: OpenSet = start_set(log, known[0], "dial", COLUMNS, headers=DIAL)
    cells = [(str(5 + 4 * n), str(5 + n % 50), str(n % 17)) for n in range(READINGS)]
    understood = [pattern.understand(one) for one in cells]
    for number in range(sets):
        with writing(log):
            log.session = None if number % 20 else log.session
            face = known[number % faces].root
            add(log, Strokes(face=face, grade="P240", count=100))
            fact = pattern.entry.fact
            begun = add(
                log,
                LoggedSet(
                    face=face,
                    method="dial",
                    headers=fact.headers,
                    columns=fact.columns,
                ),
            )
            for line, (typed, meant) in enumerate(
                zip(cells, understood, strict=True), start=1
            ):
                add(
                    log,
                    LoggedReading(
                        set=begun.root, line=line, cells=typed, understood=meant
                    ),
                )
            add(log, SetMark(set=begun.root, state="finished"))


def history(path: Path, name: str) -> Callable[[], object]:
    """Give the whole history of a face, from opening the log to the last reading."""

    def look() -> None:
        with open_log(path, read_only=True) as log:
            face = the_face(log, name)
            face_history(log, face)
            for one in sets_of(log, face):
                readings_of(log, one.root)

    return look


def ten_years(folder: Path) -> None:
    """Time the history of one face among forty against a log with that face alone."""
    with open_log(folder / "years.lapping") as log:
        fill(log, FACES, SETS)
    with open_log(folder / "alone.lapping") as log:
        fill(log, 1, SETS // FACES)
    times = best_in_turn(
        {
            "alone": history(folder / "alone.lapping", "Bramble 0/sole"),
            "years": history(folder / "years.lapping", "Bramble 0/sole"),
        },
        ROUNDS,
    )
    say("years", times["years"], "alone", times["alone"], 1.2)


def say(name: str, took: float, over: str, base: float, goal: float) -> None:
    """Print a ratio with its goal."""
    word = "pass" if took / base <= goal else "MISSED"
    print(
        f"{name:8} {1e3 * took:8.2f} ms / {over:8} {1e3 * base:8.2f} ms = "
        f"{took / base:5.2f}, goal {goal:g}: {word}"
    )


def main() -> None:
    """Print each ratio with its goal."""
    with tempfile.TemporaryDirectory() as folder:
        for part in (commands, saving, ten_years):
            part(Path(folder))
    if MEMORY.is_dir():
        # Opening, writing and closing a log waits five times for the disk. Where that
        # takes milliseconds, this says what the rest costs.
        print(f"\nwithout waiting for a disk, in {MEMORY}:")
        with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
            commands(Path(folder))


if __name__ == "__main__":
    main()
