"""Kill whoever is entering readings or importing files, at random moments.

``python -m tests.kill_study`` does so 240 times and takes a few minutes; the suite does
the same a few times. After every kill each reading that was acknowledged must be there
with nothing before it missing, an imported file must be there whole or not at all, the
file must be whole, and reading must go on where it was.
"""

from __future__ import annotations

import random
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from lapping.log.entering import OpenSet, take_up
from lapping.log.examine import troubles
from lapping.log.files import import_files
from lapping.log.look_back import readings_held
from lapping.log.opening import open_log
from lapping.log.planes import the_face
from lapping.log.sets import open_sets, readings_of, sets_of
from tests.made_logs import SOLE, bramble, dial_set

ROOT = Path(__file__).resolve().parents[1]
KILLS = 240
LONGEST_S = 0.25
"""The child is killed within this after its first sign of life."""
IN_ONE_FILE = 400
NAME = 'Bramble\'s "🪵" a/b'


@dataclass(frozen=True, slots=True, kw_only=True)
class Killed:
    """What was found after all kills."""

    kills: int
    acknowledged: int
    lost: int
    half_imports: int
    imports: int
    damaged: int


def typed(number: int) -> tuple[str, str, str]:
    """Give the reading that comes after `number` others."""
    # Sevens apart modulo a prime: no two neighbours alike, and none beyond 20 mm.
    return (str(5 + number % 240), str(5 + number % 50), str(7 * number % 19_997 - 7))


def enter(path: Path) -> None:
    """Go on with the open set, saying each reading once it is kept."""
    with open_log(path) as log:
        begun: OpenSet = take_up(log, open_sets(log)[0].root)
        number = len(begun.readings())
        while True:
            begun.add(typed(number))
            number += 1
            # In one write, or the kill could leave half a number behind.
            sys.stdout.write(f"{number}\n")
            sys.stdout.flush()


def bring_in(path: Path, file: Path) -> None:
    """Import the same file again and again, saying each time once it is kept."""
    with open_log(path) as log:
        face = the_face(log, f"{NAME}/sole")
        sys.stdout.write("0\n")
        sys.stdout.flush()
        number = 0
        while True:
            import_files(log, [file], face=face)
            number += 1
            sys.stdout.write(f"{number}\n")
            sys.stdout.flush()


def big_file(folder: Path) -> Path:
    """Write a readings file long enough to be killed in."""
    header = (("method", "dial"), *SOLE, ("unit", "um"), ("sense", "high-positive"))
    lines = [f"# {key}: {value}" for key, value in header]
    lines += ["along,across,reading", *(",".join(typed(n)) for n in range(IN_ONE_FILE))]
    path = folder / "many.csv"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def kill_one(words: list[str], wait_s: float) -> int:
    """Start a child, kill it, and give the last number that it said."""
    child = subprocess.Popen(
        [sys.executable, "-m", "tests.kill_study", *words],
        stdout=subprocess.PIPE,
        encoding="utf-8",
        cwd=ROOT,
    )
    assert child.stdout is not None
    first = child.stdout.readline()
    time.sleep(wait_s)
    child.kill()
    rest, _ = child.communicate()
    said = [
        line for line in (first + rest).splitlines(keepends=True) if line[-1:] == "\n"
    ]
    assert said, "the child died before it could be killed"
    return int(said[-1])


def study(kills: int, seed: int, folder: Path) -> Killed:
    """Kill as often as asked, in turn while entering and while importing."""
    chance = random.Random(seed)
    path, file = folder / "log.lapping", big_file(folder)
    with open_log(path) as log:
        number = dial_set(log, bramble(log, NAME), []).number
    acknowledged = lost = half = damaged = imports = 0
    for kill in range(kills):
        wait_s = chance.uniform(0, LONGEST_S)
        if kill % 2:
            said = imports + kill_one(["import", str(path), str(file)], wait_s)
        else:
            acknowledged = kill_one(["enter", str(path)], wait_s)
        with open_log(path) as log:
            found = [one.fact.cells for one in readings_of(log, number)]
            # One more may be on the disk than the child could say.
            in_order = found == [typed(n) for n in range(len(found))]
            if not in_order or not acknowledged <= len(found) <= acknowledged + 1:
                lost += 1
            acknowledged = len(found)
            brought = [
                readings_held(log, one.root)
                for one in sets_of(log, the_face(log, f"{NAME}/sole"))
                if one.root != number
            ]
            half += sum(count != IN_ONE_FILE for count in brought)
            if kill % 2:
                lost += not said <= len(brought) <= said + 1
            imports = len(brought)
            (word,) = log.db.execute("PRAGMA integrity_check").fetchone()
            damaged += word != "ok"
    with open_log(path) as log:
        damaged += bool(troubles(log))
    return Killed(
        kills=kills,
        acknowledged=acknowledged,
        lost=lost,
        half_imports=half,
        imports=imports,
        damaged=damaged,
    )


def main() -> None:
    """Be the child, or kill many of them and print what was found."""
    match sys.argv[1:]:
        case ["enter", path]:
            enter(Path(path))
        case ["import", path, file]:
            bring_in(Path(path), Path(file))
        case _:
            with tempfile.TemporaryDirectory() as folder:
                print(study(KILLS, 1, Path(folder)))


if __name__ == "__main__":
    main()
