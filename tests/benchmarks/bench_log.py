"""How long recording takes, as ratios to what it cannot do without."""

from __future__ import annotations

import os
import sqlite3
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from lapping.history import LoggedReading, LoggedSet, Plane, SetMark, Strokes
from lapping.log.entering import OpenSet, start_set
from lapping.log.entries import add
from lapping.log.look_back import face_history
from lapping.log.opening import Log, open_log, writing
from lapping.log.planes import FaceEntry, add_face, add_plane, make_face, the_face
from lapping.log.sets import readings_of, sets_of
from tests.benchmarks.ratios import Figure, Work, command, in_turn, tell

MEMORY = Path("/dev/shm")
ROUNDS = 15
NAMES = {
    "strokes": "strokes 100",
    "plane": "plane NAME",
    "show": "log show NAME",
}
COMMITS = 200
FACES = 40
SETS = 2000
READINGS = 60
SOLE = (("face", "sole"), ("length", "250mm"), ("width", "60mm"))
DIAL = (("unit", "um"), ("sense", "high-positive"))
COLUMNS = ("along", "across", "reading")


def commands(folder: Path, where: str) -> Iterator[Figure]:
    """Time the recording commands against loading what they stand on."""
    env = dict(os.environ, LAPPING_LOG=str(folder / "commands.lapping"))
    # As installed, with everything compiled, ours and what it stands on.
    env.pop("PYTHONDONTWRITEBYTECODE", None)
    env["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")

    def runs(*words: str) -> Work:
        return command([sys.executable, *words], env)

    lapping = ("-m", "lapping")
    runs(*lapping, "plane", "Bramble", "--length", "245mm", "--width", "60mm")()
    runs(*lapping, "strokes", "Bramble/sole", "P240", "100")()
    times = in_turn(
        {
            "imports": runs("-c", "import typer, sqlite3"),
            "strokes": runs(*lapping, "strokes", "100"),
            "plane": runs(*lapping, "plane", "Bramble", "--weight", "1.8kg"),
            "show": runs(*lapping, "log", "show", "Bramble/sole"),
        },
        ROUNDS,
    )
    for name in ("strokes", "plane", "show"):
        yield Figure(
            what=f"`lapping {NAMES[name]}` / importing typer and sqlite3, {where}",
            value=times[name] / times["imports"],
            goal=1.4,
            bound="our modules loaded; the disk, which is waited for five times",
        )


def saving(folder: Path) -> Iterator[Figure]:
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
    base = commits[COMMITS // 2]
    yield Figure(
        what="saving one reading / one commit of a row",
        value=saves[COMMITS // 2] / base,
        goal=1.3,
        bound=f"reading it as a file would be; a commit here takes {base * 1e3:.2f} ms",
    )


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


def history(path: Path, name: str) -> Work:
    """Give the whole history of a face, from opening the log to the last reading."""

    def look() -> None:
        with open_log(path, read_only=True) as log:
            face = the_face(log, name)
            face_history(log, face)
            for one in sets_of(log, face):
                readings_of(log, one.root)

    return look


def ten_years(folder: Path) -> Iterator[Figure]:
    """Time the history of one face among forty against a log with that face alone."""
    with open_log(folder / "years.lapping") as log:
        fill(log, FACES, SETS)
    with open_log(folder / "alone.lapping") as log:
        fill(log, 1, SETS // FACES)
    times = in_turn(
        {
            "alone": history(folder / "alone.lapping", "Bramble 0/sole"),
            "years": history(folder / "years.lapping", "Bramble 0/sole"),
        },
        ROUNDS,
    )
    yield Figure(
        what="a face's history among ten years of forty / alone",
        value=times["years"] / times["alone"],
        goal=1.2,
        bound="an index by face",
    )


def measure() -> Iterator[Figure]:
    """Give all figures of the log."""
    with tempfile.TemporaryDirectory() as folder:
        yield from commands(Path(folder), "this disk")
        yield from saving(Path(folder))
        yield from ten_years(Path(folder))
    if MEMORY.is_dir():
        # Where the disk takes milliseconds, this says what the rest costs.
        with tempfile.TemporaryDirectory(dir=MEMORY) as folder:
            yield from commands(Path(folder), "no disk")


if __name__ == "__main__":
    tell(measure())
