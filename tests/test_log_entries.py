"""Entries are kept for good: corrections come after them, and can be taken back."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from dataclasses import replace as changed
from pathlib import Path
from typing import Any

import pytest

from lapping.errors import BadInput
from lapping.history import Note, Plane, Strokes
from lapping.log.bench import add_note, last_strokes, notes_about, strokes_of
from lapping.log.entries import (
    bring_back,
    held,
    keep,
    now_holding,
    past,
    replace,
    take_back,
)
from lapping.log.look_back import face_history
from lapping.log.opening import Log, writing
from tests.made_logs import Clock, bench, bramble, everything


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def log(tmp_path: Path, clock: Clock) -> Iterator[Log]:
    with bench(tmp_path / "log.lapping", clock) as opened:
        yield opened


def grades(log: Log, face: int) -> list[str]:
    return [one.fact.grade for one in strokes_of(log, face)]


def test_a_correction_holds_and_the_old_entry_is_kept(log: Log) -> None:
    face = bramble(log).root
    first = keep(log, Strokes(face=face, grade="P240", count=100))
    second = replace(log, first.id, changed(first.fact, grade="P400"))
    assert grades(log, face) == ["P400"]
    assert [one.fact for one in past(log, first.id)] == [first.fact, second.fact]
    assert second.root == first.id
    take_back(log, second.id)
    assert grades(log, face) == ["P240"]
    assert len(past(log, first.id)) == 3


def test_what_was_taken_back_can_be_had_again(log: Log) -> None:
    face = bramble(log).root
    first = keep(log, Strokes(face=face, grade="P240", minutes=2.5))
    take_back(log, first.id)
    assert grades(log, face) == []
    assert now_holding(log, Strokes, first.id) is None
    assert past(log, first.id)[-1].fact is None
    bring_back(log, first.id)
    assert grades(log, face) == ["P240"]
    with pytest.raises(BadInput, match="holds as it is"):
        bring_back(log, past(log, first.id)[-1].id)


def test_what_holds_again_is_taken_back_by_its_own_number(log: Log) -> None:
    face = bramble(log).root
    first = keep(log, Strokes(face=face, grade="P240", count=10))
    take_back(log, first.id)
    with pytest.raises(BadInput, match="taken back already; 'lapping log again 3'"):
        take_back(log, first.id)
    bring_back(log, first.id)
    take_back(log, first.id)
    assert grades(log, face) == []
    bring_back(log, first.id)
    second = replace(log, past(log, 3)[-1].id, changed(first.fact, grade="P400"))
    take_back(log, second.id)
    assert grades(log, face) == ["P240"]
    take_back(log, first.id)
    assert grades(log, face) == []


def test_what_is_corrected_keeps_the_session_it_was_done_in(
    log: Log, tmp_path: Path, clock: Clock
) -> None:
    face = bramble(log).root
    first = keep(log, Strokes(face=face, grade="P240", count=10))
    clock.forward(30)
    with bench(tmp_path / "log.lapping", clock) as later:
        replace(later, first.id, changed(first.fact, count=20))
        (now,) = strokes_of(later, face)
        assert (now.session, now.entered_at) == (first.session, first.entered_at)
        assert past(later, first.id)[-1].session == first.session + 1


def test_taking_back_a_taking_back_lets_it_hold_again(log: Log) -> None:
    face = bramble(log).root
    first = keep(log, Strokes(face=face, grade="P240", count=10))
    take_back(log, first.id)
    take_back(log, past(log, first.id)[-1].id)
    assert grades(log, face) == ["P240"]


def test_an_entry_is_replaced_once_and_by_its_kind(log: Log) -> None:
    face = bramble(log).root
    first = keep(log, Strokes(face=face, grade="P240", count=100))
    replace(log, first.id, changed(first.fact, count=50))
    with pytest.raises(BadInput, match=r"entry \d+ was replaced, and entry 4 holds"):
        replace(log, first.id, changed(first.fact, count=70))
    with pytest.raises(BadInput, match="is a plane, not a strokes"):
        replace(log, 1, first.fact)
    for number in (0, -1, 999, 10**30):
        with pytest.raises(BadInput, match=f"there is no entry {number}"):
            take_back(log, number)
    assert [one.fact.count for one in strokes_of(log, face)] == [50]


@pytest.mark.parametrize("table", ["session", "entry", "plane", "face"])
def test_no_row_can_be_changed_or_deleted(log: Log, table: str) -> None:
    bramble(log)
    before = everything(log)
    for sql in (f"DELETE FROM {table}", f"UPDATE {table} SET id = id + 100"):
        with pytest.raises(sqlite3.IntegrityError, match="entries are kept"):
            log.db.execute(sql)
    assert everything(log) == before


def test_half_a_transaction_is_none(log: Log) -> None:
    face = bramble(log).root
    before = everything(log)

    def half() -> None:
        with writing(log):
            keep(log, Strokes(face=face, grade="P240", count=100))
            keep(log, Strokes(face=face, grade="P240", count=100_000_000))

    with pytest.raises(BadInput, match="'strokes' must be"):
        half()
    assert everything(log) == before


def test_a_clock_put_back_changes_neither_order_nor_session(
    log: Log, clock: Clock
) -> None:
    face = bramble(log)
    keep(log, Strokes(face=face.root, grade="P120", count=1))
    clock.forward(-24 * 365)
    log.session = None  # as the next command would begin
    keep(log, Strokes(face=face.root, grade="P240", count=1))
    assert grades(log, face.root) == ["P120", "P240"]
    latest = last_strokes(log)
    assert latest is not None
    assert latest.fact.grade == "P240"
    history = face_history(log, face)
    assert history[0].entered_at > history[1].entered_at
    assert {one.session for one in history} == {1}


@pytest.mark.parametrize(("hours", "sessions"), [(5.9, 1), (6.1, 2)])
def test_a_long_pause_begins_a_session(
    log: Log, clock: Clock, hours: float, sessions: int
) -> None:
    face = bramble(log)
    clock.forward(hours)
    log.session = None
    keep(log, Strokes(face=face.root, grade="P240", count=1))
    (last,) = strokes_of(log, face.root)
    assert last.session == sessions


def test_the_last_strokes_are_those_of_the_face_if_it_had_any(log: Log) -> None:
    bramble_sole, teasel = bramble(log).root, bramble(log, "Teasel").root
    assert last_strokes(log, teasel) is None
    keep(log, Strokes(face=bramble_sole, grade="P120", count=1))
    for face, expected in ((teasel, "P120"), (bramble_sole, "P120")):
        found = last_strokes(log, face)
        assert found is not None
        assert found.fact.grade == expected
    keep(log, Strokes(face=teasel, grade="P400", count=1))
    found = last_strokes(log, bramble_sole)
    assert found is not None
    assert found.fact.grade == "P120"


def test_a_remark_stands_beside_what_it_is_about(log: Log) -> None:
    face = bramble(log)
    kept = keep(log, Strokes(face=face.root, grade="P240", count=1))
    add_note(log, kept, "the paper lifted at one corner")
    assert [one.fact.text for one in notes_about(log, kept.root)] == [
        "the paper lifted at one corner"
    ]
    assert isinstance(face_history(log, face)[-1].fact, Note)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"grade": "240", "count": 5}, "either of two grits.*P240"),
        ({"grade": "coarse", "count": 5}, "no grade of paper"),
        ({"grade": "P240"}, "how many strokes, or how many minutes"),
        ({"grade": "P240", "count": 5, "minutes": 1.0}, "not both"),
        ({"grade": "P240", "count": 0}, "'strokes' must be more than 0"),
        ({"grade": "P240", "minutes": float("nan")}, "'minutes' must be"),
        ({"grade": "P240", "count": 5, "load": ""}, "load: nothing is said"),
    ],
)
def test_strokes_that_cannot_be_are_refused(values: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        Strokes(face=1, **values)


def test_a_plane_that_cannot_be_is_refused() -> None:
    cases: tuple[tuple[dict[str, Any], str], ...] = (
        ({"bed_deg": 190.0}, "'bed_deg' must be"),
        ({"weight_g": -1.0}, "'weight_g' must be"),
        ({"name": " "}, "needs a name"),
        ({"name": "a\nb"}, "cannot be named"),
        ({"name": "b" * 101}, "over 100 characters"),
        ({"note": "a\0b"}, "no text"),
    )
    for values, said in cases:
        with pytest.raises(BadInput, match=said):
            changed(Plane(name="Bramble"), **values)


def held_planes(log: Log) -> list[str]:
    return [one.fact.name for one in held(log, Plane)]


def test_planes_come_in_the_order_they_were_first_made(log: Log) -> None:
    bramble(log, "Teasel")
    bramble(log, "Bramble")
    first = held(log, Plane)[0]
    replace(log, first.id, changed(first.fact, metal="bronze"))
    assert held_planes(log) == ["Teasel", "Bramble"]


def test_what_others_belong_to_is_not_taken_back(log: Log) -> None:
    face = bramble(log)
    kept = keep(log, Strokes(face=face.root, grade="P240", count=1))
    for number, kind in ((1, "plane"), (face.id, "face")):
        with pytest.raises(BadInput, match=f"is a {kind} that other entries belong"):
            take_back(log, number)
    take_back(log, kept.id)
    take_back(log, face.id)
    take_back(log, 1)
    assert held_planes(log) == []
