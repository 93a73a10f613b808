"""`lapping read` as it is used: typed at a terminal, broken off, taken up again."""

from __future__ import annotations

import json
import os
import random
import re
import resource
import shlex
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pexpect
import pytest

from lapping.history import Gauge, LoggedReading, Note
from lapping.log.entries import held
from lapping.log.opening import open_log
from lapping.log.planes import faces
from lapping.log.sets import as_readings, open_sets, readings_of, sets_of
from lapping.readings import DialReading, FeelerReading

ROOT = Path(__file__).resolve().parents[1]
SIZE = ("--length", "250mm", "--width", "60mm", "--mouth", "80 mm to 86 mm")
DIAL = ("--method", "dial")
PLACES = 22
PATIENCE = 20
PLACE = re.compile(r"(\d+) of (\d+): ([^(]+) \(along ([\d.]+), across ([\d.]+) mm\)")


class Terminal:
    """A person at a terminal: waits for the prompt, types, reads what is said."""

    def __init__(self, log: Path, *words: str, columns: int = 80, lines: int = 24):
        """Start the command with a log of its own."""
        self.env = os.environ | {
            "LAPPING_LOG": str(log),
            "OPENBLAS_NUM_THREADS": "1",
            "TERM": "dumb",
            "PYTHONIOENCODING": "utf-8",
        }
        self.env.pop("COLUMNS", None)
        self.env.pop("LINES", None)
        self.child = pexpect.spawn(
            sys.executable,
            ["-m", "lapping", "read", *words],
            cwd=str(ROOT),
            env=self.env,
            dimensions=(lines, columns),
            encoding="utf-8",
            timeout=PATIENCE,
            # A shell that starts the tests in the background has Ctrl-C ignored.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
        )

    def sees(self, pattern: str) -> str:
        """Wait for something to be said; give all that was said up to it."""
        self.child.expect(pattern)
        return str(self.child.before) + str(self.child.after)

    def types(self, line: str) -> None:
        """Type a line and Enter."""
        self.child.sendline(line)

    def answers(self, line: str) -> str:
        """Wait for the prompt, answer it, and give all that was said before it."""
        seen = self.sees(r"> $")
        self.types(line)
        return seen

    def interrupts(self) -> str:
        """Press Ctrl-C at the prompt until the command ends; give what it said last.

        A key pressed before the prompt listens is lost on any terminal.
        """
        self.sees(r"> $")
        for _ in range(5):
            self.child.sendintr()
            if self.child.expect([pexpect.EOF, pexpect.TIMEOUT], timeout=4) == 0:
                break
        self.child.close()
        return str(self.child.before)

    def leaves(self) -> str:
        """Wait for the command to end; give what it said last."""
        self.child.expect(pexpect.EOF)
        self.child.close()
        return str(self.child.before)


