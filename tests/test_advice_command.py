"""`lapping advice` and `lapping progress`: from the log, and from a folder by hand."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lapping.advice.case import look_at
from lapping.advice.table import advise_on
from lapping.from_log.bench_rates import from_other_faces
from lapping.from_log.job import job_of
from lapping.log.examine import troubles
from lapping.log.exchange import import_folder
from lapping.log.opening import open_log
from lapping.log.planes import the_face
from lapping.progress import progress_of
from lapping.words.progress import progress_words
from tests.made_folders import DIAL, SIDE, SLAB, SOLE, HandMade
from tests.made_jobs import PLACES
from tests.made_jobs import SOLE as FACE
from tests.made_readings import form_shape
from tests.said import Run

KEYS = ["action", "why", "where", "strokes", "grit", "doubt", "signs", "warnings"]


def sole_rows(bow: float, seed: int = 1) -> list[tuple[object, ...]]:
    """Read a bowed sole by dial, to whole micrometres."""
    rng = np.random.default_rng(seed)
    shape = form_shape(FACE, along_bow=bow)
    return [
        (a, c, round(float(shape(np.array(a), np.array(c))) + rng.normal(0, 2)))
        for a, c in PLACES
    ]


def slab_rows(bow: float = 0.0) -> list[tuple[object, ...]]:
    """Read a lap at nine places."""
    return [
        (a, c, round(-bow * (a / 225 - 1) ** 2))
        for a in (5, 225, 445)
        for c in (5, 150, 295)
    ]


def a_job(bows: tuple[float, ...] = (-300, -270, -245)) -> HandMade:
    """Write down a plane, a measured lap, readings and strokes between them."""
    by_hand = HandMade()
    plane = by_hand.enter("plane", name="Sorrel", bed_deg=45, mouth_mm=0.6)
    sole = by_hand.face("sole", SOLE, plane)
    slab = by_hand.face("slab", SLAB)
    lap = by_hand.enter("lap", name="slab", kind="plate", face=slab)
    by_hand.read(slab, SLAB, slab_rows(), gauge=(*DIAL, ("reference_flatness", "4 um")))
    for i, bow in enumerate(bows):
        if i:
            by_hand.enter(
                "strokes", face=sole, grade="P120", count=100, lap=lap, fresh_sheet=1
            )
            by_hand.wait(120)
        by_hand.read(sole, SOLE, sole_rows(bow, i))
    return by_hand


def test_a_folder_with_no_more_than_it_must_have_gets_advice(
    run: Run, tmp_path: Path
) -> None:
    a_job().write(tmp_path / "folder")
    said = run("advice", "folder", "--json")
    assert (said.code, said.err) == (0, "")
    found = json.loads(said.out)
    assert list(found) == KEYS
    assert found["action"] == "keep lapping"
    assert found["grit"] == "P120"
    assert 0 <= found["strokes"][0] < found["strokes"][1]
    assert found["signs"] == []
    words = run("advice", "folder", "--face", "Sorrel/sole").out
    assert words.startswith("Sorrel/sole: Keep lapping.")


def test_the_lap_of_the_folder_is_known_by_its_own_readings(tmp_path: Path) -> None:
    folder = a_job().write(tmp_path / "folder")
    with open_log(tmp_path / "bench.lapping") as log:
        import_folder(log, folder)
        assert troubles(log) == []
        job = job_of(log, the_face(log, "Sorrel/sole"))
    lap = job.runs[0].lap
    assert lap is not None
    assert lap.form is not None
    assert lap.form.along_bow is not None
    assert lap.form.along_bow.um == pytest.approx(0, abs=3)
    assert [run.strokes for run in job.runs] == [100, 100]
    assert [run.sheet_age for run in job.runs] == [0, 0]
    assert [len(look.sets) for look in job.looks] == [1, 1, 1]
    assert [one.mm for one in job.mouths] == [0.6]
    assert job.bed_deg == 45
    assert job.looks[1].at is not None


def test_a_lap_that_cannot_give_the_target_is_found_through_the_folder(
    run: Run, tmp_path: Path
) -> None:
    by_hand = a_job()
    for row in by_hand.tables["face"]:
        row["target"] = "0.02mm"
    sets = by_hand.tables["reading"]
    # The slab's readings come first: nine of them, now with 200 µm of hollow.
    for row, (_, _, value) in zip(sets[:9], slab_rows(-200), strict=True):
        along, across, _ = json.loads(str(row["cells"]))
        row["cells"] = json.dumps([along, across, str(value)])
    by_hand.write(tmp_path / "folder")
    found = json.loads(run("advice", "folder", "--json").out)
    assert found["action"] == "check lap"
    # (250/450)² of 200 µm by hand: 62 µm.
    assert "no flatter than 6" in found["why"]


def test_squares_of_the_sides_belong_to_the_job(run: Run, tmp_path: Path) -> None:
    by_hand = a_job()
    side = by_hand.face("left side", SIDE, 1)
    square = (("unit", "um"), ("resolution", "5 um"))
    columns = ("along", "gap", "side")
    by_hand.read(
        side,
        SIDE,
        [(20, 0, "sole"), (230, 0, "sole")],
        method="square",
        gauge=square,
        columns=columns,
    )
    by_hand.enter("strokes", face=2, grade="P120", count=100, lap=4, fresh_sheet=1)
    by_hand.wait(120)
    by_hand.read(2, SOLE, sole_rows(-225, 9))
    by_hand.read(
        side,
        SIDE,
        [(20, 60, "sole"), (230, 60, "sole")],
        method="square",
        gauge=square,
        columns=columns,
    )
    by_hand.write(tmp_path / "folder")
    found = json.loads(run("advice", "folder", "--json").out)
    assert "out of square" in found["signs"]
    assert found["action"] == "press differently"


Spoil = Callable[[HandMade, Path], object]


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda _, at: (at / "entry.csv").unlink(), "entry.csv is missing"),
        (lambda _, at: (at / "log.json").unlink(), "is no exported log"),
        (lambda made, at: rewrite(made, at, "strokes", grade="240"), "either of two"),
        (
            lambda made, at: rewrite(made, at, "strokes", count=-5),
            "not so that count > 0",
        ),
        (
            lambda made, at: rewrite(made, at, "strokes", face=99),
            "names a number that no entry has",
        ),
        (lambda made, at: rewrite(made, at, "reading", cells="5,5,1"), "JSON list"),
        (lambda made, at: rewrite(made, at, "reading", set=99), "no set 99"),
        (
            lambda made, at: rewrite(made, at, "reading_set", headers="x"),
            "header lines",
        ),
        (lambda made, at: rewrite(made, at, "entry", entered_at="noon"), "is no time"),
        (lambda made, at: rewrite(made, at, "entry", entered_at=""), "entered_at"),
        (lambda made, at: rewrite(made, at, "reading", cells='["400","5","1"]'), "400"),
    ],
)
def test_a_folder_with_a_mistake_is_refused_with_a_sentence(
    run: Run, tmp_path: Path, spoil: Spoil, said: str
) -> None:
    by_hand = a_job((-300, -270))
    spoil(by_hand, by_hand.write(tmp_path / "folder"))
    answer = run("advice", "folder", "--json")
    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert "Traceback" not in answer.err


def test_strokes_on_a_grit_unknown_here_are_told_and_counted(
    run: Run, tmp_path: Path
) -> None:
    by_hand = a_job((-300, -270))
    by_hand.tables["strokes"][-1]["grade"] = "P7000"
    by_hand.write(tmp_path / "folder")
    found = json.loads(run("advice", "folder", "--json").out)
    assert found["action"] == "keep lapping"
    told = " ".join(found["warnings"])
    assert "are counted as if on P120: P7000 is no grade known here" in told
    # What was read before them and after them are two looks.
    assert len(json.loads(run("progress", "folder", "--json").out)["times"]) == 2


def test_times_that_run_backward_are_told(run: Run, tmp_path: Path) -> None:
    by_hand = a_job((-300, -270))
    last = by_hand.tables["strokes"][-1]["id"]
    for row in by_hand.tables["entry"]:
        if row["id"] == last:
            row["entered_at"] = "2029-01-01T09:00:00+00:00"
    by_hand.write(tmp_path / "folder")
    found = json.loads(run("advice", "folder", "--json").out)
    assert "the order of the numbers counts" in " ".join(found["warnings"])


def rewrite(made: HandMade, folder: Path, table: str, **cells: object) -> None:
    """Change cells of the last row of a table and write the folder anew."""
    made.tables[table][-1].update(cells)
    shutil.rmtree(folder)
    made.write(folder)


def test_what_does_not_say_which_face_is_asked_back(run: Run, tmp_path: Path) -> None:
    by_hand = HandMade()
    by_hand.write(tmp_path / "empty")
    (tmp_path / "empty" / "entry.csv").write_text("id,entered_at\n")
    said = run("advice", "empty")
    assert (said.code, said.out) == (2, "")
    assert "say which face" in said.err
    a_job().write(tmp_path / "folder")
    assert (
        "did you mean 'Sorrel/sole'"
        in run("advice", "folder", "--face", "Sorel/sole").err
    )
    assert "nobody laps a lap" in run("advice", "folder", "--face", "slab").err
    assert "is no folder" in run("advice", "Sorrel/sole", "--face", "Sorrel/sole").err


def test_a_mouth_that_only_the_readings_know_is_no_trouble(
    run: Run, tmp_path: Path
) -> None:
    by_hand = a_job()
    for row in by_hand.tables["face"]:
        row["settings"] = json.dumps(
            [pair for pair in json.loads(str(row["settings"])) if pair[0] != "mouth"]
        )
    by_hand.write(tmp_path / "folder")
    found = json.loads(run("advice", "folder", "--json").out)
    assert found["action"] == "keep lapping"


def test_the_log_answers_as_the_folder_does(run: Run, tmp_path: Path) -> None:
    folder = a_job().write(tmp_path / "folder")
    from_folder = run("advice", "folder", "--json").out
    assert run("log", "import", str(folder)).code == 0
    assert run("advice", "Sorrel/sole", "--json").out == from_folder
    # The face worked on last, where none is said.
    assert run("advice", "--json").out == from_folder


def test_rates_learnt_on_another_face_are_where_a_new_one_begins(
    tmp_path: Path,
) -> None:
    by_hand = a_job()
    plane = by_hand.enter("plane", name="Yarrow")
    new = by_hand.face("sole", SOLE, plane)
    by_hand.read(new, SOLE, sole_rows(-300, 7))
    with open_log(tmp_path / "bench.lapping") as log:
        import_folder(log, by_hand.write(tmp_path / "folder"))
        face = the_face(log, "Yarrow/sole")
        held = from_other_faces(log, face)
        job = job_of(log, face)
    assert held is not None
    alone, helped = look_at(job), look_at(job, held=held)
    assert alone.left is not None
    assert helped.left is not None
    # Narrower by no more than sheets of one grit differ among themselves.
    assert helped.left.many / helped.left.few < alone.left.many / alone.left.few / 1.5
    assert "an assumption" in advise_on(alone).doubt
    assert "an assumption" not in advise_on(helped).doubt


def test_the_newest_looks_are_those_that_all_looks_end_with(tmp_path: Path) -> None:
    by_hand = a_job()
    plane = by_hand.enter("plane", name="Yarrow")
    sole = by_hand.face("sole", SOLE, plane)
    for number in range(3):
        by_hand.wait(600)
        by_hand.enter("strokes", face=sole, grade="P120", count=100)
        for again in range(2):
            by_hand.read(sole, SOLE, sole_rows(-200 + 30 * number, again))
        # Two places are no face: it is left out with a sentence.
        by_hand.read(sole, SOLE, sole_rows(-200)[:2])
    with open_log(tmp_path / "bench.lapping") as log:
        import_folder(log, by_hand.write(tmp_path / "folder"))
        face = the_face(log, "Yarrow/sole")
        whole = job_of(log, face)
        newest = {many: job_of(log, face, newest=many) for many in (1, 2, 3, 99)}
    assert [len(look.sets) for look in whole.looks] == [2, 2, 2]
    left_out = [one for one in whole.warnings if "was left out" in one]
    assert len(left_out) == 3
    assert left_out == sorted(left_out, key=lambda one: int(one.split()[1]))
    for many, job in newest.items():
        assert job.looks == whole.looks[-many:]
        assert job.runs == whole.runs


def test_a_plan_goes_by_the_rates_that_the_log_has_learnt(
    run: Run, tmp_path: Path
) -> None:
    a_job().write(tmp_path / "folder")
    size = ("--length", "250mm", "--width", "60mm", "--flatness", "0.3mm")
    stock = (*size, "--papers", "P120")
    assumed = json.loads(run("plan", *stock, "--json").out)
    assert run("log", "import", "folder").code == 0
    said = run("plan", "Sorrel/sole")
    assert said.code == 0, said.err
    assert "from your own readings" in " ".join(said.out.split())
    assert "No paper is in the log" in " ".join(said.out.split())
    learnt = json.loads(run("plan", *stock, "--json").out)
    assert {step["learnt"] for step in learnt["papers"]} == {True}
    assert {step["learnt"] for step in assumed["papers"]} == {False}
    few, _, many = learnt["papers"][0]["strokes"]
    wide_few, _, wide_many = assumed["papers"][0]["strokes"]
    assert many / few < wide_many / wide_few


def test_readings_without_any_time_are_named_by_their_entry(
    run: Run, tmp_path: Path
) -> None:
    a_job((-300,)).write(tmp_path / "folder")
    with open_log(tmp_path / "bench.lapping") as log:
        import_folder(log, tmp_path / "folder")
        job = job_of(log, the_face(log, "Sorrel/sole"))
    look = replace(job.looks[0], at=None, entered_at=None)
    words = progress_words(progress_of(look_at(replace(job, looks=(look,)))))
    (line,) = [one for one in words.splitlines() if one.startswith("entry")]
    assert line.split()[1] == str(look.number)
    # A sign in every row, and as many figures as the doubt leaves.
    assert re.search(r"[+-][\d.]+ ± [\d.]+ +-3\d\d(\.\d)? ± [\d.]+$", line)


def test_a_history_that_begins_with_strokes_is_told_to_read(
    run: Run, tmp_path: Path
) -> None:
    by_hand = HandMade()
    plane = by_hand.enter("plane", name="Sorrel")
    sole = by_hand.face("sole", SOLE, plane)
    by_hand.enter("strokes", face=sole, grade="P80", minutes=5)
    by_hand.write(tmp_path / "folder")
    found = json.loads(run("advice", "folder", "--json").out)
    assert found["action"] == "measure"
    # 5 minutes at 40 strokes a minute.
    assert "200 strokes were made" in found["why"]


def test_progress_is_one_screen_whatever_the_history(run: Run, tmp_path: Path) -> None:
    bows = tuple(-300 + 4 * i for i in range(30))
    a_job(bows).write(tmp_path / "folder")
    said = run("progress", "folder")
    assert said.code == 0
    lines = said.out.splitlines()
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 90
    assert "100 P120" in said.out
    assert "Strokes left from the last reading:" in said.out
    found = json.loads(run("progress", "folder", "--json").out)
    assert len(found["times"]) == 30
    first, last = found["times"][0], found["times"][-1]
    assert first["strokes"] == []
    assert last["strokes"] == [{"grit": "P120", "strokes": 100}]
    low, high = last["interval_um"]
    assert low < last["likely_um"] < high
    assert last["along_bow_um"]["um"] == pytest.approx(bows[-1], abs=8)


def test_progress_of_a_face_not_read_yet(run: Run, tmp_path: Path) -> None:
    by_hand = HandMade()
    plane = by_hand.enter("plane", name="Sorrel")
    by_hand.face("sole", SOLE, plane)
    by_hand.write(tmp_path / "folder")
    said = run("progress", "folder", "--face", "Sorrel/sole")
    assert said.code == 0
    assert "no heights were read yet" in said.out


def test_a_finished_set_is_followed_by_the_next_step(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("plane", "Sorrel", "--length", "250mm", "--width", "60mm")
    run(
        "log",
        "gauge",
        "old dial",
        "--method",
        "dial",
        "--unit",
        "um",
        "--sense",
        "high-positive",
    )
    monkeypatch.setattr("sys.stdin", io.StringIO("0\n" * 60))
    said = run("read", "Sorrel/sole", "--gauge", "old dial")
    assert said.code == 0
    assert "This face is done: stop." in said.out
    assert "lapping advice Sorrel/sole" in said.out


def test_who_reads_in_thou_is_advised_in_thou(run: Run, tmp_path: Path) -> None:
    head = "# method: dial\n# face: sole\n# length: 10 in\n# width: 2.4 in\n"
    head += "# positions: in\n# unit: thou\n# sense: high-positive\n"
    head += "# repeatability: 0.1 thou\nacross\\along,0.3,2.5,5,7.5,9.7\n"
    for name, crown in (("one", 0.0), ("two", 1.5)):
        rows = (
            ",".join(map(str, (across, -5 - crown, 0.1, 0.2 + crown, 0, -5.1)))
            for across in (0.2, 1.2, 2.2)
        )
        (tmp_path / f"{name}.csv").write_text(head + "\n".join(rows) + "\n")
    assert run("plane", "Sorrel", "--length", "10in", "--width", "2.4in").code == 0
    assert run("log", "import", "one.csv", "--face", "Sorrel/sole").code == 0
    run("strokes", "Sorrel/sole", "P120", "100", "--fresh")
    assert run("log", "import", "two.csv", "--face", "Sorrel/sole").code == 0
    for command in ("advice", "progress"):
        said = run(command, "Sorrel/sole").out
        assert " thou" in said
        assert "µm" not in said
    assert "crown along is" in run("advice", "Sorrel/sole").out.lower()
