"""A made-up week at the bench: six sessions, two planes, and a plug that is pulled."""

from __future__ import annotations

from pathlib import Path

from lapping.history import LoggedSet, Strokes
from lapping.log.entering import take_up
from lapping.log.entries import keep
from lapping.log.examine import troubles
from lapping.log.look_back import face_history, newest_sets
from lapping.log.opening import Log
from lapping.log.planes import the_face
from lapping.log.sets import as_readings, open_sets, readings_of
from tests.kill_study import kill_one, typed
from tests.made_logs import ROWS, Clock, bench, bramble, dial_set

PLANES = ("Bramble", "Teasel")


def evening(log: Log, number: int) -> None:
    """Lap one of the two planes and read it before and after."""
    face = the_face(log, f"{PLANES[number % 2]}/sole")
    dial_set(log, face).finish()
    keep(log, Strokes(face=face.root, grade="P240", count=100 + number))
    dial_set(log, face, ROWS[::-1]).finish()


def test_a_week_is_found_again_whole(tmp_path: Path) -> None:
    path, clock = tmp_path / "log.lapping", Clock()
    with bench(path, clock) as log:
        for name in PLANES:
            bramble(log, name)
    for number in range(6):
        with bench(path, clock) as log:
            evening(log, number)
            if number == 2:
                begun = dial_set(log, the_face(log, "Bramble/sole"), []).number
        if number == 2:
            said = kill_one(["enter", str(path)], 0.1)
            with bench(path, clock) as log:
                (left_open,) = open_sets(log)
                assert left_open.root == begun
                again = take_up(log, begun)
                kept = len(again.readings())
                assert said <= kept <= said + 1
                again.add(typed(kept))
                # Those before lie on one line, however many there are.
                again.add(("245", "5", "1"))
                again.add(("5", "55", "1"))
                again.finish()
        clock.forward(24)
    with bench(path, clock) as log:
        assert troubles(log) == []
        assert open_sets(log) == []
        strokes: list[int | None] = []
        for name in PLANES:
            face = the_face(log, f"{name}/sole")
            history = face_history(log, face)
            strokes += [
                one.fact.count for one in history if isinstance(one.fact, Strokes)
            ]
            sets = [one for one in history if isinstance(one.fact, LoggedSet)]
            assert len(sets) == (7 if name == "Bramble" else 6)
            (newest,) = newest_sets(log, face)
            assert [one.entered_as for one in as_readings(log, newest).readings] == [
                row[2] for row in ROWS[::-1]
            ]
        assert sorted(strokes, key=str) == [100, 101, 102, 103, 104, 105]
        assert [one.fact.cells for one in readings_of(log, begun)][:kept] == [
            typed(n) for n in range(kept)
        ]
        (sessions,) = log.db.execute("SELECT count(*) FROM session").fetchone()
        assert sessions >= 6