Start = Callable[..., Terminal]


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Give the path of a log that is not there yet."""
    return tmp_path / "bench.lapping"


@pytest.fixture
def start(log: Path) -> Iterator[Start]:
    """Start the command; whatever is still running at the end is stopped."""
    running: list[Terminal] = []

    def starts(*words: str, **size: int) -> Terminal:
        running.append(Terminal(log, *words, **size))
        return running[-1]

    yield starts
    for one in running:
        one.child.close(force=True)


def first_dial(start: Start, *words: str, **size: int) -> Terminal:
    """Begin a first session with a dial: size, three answers, and one left out."""
    at = start(*SIZE, *words, **size)
    at.sees("What do you read with")
    at.answers("dial")
    at.answers("um")
    at.answers("y")
    asked = " ".join(at.answers("").split())
    assert "How flat is the plate or bed, such as 10um?" in asked
    return at


def read_back(log: Path) -> list[tuple[float, float, float]]:
    """Give what the log holds, as along, across, value."""
    with open_log(log, read_only=True) as opened:
        (face,) = faces(opened)
        (entry,) = sets_of(opened, face)
        found = []
        for one in readings_of(opened, entry.root):
            reading = one.fact.understood
            if isinstance(reading, DialReading):
                found.append((reading.along_mm, reading.across_mm, reading.value_um))
        return found


def height(along: float, across: float) -> int:
    """Give what the dial shows at a place of the invented sole."""
    a, c = along / 125 - 1, across / 30 - 1
    return round(-20 * a * a + 15 * a * c)


def answer_all(at: Terminal, first: int = 1, last: int = PLACES) -> None:
    """Answer every place asked for from the invented sole."""
    for number in range(first, last + 1):
        seen = at.sees(r"> $")
        place = PLACE.search(seen)
        assert place is not None, seen
        assert int(place[1]) == number, seen
        at.types(str(height(float(place[4]), float(place[5]))))


def run(log: Path, *words: str, typed: str | None = None) -> Any:
    """Run a command without a terminal."""
    return subprocess.run(
        [sys.executable, "-m", "lapping", *words],
        cwd=ROOT,
        env=os.environ | {"LAPPING_LOG": str(log), "OPENBLAS_NUM_THREADS": "1"},
        input=typed,
        capture_output=True,
        encoding="utf-8",
        timeout=60,
    )


def test_a_first_session_from_three_answers_to_a_verdict(
    start: Start, log: Path
) -> None:
    at = first_dial(start)
    answer_all(at)
    seen = at.sees(r"Enter finishes, back corrects > $")
    assert "All places are done." in seen
    at.types("")
    assert "lapping check sole-250x60mm" in at.leaves()
    assert at.child.exitstatus == 0
    read = read_back(log)
    assert len(read) == PLACES
    assert all(value == height(along, across) for along, across, value in read)
    with open_log(log) as opened:
        assert open_sets(opened) == []
    checked = run(log, "check", "sole-250x60mm", "--json")
    assert checked.returncode == 0, checked.stderr
    answer = json.loads(checked.stdout)
    assert answer["points"] == PLACES - 1
    assert answer["not_seen"] == []
    assert answer["twist"]["um"] == pytest.approx(60, abs=8)
    assert answer["verdict"] == "flat"


def test_the_map_and_the_words_say_where_to_go(start: Start) -> None:
    at = first_dial(start)
    seen = at.answers("0")
    assert "|   X        .        .   |" in seen
    assert "1 of 22: toe-left corner (along 8, across 5 mm)" in seen
    assert seen.endswith("um> ")
    seen = at.sees(r"> $")
    assert "kept: 0 um" in seen
    assert "|   o        X        .   |" in seen
    assert "===================" in seen
    assert "2 of 22: toe, centre" in seen


def test_numbers_are_taken_as_they_are_typed(start: Start, log: Path) -> None:
    at = first_dial(start)
    for typed in ("2", "-1.5", "2thou", "−3", "0,5", "0.01mm"):
        at.answers(typed)
    at.answers("stop")
    at.leaves()
    values = [value for *_, value in read_back(log)]
    assert values == pytest.approx([2, -1.5, 50.8, -3, 0.5, 10])
    with open_log(log) as opened:
        kept = [one.fact.cells for one in held(opened, LoggedReading)]
    assert [cells[-1] for cells in kept if cells] == [
        "2", "-1.5", "2thou", "−3", "0.5", "0.01mm",
    ]  # fmt: skip


def test_back_corrects_and_goes_on_where_it_was(start: Start, log: Path) -> None:
    at = first_dial(start)
    for typed in ("0", "-12", "-23"):
        at.answers(typed)
    at.answers("back")
    at.answers("back")
    seen = at.answers("-14")
    assert "2 of 22" in seen
    assert "was: -12; Enter keeps it" in seen
    seen = at.answers("back")
    assert "4 of 22" in seen
    seen = at.answers("")
    assert "3 of 22" in seen
    assert "was: -23; Enter keeps it" in seen
    assert "4 of 22" in at.answers("stop")
    at.leaves()
    assert [value for *_, value in read_back(log)] == [0, -14, -23]
    with open_log(log) as opened:
        (count,) = opened.db.execute("SELECT count(*) FROM reading").fetchone()
    assert count == 4, "the corrected reading is kept below the new one"


def test_back_at_the_first_place_says_so(start: Start) -> None:
    at = first_dial(start)
    at.answers("back")
    assert "This is the first place." in at.answers("stop")


def test_again_reads_the_last_place_once_more(start: Start, log: Path) -> None:
    at = first_dial(start)
    assert "1 of 22" in at.answers("again")
    assert "There is no reading to repeat yet." in at.answers("4")
    at.answers("again")
    seen = at.answers("6")
    assert "1 of 22" in seen
    assert "once more; both readings are kept" in seen
    assert "2 of 22" in at.answers("stop")
    at.leaves()
    assert read_back(log) == [(8, 5, 4), (8, 5, 6)]


def test_skipped_places_are_passed_over_and_can_be_read_later(
    start: Start, log: Path
) -> None:
    at = first_dial(start)
    at.answers("0")
    at.answers("skip")
    seen = at.answers("-3")
    assert "skipped" in seen
    assert "|   o        -        X   |" in seen
    at.answers("back")
    at.answers("back")
    seen = at.answers("-2")
    assert "2 of 22" in seen
    assert "was: skipped" in seen
    at.answers("back")
    assert "was: -3" in at.answers("skip")
    at.answers("stop")
    assert "2 of 22 readings are kept" in at.leaves()
    assert read_back(log) == [(8, 5, 0), (8, 30, -2)]


def test_notes_go_with_the_place_read_last(start: Start, log: Path) -> None:
    at = first_dial(start)
    at.answers("note plate wiped first")
    assert "noted, with this set" in at.answers("0")
    at.answers("note")
    assert "A note needs its text" in at.answers("note burr, filed off: “ü” 'x'")
    assert "noted, with toe-left corner" in at.answers("stop")
    at.leaves()
    with open_log(log) as opened:
        notes = held(opened, Note)
        (reading,) = held(opened, LoggedReading)
    assert [one.fact.text for one in notes] == [
        "plate wiped first",
        "burr, filed off: “ü” 'x'",
    ]
    assert notes[1].fact.about == reading.root


@pytest.mark.parametrize(
    ("slip", "why"),
    [
        ("-280", "is the decimal point right"),
        ("28", "has the other sign than all the rest"),
        ("-8mm", "about 1000 times as much"),
        ("-0.028", "finer than the gauge shows"),
    ],
)
def test_a_slip_is_asked_for_again_and_not_kept(
    start: Start, log: Path, slip: str, why: str
) -> None:
    at = first_dial(start)
    for typed in ("-20", "-32", "-26", "-30"):
        at.answers(typed)
    at.answers(slip)
    # Looked up while the question stands: what is doubted is not on disk.
    seen = at.sees(r"> $")
    assert why in " ".join(seen.split())
    assert "Not kept yet" in seen
    assert len(read_back(log)) == 4
    at.types("-28")
    assert "kept: -28 um" in at.answers("stop")
    at.leaves()
    assert [value for *_, value in read_back(log)][-1] == -28


@pytest.mark.parametrize("sure", ["y", "-280", "-280 um"])
def test_a_value_that_is_so_is_kept_when_typed_again(
    start: Start, log: Path, sure: str
) -> None:
    at = first_dial(start)
    for typed in ("-20", "-32", "-26", "-280", sure, "stop"):
        at.answers(typed)
    at.leaves()
    assert [value for *_, value in read_back(log)] == [-20, -32, -26, -280]


def test_words_that_are_none_and_numbers_that_are_none(start: Start, log: Path) -> None:
    at = first_dial(start)
    at.answers("bakc")
    assert "There is no word 'bakc'; did you mean 'back'?" in at.answers("1.2.3")
    seen = " ".join(at.answers("3 furlongs").split())
    assert "has more than one decimal sign" in seen
    assert "'furlongs' is no unit known here" in " ".join(at.answers("").split())
    seen = at.answers("?")
    assert "Nothing typed" in seen
    seen = at.answers("map")
    for word in ("skip", "back", "again", "note TEXT", "stop", "done"):
        assert word in seen
    assert "X here" in at.answers("done")
    seen = " ".join(at.answers("stop").split())
    assert "The set stays open" in seen
    at.leaves()
    assert read_back(log) == []


def test_stop_and_go_on_another_day(start: Start, log: Path) -> None:
    at = first_dial(start)
    answer_all(at, 1, 7)
    at.answers("stop")
    seen = at.leaves()
    assert "Stopped; 7 of 22 readings are kept." in seen
    assert "lapping read sole-250x60mm" in seen
    assert at.child.exitstatus == 0
    # By its name, by its size, or as the set left open: always the same set.
    for number, words in ((8, ("sole-250x60mm",)), (9, SIZE), (10, ())):
        at = start(*words)
        seen = at.sees(r"> $")
        assert f"Going on: {number - 1} of 22 readings are kept (begun 20" in seen
        assert f"{number} of 22:" in seen
        at.types("-5")
        at.answers("stop")
        at.leaves()
    at = start()
    answer_all(at, 11)
    at.sees("Enter finishes")
    at.types("")
    at.leaves()
    assert len(read_back(log)) == PLACES


def test_ctrl_c_and_the_end_of_input_stop_cleanly(start: Start, log: Path) -> None:
    at = first_dial(start)
    at.answers("0")
    seen = at.interrupts()
    assert "Stopped; 1 of 22 readings are kept. Go on with:" in seen
    assert "Traceback" not in seen
    assert at.child.exitstatus == 0
    at = start()
    at.answers("-3")
    at.sees(r"3 of 22.*> $")
    at.child.sendeof()
    seen = at.leaves()
    assert "Stopped; 2 of 22 readings are kept. Go on with:" in seen
    assert at.child.exitstatus == 0
    assert [value for *_, value in read_back(log)] == [0, -3]


def test_stopping_before_anything_was_begun_leaves_nothing_half_done(
    start: Start, log: Path
) -> None:
    at = start(*SIZE)
    assert "Stopped; no set was begun." in at.interrupts()
    with open_log(log) as opened:
        assert open_sets(opened) == []


def test_every_acknowledged_reading_outlives_a_pulled_plug(
    start: Start, log: Path
) -> None:
    lot = random.Random(4)
    at = first_dial(start)
    at.sees(r"um> $")
    acknowledged: list[int] = []
    while len(acknowledged) < PLACES:
        for _ in range(lot.randint(1, 5)):
            if len(acknowledged) == PLACES:
                break
            value = -20 - len(acknowledged)
            at.types(str(value))
            at.sees(f"kept: {value} um")
            acknowledged.append(value)
        if lot.random() < 0.7 and len(acknowledged) < PLACES:
            # One more is typed and may or may not be there.
            at.sees(r"um> $")
            at.types(str(-20 - len(acknowledged)))
        assert at.child.pid is not None
        os.kill(at.child.pid, signal.SIGKILL)
        at.leaves()
        there = [round(value) for *_, value in read_back(log)]
        assert there[: len(acknowledged)] == acknowledged
        assert len(there) - len(acknowledged) in (0, 1)
        acknowledged = there
        with sqlite3.connect(log) as db:
            assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        at = start()
        seen = at.sees(r"> $")
        if len(there) < PLACES:
            assert f"{len(there) + 1} of 22:" in seen
    at.types("")
    assert "lapping check" in at.leaves()
    assert [round(value) for *_, value in read_back(log)] == acknowledged


def test_a_full_disk_is_said_and_the_reading_can_be_typed_again(
    start: Start, log: Path
) -> None:
    at = first_dial(start)
    at.answers("stop")
    at.leaves()
    at = start()
    at.sees(r"um> $")
    assert at.child.pid is not None
    _, hard = resource.prlimit(at.child.pid, resource.RLIMIT_FSIZE)
    # Room for a few readings and no more, as on a disk that is nearly full.
    resource.prlimit(at.child.pid, resource.RLIMIT_FSIZE, (60_000, hard))
    acknowledged = []
    for value in range(-20, -20 - PLACES, -1):
        at.types(str(value))
        if "kept" not in at.sees(r"(kept: -\d+ um|nothing was written)"):
            break
        acknowledged.append(value)
        at.sees(r"um> $")
    assert 0 < len(acknowledged) < PLACES
    at.sees(r"um> $")
    assert [value for *_, value in read_back(log)] == acknowledged
    resource.prlimit(at.child.pid, resource.RLIMIT_FSIZE, (hard, hard))
    at.types("-21")
    at.sees(r"kept: -21 um")
    at.answers("stop")
    at.leaves()
    assert [value for *_, value in read_back(log)] == [*acknowledged, -21]


def test_two_at_the_same_set_lose_nothing(start: Start, log: Path) -> None:
    one = first_dial(start)
    one.answers("-20")
    one.sees(r"2 of 22.*> $")
    other = start()
    other.sees(r"2 of 22.*> $")
    other.types("-21")
    other.sees("kept: -21 um")
    one.types("-22")
    one.sees("kept: -22 um")
    one.answers("stop")
    other.answers("stop")
    one.leaves()
    other.leaves()
    assert [value for *_, value in read_back(log)] == [-20, -21, -22]


def test_leaves_know_what_stops_and_the_map_is_as_you_see_it(
    start: Start, log: Path
) -> None:
    at = start(*SIZE)
    at.answers("leaves")
    at.answers("0.02 0.03 0.04 0.05 0.06 0.08 0.10 mm")
    at.answers("flat")
    assert "'flat' " in at.answers("5um")
    seen = at.answers("0.05")
    assert "right       toe        left" in seen
    assert "leaf that goes, mm> " in seen
    assert "kept: 0.05 mm goes, 0.06 mm stops" in at.answers("0.07")
    seen = at.answers("0")
    assert "'0.07' is no leaf of the set; a stack is written leaf by leaf" in seen
    assert "kept: none goes, 0.02 mm stops" in at.answers("0.02+0.03 0.06")
    assert "kept: 0.05 mm goes, 0.06 mm stops" in at.answers("0.08 0.04")
    assert "is not thinner than stops" in at.answers("0.1")
    assert "kept: 0.1 mm goes, no leaf stops" in at.answers("stop")
    at.leaves()
    with open_log(log) as opened:
        entry = open_sets(opened)[0]
        found = [one.fact.understood for one in readings_of(opened, entry.root)]
    assert [
        (one.goes_um, one.stops_um) for one in found if isinstance(one, FeelerReading)
    ] == [(50, 60), (0, 20), (50, 60), (100, None)]


def test_an_edge_is_laid_line_by_line_and_then_turned(start: Start, log: Path) -> None:
    at = start(*SIZE, lines=40)
    at.answers("edge")
    at.answers("mm")
    at.answers("")
    lines = []
    seen = at.sees(r"> $")
    while "y or n" not in seen:
        laid = re.search(r"Lay the edge along this line: ([^.]+)\.", seen)
        if laid:
            lines.append(laid[1])
        done = "Enter finishes" in seen
        at.types("" if done else "0.5")
        seen = at.sees(r"> $")
    assert len(lines) == 8
    assert lines[0] == "left edge"
    at.types("y")
    seen = at.answers("again")
    assert "The edge is turned end for end now." in " ".join(seen.split())
    assert "An edge laid down anew is read along its whole line." in " ".join(
        at.answers("0.5").split()
    )
    at.answers("stop")
    at.leaves()
    with open_log(log) as opened:
        (face,) = faces(opened)
        first, second = sets_of(opened, face)
        assert as_readings(opened, first).turned is None
        assert ("turned", "half") in {header[:2] for header in second.fact.headers}
        assert second.fact.places == first.fact.places


def test_an_edge_is_tried_with_the_leaves_that_are_known(
    start: Start, log: Path
) -> None:
    at = start(*SIZE, "--method", "leaves")
    at.answers("help")
    assert "Answer as the question says; stop leaves off." in at.answers(
        "0.03 0.05 0.1 mm"
    )
    at.answers("10um")
    at.answers("stop")
    at.leaves()
    at = start(*SIZE, "--method", "edge", "--new", lines=40)
    assert "Enter: those of 'leaves'" in " ".join(at.answers("").split())
    at.answers("")
    seen = " ".join(at.answers("no lite").split())
    assert "in mm" in seen
    assert "37 readings at 22 places" in seen
    assert "write 0.8+0.3" in seen
    assert "did you mean 'no light'?" in at.answers("?")
    assert "no light no light shows under the edge" in " ".join(
        at.answers("no light").split()
    )
    at.answers("stop")
    assert "1 of 37 readings are kept" in at.leaves()
    with open_log(log) as opened:
        leaves, edge = (dict(one.fact.settings) for one in held(opened, Gauge))
    assert leaves == {
        "unit": "mm",
        "leaves": "0.03, 0.05, 0.1",
        "reference_flatness": "10um",
    }
    assert edge == {"unit": "mm", "leaves": "0.03, 0.05, 0.1"}


def test_a_question_about_a_gauge_can_be_left(start: Start) -> None:
    at = start(*SIZE, "--method", "leaves")
    at.answers("stop")
    assert "Stopped; no set was begun." in at.leaves()


def test_sticks_tell_the_high_end(start: Start, log: Path) -> None:
    at = start(*SIZE, "--stick", "400mm")
    for typed in ("sticks", "mm", "0.3"):
        at.answers(typed)
    assert "as '0.3 left' or '0.3 right'" in " ".join(at.answers("0.3 left").split())
    assert "kept: gap 0.3 mm, left high" in at.answers("0")
    at.answers("0.2 right")
    at.answers("")
    at.leaves()
    checked = run(log, "check", "sole-250x60mm")
    assert checked.returncode == 0, checked.stderr
    assert "Twist" in checked.stdout


def test_a_level_and_a_square_are_read_to_the_end(start: Start, log: Path) -> None:
    at = start("--length", "250mm", "--width", "48mm", "--kind", "side")
    at.answers("square")
    at.answers("mm")
    at.answers("")
    for typed in ("0.05 sole", "0.05 s", "0", "0.06 sole", "0.05 sole"):
        at.answers(typed)
    at.answers("")
    at.leaves()
    assert run(log, "check", "side-250x48mm").returncode == 0
    at = start(*SIZE, "--method", "level")
    at.answers("0.02mm/m")
    seen = at.answers("-1")
    assert "slope, divisions of 0.02mm/m> " in seen
    assert "(along 8, across 5 to along 66.5, across 5 mm)" in " ".join(seen.split())
    for _ in range(15):
        at.answers("1")
    at.answers("")
    at.leaves()
    checked = run(log, "check", "sole-250x60mm", "--json")
    assert checked.returncode == 0, checked.stderr
    assert json.loads(checked.stdout)["not_seen"] == []


def test_a_narrow_terminal_holds_every_line(start: Start) -> None:
    at = first_dial(start, columns=40, lines=20)
    seen = ""
    for typed in ("-20", "-30", "-26", "-280", "?", "map", "note x", "bakc", "back"):
        seen += at.answers(typed)
    at.answers("stop")
    seen += at.leaves()
    assert "|   X        .        .   |" in seen
    widest = max(seen.splitlines(), key=len)
    assert len(widest) <= 40, widest


def test_a_map_that_does_not_fit_is_left_out_until_asked_for(start: Start) -> None:
    at = first_dial(start, lines=12)
    seen = at.answers("map")
    assert "+---" not in seen
    assert "1 of 22: toe-left corner" in seen
    assert "|   X        .        .   |" in at.answers("stop")


def test_piped_answers_are_taken_line_by_line(log: Path) -> None:
    said = run(log, "read", *SIZE, typed="dial\num\ny\n\n0\n-2\n-1\n")
    assert said.returncode == 0
    assert "Traceback" not in said.stderr
    assert "+---" not in said.stdout, "a map is for somebody who sees it"
    assert "\x1b" not in said.stdout
    assert "Stopped; 3 of 22 readings are kept." in said.stdout
    assert str(log) in said.stderr + said.stdout
    more = "".join(f"{-i % 7}\n" for i in range(3, PLACES))
    said = run(log, "read", typed=more)
    assert said.returncode == 0, said.stderr
    assert len(read_back(log)) == PLACES
    # Nothing was left to say but Enter, so the end of input is that.
    with open_log(log) as opened:
        assert open_sets(opened) == []


def test_bytes_that_are_no_text_lose_nothing(log: Path) -> None:
    said = subprocess.run(
        [sys.executable, "-m", "lapping", "read", *SIZE],
        cwd=ROOT,
        env=os.environ | {"LAPPING_LOG": str(log)},
        input=b"dial\num\ny\n\n1\n\xff\xfe\nnote \xff\n2\n",
        capture_output=True,
        timeout=60,
    )
    assert said.returncode == 0, said.stderr
    assert [value for *_, value in read_back(log)] == [1, 2]


def test_the_gauge_is_asked_for_once(start: Start, log: Path) -> None:
    at = first_dial(start)
    at.answers("stop")
    at.leaves()
    at = start("--length", "300mm", "--width", "70mm")
    assert "1 of 22" in at.answers("stop")
    at.leaves()
    at = start("--length", "300mm", "--width", "70mm", "--method", "leaves")
    at.answers("0.05 0.1 mm")
    at.answers("")
    assert "leaf that goes" in at.answers("stop")


def test_a_new_set_is_begun_when_asked_for(start: Start, log: Path) -> None:
    at = first_dial(start)
    at.answers("0")
    at.answers("stop")
    at.leaves()
    at = start(*SIZE, "--new")
    assert "1 of 22" in at.answers("stop")
    at.leaves()
    with open_log(log) as opened:
        (still_open,) = open_sets(opened)
        (reading,) = held(opened, LoggedReading)
    assert reading.fact.set != still_open.root


def test_a_set_is_not_gone_on_with_after_strokes(start: Start, log: Path) -> None:
    at = first_dial(start)
    at.answers("0")
    at.answers("stop")
    at.leaves()
    stroked = run(log, "strokes", "sole-250x60mm", "P240", "50")
    assert stroked.returncode == 0, stroked.stderr
    at = start()
    seen = " ".join(at.answers("stop").split())
    assert "it is set aside and kept (strokes were made since)" in seen
    assert "1 of 22" in seen


def test_whatever_a_plane_is_called_the_way_back_to_it_can_be_typed(log: Path) -> None:
    name = 'L\'ébène "4½" 🪵 / שלום'
    words = ("--length", "250mm", "--width", "60mm")
    assert run(log, "plane", name, *words).returncode == 0
    said = run(log, "read", f"{name}/sole", typed="dial\num\ny\n\n3\nstop\n")
    assert said.returncode == 0, said.stderr
    go_on = shlex.split(said.stdout.splitlines()[-1])
    assert go_on == ["lapping", "read", f"{name}/sole"]
    said = run(log, *go_on[1:], typed="stop\n")
    assert "Going on: 1 of 22" in said.stdout


def test_a_face_without_metal_is_refused_and_nothing_is_begun(log: Path) -> None:
    words = ("--length", "250mm", "--width", "60mm", "--mouth", "0 mm to 250 mm")
    said = run(log, "read", *words, typed="dial\num\ny\n\n")
    assert said.returncode == 2
    assert "has no place to put the gauge on" in said.stderr
    with open_log(log) as opened:
        assert open_sets(opened) == []


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ((), "say which face: lapping read PLANE/sole"),
        (("--length", "250mm"), "give both --length and --width"),
        (("bramble/sole",), "there is no face 'bramble/sole'"),
        (("x", *SIZE), "leave --length, --width and --mouth out"),
        (("--length", "250", "--width", "60mm"), "has no unit"),
        ((*SIZE, "--gauge", "dial"), "there is no gauge 'dial'"),
        ((*SIZE, "--method", "ruler"), "is no gauge known here"),
        ((*SIZE, "--kind", "lid"), "is not known"),
        ((*SIZE, "--method", "square"), "a square is held against a side"),
        ((*SIZE, "--method", "level", "--base", "200mm"), "cannot be stepped along"),
        ((*SIZE, "--method", "level", "--base", "long"), "is not a number"),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence(
    log: Path, words: tuple[str, ...], why: str
) -> None:
    said = run(log, "read", *words, typed="")
    assert said.returncode == 2, said.stdout
    assert why in said.stderr
    assert "Traceback" not in said.stderr


def test_reading_loads_nothing_heavy(log: Path) -> None:
    code = (
        "import sys\n"
        f"sys.argv = ['lapping', 'read', *{SIZE!r}]\n"
        "from lapping.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'scipy', 'matplotlib', 'cv2'} & set(sys.modules)\n"
        "print('heavy:', sorted(heavy))"
    )
    said = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=os.environ | {"LAPPING_LOG": str(log)},
        input="dial\num\ny\n\n0\n-3\nstop\n",
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    assert "2 of 22 readings are kept" in said.stdout
    assert "heavy: []" in said.stdout


def test_a_mouth_that_is_another_makes_another_face(start: Start, log: Path) -> None:
    at = start("--length", "250mm", "--width", "60mm")
    for typed in ("dial", "um", "y", "", "stop"):
        at.answers(typed)
    at.leaves()
    # Measured later, it is added to what is known of the same outline.
    at = start(*SIZE, "--new")
    assert "=====" in at.answers("stop")
    at.leaves()
    said = run(log, "read", *SIZE[:4], "--mouth", "90 mm to 96 mm", typed="")
    assert said.returncode == 2
    assert "in the log with its mouth from 80 to 86 mm" in said.stderr
