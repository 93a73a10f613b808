"""`--picture` on every command that has it: drawn whole, or refused in a sentence."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from lapping.cli.picture import ENDINGS
from lapping.pictures.frame import UNDATED
from tests.made_dial_files import CASES
from tests.made_folders import SOLE, HandMade
from tests.said import Run
from tests.test_advice_command import a_job

SAMPLES = Path(__file__).resolve().parents[1] / "sample_measurements"
STARTS = {".png": b"\x89PNG", ".svg": b"<?xml", ".pdf": b"%PDF"}
STOCK = ("plan", "--length", "250mm", "--width", "60mm", "--stock", "cast")
TANSY = ("--length", "245mm", "--width", "62mm")


def test_the_kinds_of_file_are_those_that_can_be_written() -> None:
    assert tuple(UNDATED) == ENDINGS == tuple(STARTS)


@pytest.fixture
def folder(tmp_path: Path) -> str:
    a_job((-300, -250, -210)).write(tmp_path / "folder")
    return "folder"


def written(svg: str) -> str:
    """Give the words of a drawing, which stand in it as remarks beside their shapes."""
    return "\n".join(part.split("-->")[0].strip() for part in svg.split("<!--")[1:])


def test_progress_is_drawn_with_advice_and_maps(
    run: Run, folder: str, tmp_path: Path
) -> None:
    plain = run("progress", folder)
    said = run("progress", folder, "--picture", "came.svg")
    assert (said.code, said.out, said.err) == (0, plain.out, "")
    words = written((tmp_path / "came.svg").read_text("utf-8"))
    for word in ("flatness µm", "bow along", "P120", "keep\nlapping", "thou"):
        assert word in words
    assert "all in one scale of colours" in words
    again = run("progress", folder, "--json", "--picture", "again.svg")
    assert json.loads(again.out)["face"] == "Sorrel/sole"
    same = [(tmp_path / name).read_bytes() for name in ("came.svg", "again.svg")]
    assert same[0] == same[1]


def test_a_plan_of_a_face_in_the_log_shows_what_came_off(
    run: Run, folder: str, tmp_path: Path
) -> None:
    assert run("log", "import", folder).code == 0
    assert run("plan", "Sorrel/sole", "--picture", "plan.svg").code == 0
    words = written((tmp_path / "plan.svg").read_text("utf-8"))
    assert "Taken off between readings" in words
    assert "100 P120" in words
    assert run(*STOCK, "--picture", "stock.pdf").code == 0
    assert (tmp_path / "stock.pdf").read_bytes().startswith(STARTS[".pdf"])


def test_a_scribble_stands_over_what_was_read_at_the_time(
    run: Run, tmp_path: Path
) -> None:
    text = CASES["small"].replace("150 mm", "245 mm").replace("40 mm", "62 mm")
    (tmp_path / "tansy.csv").write_text(text, encoding="utf-8")
    run("plane", "Tansy", *TANSY)
    assert run("log", "import", "tansy.csv", "--face", "Tansy/sole").code == 0
    photo = ("scribble", str(SAMPLES / "tansy_after.jpg"), "--toe", "left")
    said = run(*photo, "--face", "Tansy/sole", "--picture", "ink.svg")
    assert said.code == 0
    words = written((tmp_path / "ink.svg").read_text("utf-8"))
    assert "ink rubbed off, %" in words
    assert "height from the best-fit plane" in words
    # After strokes the readings are of another face, and a lost photo is told.
    run("strokes", "Tansy/sole", "P120", "50")
    said = run(*photo, "--face", "Tansy/sole", "--picture", "ink.svg")
    words = written((tmp_path / "ink.svg").read_text("utf-8"))
    assert "height from the best-fit plane" not in words
    for kept in tmp_path.glob("bench*/**/*.jpg"):
        kept.unlink()
    said = run("progress", "Tansy/sole", "--picture", "came.png")
    assert said.code == 0
    assert "shows nothing" in said.err
    assert (tmp_path / "came.png").read_bytes().startswith(STARTS[".png"])


@pytest.mark.parametrize(
    ("picture", "sentence"),
    [
        ("out.jpg", "out.jpg: the name must end in .png, .svg or .pdf."),
        ("out", "out: the name must end in .png, .svg or .pdf."),
        ("away/out.png", "away/out.png: there is no folder away; make it first."),
        ("here.png", "here.png is a folder; give the file a name of its own."),
    ],
)
@pytest.mark.parametrize("command", ["check", "progress", "plan", "scribble"])
def test_what_cannot_be_written_is_refused_before_any_work(
    run: Run, tmp_path: Path, command: str, picture: str, sentence: str
) -> None:
    (tmp_path / "here.png").mkdir()
    # None of these faces, files and photos is there: the picture is looked at first.
    words = {
        "check": ("check", "none.csv"),
        "progress": ("progress", "None/sole"),
        "plan": ("plan", "None/sole"),
        "scribble": ("scribble", "none.jpg", *TANSY),
    }[command]
    said = run(*words, "--picture", picture)
    assert (said.code, said.out, said.err) == (2, "", sentence + "\n")


def test_a_face_without_readings_and_a_photo_that_is_gone_are_refused(
    run: Run, tmp_path: Path
) -> None:
    by_hand = HandMade()
    plane = by_hand.enter("plane", name="Sorrel")
    by_hand.face("sole", SOLE, plane)
    by_hand.write(tmp_path / "folder")
    ask = ("progress", "folder", "--face", "Sorrel/sole", "--picture", "out.png")
    said = run(*ask)
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("Sorrel/sole: nothing was read yet")
    said = run("scribble", "gone.jpg", *TANSY, "--picture", "out.png")
    assert (said.code, said.out) == (2, "")
    assert said.err.count("\n") == 1
    assert "gone.jpg" in said.err
    assert not (tmp_path / "out.png").exists()


def test_an_old_picture_stays_where_a_new_one_is_refused(
    run: Run, tmp_path: Path
) -> None:
    kept = tmp_path / "kept.png"
    kept.write_bytes(b"kept")
    shutil.copy(SAMPLES / "bramble_side_square.csv", tmp_path)
    said = run("check", "bramble_side_square.csv", "--picture", "kept.png")
    assert said.code == 2
    assert "a square tells no heights" in said.err
    assert kept.read_bytes() == b"kept"
