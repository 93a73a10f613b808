"""Whole jobs that follow the advice, in short; `python -m tests.campaign` runs 200."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.campaign.answers import KEYS, scripted, understand
from tests.campaign.ask import ADVISORS, by_command, by_function
from tests.campaign.bench import Bench, Rubbed
from tests.campaign.draw import draw
from tests.campaign.effects import Effects
from tests.campaign.ideal import ideal
from tests.campaign.job import Look, Outcome, run
from tests.campaign.score import lines, ranges
from tests.campaign.study import one_job
from tests.campaign.trouble_score import state

KEEP = {
    "action": "keep lapping", "why": "", "where": [], "strokes": [100, 300],
    "grit": None, "doubt": "", "signs": [], "warnings": [],
}  # fmt: skip
DONE = KEEP | {"action": "done", "strokes": None}


@pytest.mark.parametrize(
    ("number", "kind", "most"),
    [(11, "near", 5), (21, "paper", 5), (15, "rocking", 6), (5, "off centre", 6),
     (8, "leaves", 2), (9, "edge", 2)],
)  # fmt: skip
def test_a_job_is_answered_at_every_step_and_not_called_done_too_soon(
    tmp_path: Path, number: int, kind: str, most: int
) -> None:
    shop = draw(number, 1, kind)
    outcome = run(shop, by_function(), tmp_path / "log", most_looks=most)
    assert outcome.looks
    assert outcome.end in ("done", "ran out", "gave up")
    if outcome.end == "done":
        assert outcome.truth.works
    for look in outcome.looks:
        assert look.advice.why
        # However it is answered, whoever is plainly not there yet is not sent home.
        if look.truth.together_um > 1.5 * outcome.shop.target_um:
            assert look.advice.action not in ("done", "next grit")


def test_the_command_answers_as_the_function_does(tmp_path: Path) -> None:
    folder = tmp_path / "log"
    outcome = run(draw(2, 1), scripted((KEEP, DONE)), folder)
    face = Bench(outcome.shop).diary.label
    said = by_command()(folder, face)
    assert tuple(said) == KEYS
    assert said == by_function()(folder, face)
    understand(said)


def test_the_folder_holds_every_reading_and_stroke(tmp_path: Path) -> None:
    seen: list[tuple[int, int]] = []

    def note(bench: Bench, look: Look) -> None:
        seen.append((look.strokes, len(bench.book.rows["reading"])))

    shop = draw(0, 1)
    outcome = run(shop, scripted((KEEP, KEEP, DONE)), tmp_path / "log", each=note)
    assert [strokes for strokes, _ in seen] == [0, shop.habit, 2 * shop.habit]
    assert len({many for _, many in seen}) == 3
    text = (tmp_path / "log" / "strokes.csv").read_text(encoding="utf-8")
    assert len(text.splitlines()) == 3
    assert outcome.strokes == 2 * shop.habit


def test_the_same_number_is_the_same_job(tmp_path: Path) -> None:
    outcomes = [
        run(draw(4, 7), scripted((KEEP, KEEP, DONE)), tmp_path / name).plain()
        for name in ("one", "two")
    ]
    for outcome in outcomes:
        for look in outcome["looks"]:
            look["seconds"] = 0.0
    assert outcomes[0] == outcomes[1]


def test_one_who_knows_all_stops_as_soon_as_the_face_is_within(tmp_path: Path) -> None:
    shop = draw(2, 1)
    best = ideal(shop)
    assert best.shaping is not None
    assert best.shaping > 0
    bench = Bench(shop)
    while bench.reached is None:
        bench.rub(100, shop.papers[0])
    # The same plane in the same papers, and a hand that is not told to be steady.
    assert best.shaping <= 1.2 * bench.reached


def record(**said: Any) -> dict[str, Any]:
    """Make the record of a job of three looks that was within at 150 strokes."""
    looks = [
        {
            "strokes": strokes,
            "rubbed": None if strokes == 0 else {"grade": "P80"},
            "effects": dict.fromkeys(
                ("dead paper", "shape", "off centre", "proud", "warm", "worn paper",
                 "bump", "any growth"), 0.0,
            ),
            "advice": {"action": "keep lapping", "strokes": [50, 200], "signs": []},
            "u_um": 2.0, "seconds": 1.0, "truth": {"whole_um": 300.0},
        }
        for strokes in (0, 100, 200)
    ]  # fmt: skip
    found = {
        "number": 1, "kind": "plain", "end": "done", "why": "", "target_um": 80.0,
        "u_um": 2.0, "square_u_um": None, "strokes": 200, "reached": 150,
        "ideal": {
            "shaping": 90, "sessions": 100, "finishing": 0, "finishing_sessions": 0
        }, "looks": looks,
        "truth": {"works": True, "whole_um": 70.0}, "scratch_um": 1.0,
        "finest_scratch_um": 1.0,
    }  # fmt: skip
    return found | said


def test_ranges_are_held_against_the_strokes_that_were_left() -> None:
    one = record()
    # 150 left: held; 50 left: held; none left, and 50 to 200 said.
    assert [found[0] for found in ranges(one)] == ["held", "held", "more said"]
    one["looks"][0]["advice"]["strokes"] = [10, 100]
    assert next(ranges(one))[0] == "less said"
    # What is said of finer papers is no shaping.
    one["looks"][1]["advice"]["action"] = "next grit"
    assert len(list(ranges(one))) == 1


def test_a_trouble_is_named_in_time_or_missed_or_not_there() -> None:
    one = record()
    assert state(one, "warm") == "free"
    one["looks"][0]["effects"]["warm"] = 7.0
    assert state(one, "warm") == "missed"
    one["looks"][2]["advice"]["signs"] = ["read warm"]
    assert state(one, "warm") == "named"
    one["looks"][0]["effects"]["warm"] = 3.0
    assert state(one, "warm") == "neither"
    one["looks"][0]["effects"]["warm"] = 0.0
    assert state(one, "warm") == "false"
    one["looks"][2]["effects"]["warm"] = 7.0
    one["looks"][2]["advice"]["signs"] = []
    assert state(one, "warm") == "ended"
    assert state(one, "off centre") == "neither"


def test_only_growth_towards_what_lap_or_hand_makes_is_their_trouble() -> None:
    """A twist that comes out as a lump goes is none, nor a hollow where crowns come."""
    bench = Bench(draw(3, 1, "lap"))
    bench.lap = replace(bench.lap, along_bow_um=-900.0, across_bow_um=0, twist_um=0)
    effects, face = Effects(bench), bench.truth()
    way = bench.lap.copied_um(bench.shop.face)[0]
    for bow, twist in ((5.0, 10.0), (25.0, 40.0), (-30.0, 10.0)):
        face = replace(face, along_bow_um=bow, across_bow_um=0.0, twist_um=twist)
        effects.read(None, warm_um=0.0, face=face)
        drawn = max(bow - 5.0, 0.0) if way > 0 else 0.0
        assert effects.now()["shape"] == pytest.approx(drawn)
        # A twist makes half its figure in height.
        assert effects.now()["any growth"] == max(abs(bow) - 5.0, (twist - 10) / 2)


def test_any_session_on_a_fresh_sheet_is_a_yardstick() -> None:
    effects = Effects(Bench(draw(1, 1, "paper")))
    face, dead = effects.bench.truth(), []
    for fresh, cuts in ((False, 0.3), (True, 0.5), (False, 0.3)):
        rubbed = Rubbed(strokes=9, grade="P80", fresh=fresh, cuts=cuts, most_um=6.0)
        effects.read(rubbed, warm_um=0.0, face=face)
        dead.append(effects.now()["dead paper"])
    assert dead == pytest.approx([0.0, 0.0, 14.0])


def test_the_table_says_each_thing_that_is_required() -> None:
    text = "\n".join(lines([record(), record(), record(end="gave up", why="tired")]))
    assert "called done and truly within target: 100.0% (2 of 2)" in text
    assert (
        "median 2.00, nine in ten below inf; of shaping alone 2.00; over one who "
        in text
    )
    assert "strokes-left range held the truth: 66.7% (6 of 9)" in text
    assert "gave up: tired: 1" in text


def test_a_job_that_fails_is_a_record_too(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(ADVISORS, "lapping", lambda: scripted(({"action": "sing"},)))
    one = one_job(0, seed=1, only=None, advisor="lapping")
    assert one["end"] == "failed"
    assert "lacks" in one["why"]
    json.dumps(one)
    assert "failed" in "\n".join(lines([one, record()]))


def test_an_outcome_is_a_line_of_json(tmp_path: Path) -> None:
    outcome: Outcome = run(draw(6, 1), scripted((KEEP, DONE)), tmp_path / "log")
    again = json.loads(json.dumps(outcome.plain()))
    assert again["looks"][0]["truth"]["whole_um"] > 0
    assert again["looks"][1]["effects"]["proud"] > 0
