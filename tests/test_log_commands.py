"""The commands that record and look back, as they are called at the bench."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from lapping.cli.log_place import log_path
from tests.said import Run, Said
from tests.test_log_planes import HARD_NAMES

SAMPLES = Path(__file__).resolve().parents[1] / "sample_measurements"
HOLLOW = str(SAMPLES / "bramble_hollow_behind_mouth.csv")
SET_UP = ("plane", "Bramble", "--length", "245mm", "--width", "60mm")
HEAVY = ("numpy", "scipy", "matplotlib", "cv2")


@pytest.fixture
def done(run: Run, tmp_path: Path) -> Callable[..., str]:
    """Run a command that must answer, and give what it printed."""

    def answers(*words: str) -> str:
        said = run(*words)
        assert said.code == 0, said.err
        assert said.err == f"log: {tmp_path / 'bench.lapping'}\n"
        return said.out

    return answers


Done = Callable[..., str]


def refused(said: Said) -> str:
    assert (said.code, said.out) == (2, "")
    assert "Traceback" not in said.err
    return said.err


def number_of(line: str) -> str:
    found = re.match(r"\s*(\d+)  ", line)
    assert found is not None, line
    return found[1]


def test_a_plane_needs_three_answers(done: Done, run: Run) -> None:
    assert "Begin with three answers" in done("plane")
    assert "needs its length and width" in refused(
        run("plane", "Bramble", "--bed", "45")
    )
    assert "there is no plane 'Bramble'" in refused(run("plane", "Bramble"))
    out = done(*SET_UP)
    assert out.splitlines() == [
        "Bramble: bench plane, cast iron",
        "  Bramble/sole  245 × 60 mm, 0 entries",
    ]
    assert done("plane", "Bramble") == out


def test_what_is_not_said_of_a_plane_stays(done: Done) -> None:
    done(*SET_UP, "--mouth", "81 mm to 87 mm", "--metal", "bronze")
    out = done(
        *("plane", "Bramble", "--bed", "45°", "--front", "90", "--weight", "1.8 kg"),
        *("--opening", "0.6mm", "--target", "0.05mm", "--reason", "figured wood"),
        *("--zones", "toe, mouth", "--note", "from the wash-house"),
    )
    for said in (
        "bronze, bed 45°, front of the mouth 90°, mouth open 0.6 mm, 1800 g",
        "mouth 81 mm to 87 mm, target 0.05mm, because figured wood",
        "what matters: toe, mouth",
        "from the wash-house",
    ):
        assert said in out
    out = done(
        *("plane", "Bramble", "--face", "left side", "--length", "200mm"),
        *("--width", "42mm", "--left-edge", "sole"),
    )
    assert "Bramble/left side  200 × 42 mm, left_edge sole" in out
    assert "Thistle/sole" in done("plane", "Bramble", "--rename", "Thistle")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--length", "245"), "has no unit"),
        (("--bed", "steep"), "'steep' is no angle"),
        (("--weight", "heavy"), "'heavy' is no weight"),
        (("--target", "flat"), "'flat'"),
        (("--zones", "nose"), "there is no zone 'nose'; "),
        (("--opening", "0.6"), "has no unit"),
    ],
)
def test_a_plane_half_understood_is_not_kept(
    done: Done, run: Run, words: tuple[str, ...], said: str
) -> None:
    done(*SET_UP)
    before = done("plane", "Bramble")
    assert said in refused(run("plane", "Bramble", "--metal", "bronze", *words))
    assert done("plane", "Bramble") == before


def test_one_line_of_strokes_and_the_rest_as_last_time(done: Done) -> None:
    done(*SET_UP)
    done("log", "paper", "blue roll", "--grade", "P120", "--sheet", "100 mm wide")
    done("log", "lap", "planer table", "--kind", "machine table", "--flatness", "20um")
    first = done(
        *(
            "strokes",
            "Bramble/sole",
            "P240",
            "100",
            "--load",
            "4kg",
            "--hand",
            "middle",
        ),
        *("--lubricant", "spirit", "--direction", "along", "--lap", "planer table"),
        *("--iron-out", "--fresh", "--turned"),
    )
    assert first.partition("  ")[2] == (
        "Bramble/sole: 100 strokes on P240, a fresh sheet, load 4kg, spirit, along, "
        "hand middle, turned end for end, iron out, on planer table\n"
    )
    second = done("strokes", "50")
    assert second.partition("  ")[2] == (
        "Bramble/sole: 50 strokes on P240, load 4kg, spirit, along, hand middle, iron "
        "out, on planer table\n"
    )
    third = done("strokes", "2.5min", "blue roll", "--load", "light", "--iron-in")
    assert "2.5 min on P120, load light, spirit" in third
    assert "iron in" in third
    shown = done("log", "show", number_of(third))
    assert "load light" in shown
    assert "load_kg" not in shown


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("100",), "say the face"),
        (("Bramble/sole", "100"), "say the paper, as P240"),
        (("Bramble/sole", "240", "100"), "240 and 100 are both bare numbers"),
        (("P240", "Bramble/sole"), "how many strokes, as 100"),
        (("Bramble/sole", "P240"), "how many strokes"),
        (("Bramble/sole", "P240", "100", "5min"), "not both"),
        (("Bramble/soul", "P240", "100"), "did you mean 'Bramble/sole'"),
        (("Bramble/sole", "P240", "P400", "1"), "a second grade"),
        (("Bramble/sole", "coarse", "1"), "neither a face, a paper nor a number"),
        (("Bramble/sole", "P240", "1", "--lap", "glass"), "there is no lap 'glass'"),
    ],
)
def test_strokes_half_understood_are_not_kept(
    done: Done, run: Run, words: tuple[str, ...], said: str
) -> None:
    done(*SET_UP)
    before = done("log", "show", "Bramble/sole")
    assert said in refused(run("strokes", *words))
    assert done("log", "show", "Bramble/sole") == before


def test_a_face_is_checked_from_the_log_as_from_its_file(done: Done, run: Run) -> None:
    done(*SET_UP, "--mouth", "81 mm to 87 mm, across 6 mm to 54 mm")
    assert "no finished reading set" in refused_with_log(run("check", "Bramble/sole"))
    done("log", "import", HOLLOW, "--face", "Bramble/sole")
    said = run("check", "Bramble/sole", "--json")
    from_file = run("check", HOLLOW, "--json")
    assert said.code == from_file.code == 0
    assert json.loads(said.out) == json.loads(from_file.out)
    assert said.err.startswith("log: ")
    assert from_file.err == ""
    assert run("check", "Bramble/sole").out == run("check", HOLLOW).out
    assert "did you mean" in refused_with_log(run("check", "Bramble/soul"))
    assert "given twice" in refused_with_log(
        run("check", "Bramble/sole", "Bramble/sole")
    )
    told_twice = refused_with_log(run("check", HOLLOW, "Bramble/sole"))
    assert "Bramble/sole in the log holds these very readings" in told_twice
    assert "there is no such file" in refused_with_log(run("check", "missing.csv"))


def refused_with_log(said: Said) -> str:
    assert (said.code, said.out) == (2, "")
    return said.err


def test_squares_in_the_log_are_checked_too(done: Done, run: Run) -> None:
    square = str(SAMPLES / "bramble_side_square.csv")
    done("log", "import", square)
    from_log = run("check", "side-200x42mm", "--json")
    assert json.loads(from_log.out) == json.loads(run("check", square, "--json").out)


def test_without_a_log_a_missing_face_is_a_missing_file(run: Run) -> None:
    said = run("check", "Bramble/sole")
    assert "there is no such file" in refused(said)
    assert not os.path.exists(os.environ["LAPPING_LOG"])


def test_a_set_as_typed_and_as_understood(done: Done) -> None:
    out = done("log", "import", str(SAMPLES / "bramble_side.csv"))
    assert "side-200x42mm: 19 readings from" in out
    shown = done("log", "show", number_of(out))
    assert "# resolution: 0.0005 in" in shown
    assert "6,38,-0.001  = -25 µm" in shown


def test_a_reading_is_corrected_and_the_old_one_shown(done: Done, run: Run) -> None:
    number = number_of(done("log", "import", str(SAMPLES / "bramble_side.csv")))
    (line,) = [
        one for one in done("log", "show", number).splitlines() if "6,38,-0.001 " in one
    ]
    shown = done("log", "correct", number_of(line), "--", "-0.002")
    assert "6,38,-0.002  = -51 µm" in shown
    assert f"(was 6,38,-0.001  = -25 µm, entry {number_of(line)})" in shown
    assert "is no reading that holds" in refused_with_log(
        run("log", "correct", number_of(line), "0.003")
    )
    (new,) = [one for one in shown.splitlines() if "6,38,-0.002" in one]
    back = done("log", "back", number_of(new))
    assert "  6,38,-0.001  = -25 µm" in back
    again = done("log", "again", number_of(new))
    assert "  6,38,-0.002  = -51 µm" in again
    (new,) = [
        one for one in again.splitlines() if "  6,38,-0.002" in one and "was" not in one
    ]
    few = refused_with_log(run("log", "correct", number_of(new), "6,0.001"))
    assert "has 3 cells, along,across,reading: write the last one alone or" in few
    all_cells = done("log", "correct", number_of(new), "6,37,0.001")
    assert "6,37,0.001  = 25 µm" in all_cells


def test_strokes_are_taken_back_and_had_again(done: Done, run: Run) -> None:
    done(*SET_UP)
    number = number_of(done("strokes", "Bramble/sole", "P240", "100"))
    assert "taken back" in done("log", "back", number)
    assert "P240" not in done("log", "show", "Bramble/sole")
    again = done("log", "again", number)
    assert again == "holds again: 100 strokes on P240, iron in\n"
    assert "100 strokes on P240" in done("log", "show", "Bramble")
    back = done("log", "back", number)
    undo = f"'lapping log again {number}' undoes that"
    assert back.startswith(f"entry {number} is taken back: 100 strokes on P240")
    assert undo in back
    assert "is taken back already" in refused_with_log(run("log", "back", number))


def test_what_was_done_is_said_in_words(done: Done) -> None:
    done(*SET_UP, "--mouth", "81 mm to 87 mm, across 6 mm to 54 mm")
    number = number_of(done("log", "import", HOLLOW, "--face", "Bramble"))
    back = done("log", "back", number)
    assert "28 readings by dial" in back
    assert done("log", "again", number).startswith("holds again: 28 readings by dial")
    for entry in range(1, 5):
        assert not re.search(r"_mm|\(\(|sha256", done("log", "show", str(entry)))


def test_a_file_is_kept_once_and_for_the_face_it_is_of(done: Done, run: Run) -> None:
    done(*SET_UP)
    said = refused_with_log(run("log", "import", HOLLOW))
    assert "did you mean --face Bramble/sole?" in said
    said = refused_with_log(run("log", "import", "Bramble/sole", HOLLOW))
    assert "--face Bramble/sole" in said
    number = number_of(done("log", "import", HOLLOW, "--face", "Bramble"))
    said = refused_with_log(run("log", "import", HOLLOW, "--face", "Bramble"))
    assert f"in the log already (entry {number}, Bramble/sole)" in said
    done("log", "back", number)
    done("log", "import", HOLLOW, "--face", "Bramble")


def test_a_stray_face_is_given_to_the_face_it_is(done: Done) -> None:
    done("log", "import", HOLLOW)
    done(*SET_UP)
    done("strokes", "Bramble", "P240", "100")
    assert "28 readings" in done("log", "attach", "sole-245x60mm", "Bramble/sole")
    assert "no plane yet" not in done("plane")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("P240", "-100"), "strokes must be more than 0"),
        (("P240", "0"), "'strokes' must be more than 0"),
        (("P240", "100", "--lod", "light"), "no option --lod"),
        (("P240", "100", "--note", "--log"), "--note needs words"),
        (("P240", "100", "--load", "--fresh"), "--load needs words"),
    ],
)
def test_slips_in_strokes_are_said(
    done: Done, run: Run, words: tuple[str, ...], said: str
) -> None:
    done(*SET_UP)
    assert said in run("strokes", "Bramble", *words).err


def test_very_many_strokes_are_kept_and_doubted(done: Done, run: Run) -> None:
    done(*SET_UP)
    assert "5 min on P240" in done("strokes", "Bramble", "P240", "5", "min")
    many = run("strokes", "Bramble", "6000")
    assert "6000 strokes on P240" in many.out
    assert "very many; 'lapping log back' takes it back" in many.err


def test_one_face_has_the_same_names_everywhere(done: Done, run: Run) -> None:
    done(*SET_UP, "--mouth", "81 mm to 87 mm, across 6 mm to 54 mm")
    done("log", "import", HOLLOW, "--face", "Bramble")
    whole = run("check", "Bramble/sole").out
    assert run("check", "Bramble").out == whole
    assert "given twice" in run("check", "Bramble", "Bramble/sole").err
    assert run("advice", "Bramble").out == run("advice").out
    assert run("print", "readings", "Bramble", "-o", "sheet.pdf").code == 0


def test_looking_back_over_everything(done: Done) -> None:
    done(*SET_UP)
    done("strokes", "Bramble/sole", "P240", "100")
    done("log", "note", "Bramble/sole", "the heel is the worst")
    shown = done("log", "show", "Bramble/sole")
    assert "session 1, begun 20" in shown
    assert "note: the heel is the worst" in shown
    assert "note: the heel is the worst" in done("log", "show")
    assert "The log is whole: 4 entries, 0 sets" in done("log", "test")


def test_a_loose_face_is_given_to_a_plane(done: Done, run: Run) -> None:
    done("log", "import", str(SAMPLES / "clover_passes.csv"))
    assert "no plane yet; 'lapping log attach'" in done("plane")
    assert "names no face" in refused_with_log(
        run("log", "attach", "sole-165x50mm", "Clover")
    )
    done("plane", "Clover", "--face", "bed", "--length", "60mm", "--width", "40mm")
    assert "22 readings" in done("log", "attach", "sole-165x50mm", "Clover/sole")


def test_gauges_laps_and_papers(done: Done, run: Run) -> None:
    dial = ("log", "gauge", "old dial")
    assert "say what the gauge is" in refused_with_log(run(*dial))
    done(*dial, "--method", "dial", "--unit", "thou", "--sense", "high-positive")
    out = done(*dial, "--resolution", "0.5 thou")
    assert out == (
        "old dial: dial, unit thou, sense high-positive, resolution 0.5 thou\n"
    )
    assert done("log", "gauge") == out
    assert "glass: glass, its flatness is not known" in done(
        "log", "lap", "glass", "--kind", "glass"
    )
    assert "'ice' is no lap" in refused_with_log(
        run("log", "lap", "x", "--kind", "ice")
    )
    done("log", "import", str(SAMPLES / "planer_table.csv"))
    measured = done("log", "lap", "glass", "--measured", "lap-900x300mm")
    assert measured == done("log", "lap") == "glass: plate, measured\n"
    assert done("log", "paper", "P400") == done("log", "paper") == "P400: P400\n"
    assert "P400: P320" in done("log", "paper", "P400", "--grade", "P320")
    assert "either of two grits" in refused_with_log(run("log", "paper", "400"))


@pytest.mark.parametrize("name", HARD_NAMES)
def test_names_survive_a_copy(done: Done, run: Run, tmp_path: Path, name: str) -> None:
    name = name.strip()
    done("plane", name, "--length", "245mm", "--width", "60mm")
    done("strokes", f"{name}/sole", "P240", "10")
    shown = done("log", "show", f"{name}/sole")
    assert "3 entries in copy" in done("log", "export", "copy")
    other = str(tmp_path / "other.lapping")
    assert "entries added" in run("log", "import", "copy", "--log", other).out
    said = run("log", "show", f"{name}/sole", "--log", other)
    assert (said.out, said.err) == (shown, f"log: {other}\n")


def test_a_folder_comes_alone(done: Done, run: Run, tmp_path: Path) -> None:
    done(*SET_UP)
    done("log", "export", "copy")
    assert "is already there" in refused_with_log(run("log", "export", "copy"))
    assert "comes alone" in refused_with_log(run("log", "import", "copy", HOLLOW))
    assert done("log", "import", "copy") == "0 entries added\n"


def test_a_damaged_log_is_said_to_be_so(done: Done, run: Run, tmp_path: Path) -> None:
    done(*SET_UP)
    path = tmp_path / "bench.lapping"
    path.write_bytes(path.read_bytes()[:20000])
    said = run("log", "test")
    assert "cut off" in refused(said)


def test_the_users_own_log_is_made_when_it_is_needed(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("LAPPING_LOG")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "home" / "config"))
    own = log_path(None)
    assert (tmp_path / "home") in own.parents
    assert "there is no log at" in refused(run("log", "show"))
    assert not own.parent.exists()
    said = run(*SET_UP)
    assert said.err == f"log: {own}\n"
    assert own.exists()
    (tmp_path / "file").touch()
    monkeypatch.setenv("HOME", str(tmp_path / "file"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "file"))
    assert "cannot be made" in refused(run(*SET_UP))


@pytest.mark.parametrize(
    "words",
    [
        ("plane",),
        ("plane", "Bramble", "--weight", "1.8kg"),
        ("strokes", "Bramble/sole", "P240", "10"),
        ("log", "show", "Bramble/sole"),
        ("log", "import", HOLLOW, "--face", "Bramble"),
        ("log", "export", "copy"),
        ("log", "test"),
        ("read", "--help"),
    ],
    ids=" ".join,
)
def test_recording_loads_nothing_heavy(
    done: Done, tmp_path: Path, words: tuple[str, ...]
) -> None:
    done(*SET_UP)
    code = (
        "import atexit, sys\n"
        f"atexit.register(lambda: print([m for m in {HEAVY!r} if m in sys.modules]))\n"
        "from lapping.cli import main\n"
        f"sys.argv = ['lapping', *{words!r}]\n"
        "main()\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        encoding="utf-8",
        cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": str(SAMPLES.parent)},
    )
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.splitlines()[-1] == "[]"


def test_help_of_one_command_and_of_all(run: Run) -> None:
    assert "strokes" in run("--help").out
    assert "Look back" in run("log", "--help").out
    assert "as last time" in run("strokes", "--help").out
    assert run("log", "shw").code == 2
    assert run("strok").code == 2


def test_a_set_taken_back_says_so_and_how_to_have_it_again(done: Done) -> None:
    done(*SET_UP)
    kept = number_of(done("log", "import", HOLLOW, "--face", "Bramble/sole"))
    out = done("log", "back", kept)
    assert out.splitlines() == [
        f"entry {kept} is taken back: 28 readings by dial from "
        f"{HOLLOW}; 'lapping log again {kept}' undoes that"
    ]
    assert "28 readings" not in done("log", "show", "Bramble/sole")
    (line,) = done("log", "again", kept).splitlines()
    assert line.startswith("holds again: 28 readings by dial")
    assert "28 readings" in done("log", "show", "Bramble/sole")


def test_a_hollow_is_corrected_with_its_sign(done: Done) -> None:
    done(*SET_UP)
    kept = number_of(done("log", "import", HOLLOW, "--face", "Bramble/sole"))
    reading = number_of(done("log", "show", kept).splitlines()[-1])
    assert "-7" in done("log", "correct", reading, "-7")


def test_figures_from_before_the_last_strokes_say_so(done: Done) -> None:
    done(*SET_UP)
    done("log", "import", HOLLOW, "--face", "Bramble/sole")
    before = json.loads(done("check", "Bramble/sole", "--json"))
    done("strokes", "Bramble/sole", "P240", "100")
    after = json.loads(done("check", "Bramble/sole", "--json"))
    said = "a run of strokes was made since this was read"
    assert after["warnings"][0].startswith(said)
    assert after["warnings"][1:] == before["warnings"]


def test_the_target_of_a_face_holds_in_check_too(done: Done) -> None:
    done(*SET_UP, "--target", "0.02mm")
    done("log", "import", HOLLOW, "--face", "Bramble/sole")
    assert json.loads(done("check", "Bramble/sole", "--json"))["target_um"] == 20
    said = done("check", "Bramble/sole")
    assert "20 µm allowed" in said
    assert "BS 3623" not in said
    asked = json.loads(done("check", "Bramble/sole", "--target", "50um", "--json"))
    assert asked["target_um"] == 50


def test_a_target_in_the_file_gives_way_to_that_of_the_face(
    done: Done, tmp_path: Path
) -> None:
    own = tmp_path / "own.csv"
    text = Path(HOLLOW).read_text(encoding="utf-8")
    own.write_text("# target: 0.06mm\n" + text, encoding="utf-8")
    done(*SET_UP)
    done("log", "import", str(own), "--face", "Bramble/sole")
    found = json.loads(done("check", "Bramble/sole", "--json"))
    assert (found["target_um"], len(found["warnings"])) == (60, 0)
    done("plane", "Bramble", "--target", "0.03mm")
    found = json.loads(done("check", "Bramble/sole", "--json"))
    assert found["target_um"] == 30
    assert found["warnings"] == [
        "the target kept for this face, 0.03mm, comes before that of the readings, "
        "60 µm."
    ]


def test_a_file_brought_in_twice_counts_once(done: Done) -> None:
    done(*SET_UP)
    first = number_of(done("log", "import", HOLLOW, "--face", "Bramble/sole"))
    once = json.loads(done("check", "Bramble/sole", "--json"))
    done("log", "back", first)
    done("log", "import", HOLLOW, "--face", "Bramble/sole")
    done("log", "again", first)
    assert json.loads(done("check", "Bramble/sole", "--json")) == once


def test_the_list_of_commands_is_that_of_the_whole_program() -> None:
    from typer.testing import CliRunner

    from lapping.cli import app, only_what_is_called

    whole = CliRunner().invoke(app, ["--help"]).stdout
    assert "scratches" in whole
    for words in (["--help"], []):
        listed = CliRunner().invoke(only_what_is_called(app, words), ["--help"])
        assert listed.stdout == whole
