"""The command `check`: what it prints, where, and with which exit code."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from lapping import __version__
from lapping.cli import main
from tests.said import Run, Said

HEAD = """\
# method: dial
# face: sole
# length: 250 mm
# width: 60 mm
# unit: um
# sense: high-positive
"""
ROWS = """\
along,across,reading
5,5,0
65,5,10
125,5,20
185,5,30
245,5,40
5,30,3
65,30,12
125,30,24
185,30,33
245,30,38
5,55,10
65,55,15
125,55,20
185,55,24
245,55,28
"""
EDGES = """\
along,across,reading
5,5,0
125,5,20
245,5,40
5,55,10
125,55,20
245,55,28
"""


@pytest.fixture
def sole(tmp_path: Path) -> str:
    (tmp_path / "sole.csv").write_text(HEAD + ROWS, encoding="utf-8")
    return "sole.csv"


def answered(said: Said) -> dict[str, Any]:
    assert (said.code, said.err) == (0, "")
    found = json.loads(said.out)
    assert isinstance(found, dict)
    return found


def refused(said: Said) -> str:
    """Hold a refusal to its form: exit code 2, sentences on stderr, nothing else."""
    assert (said.code, said.out) == (2, "")
    assert said.err.strip()
    assert "Traceback" not in said.err
    return said.err


def test_one_object_with_the_promised_keys(run: Run, sole: str) -> None:
    found = answered(run("check", sole, "--json"))
    assert list(found) == [
        "files", "methods", "points", "face", "flatness", "twist", "along_bow",
        "across_bow", "high_spots", "low_spots", "rest", "target_um", "verdict",
        "probability", "working", "squareness", "turned", "not_seen", "warnings",
    ]  # fmt: skip
    assert found["files"] == ["sole.csv"]
    assert found["methods"] == ["dial"]
    assert found["points"] == 15
    assert found["target_um"] == 80
    assert found["verdict"] == "flat"
    assert found["twist"]["high_corners"] == ["toe-right", "heel-left"]


def test_in_words_on_one_screen(run: Run, sole: str) -> None:
    said = run("check", sole)
    assert (said.code, said.err) == (0, "")
    lines = said.out.splitlines()
    assert lines[0] == "Sole 250 × 60 mm, 15 places by dial"
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    assert "toe-right and heel-left high" in said.out


@pytest.mark.parametrize(
    ("words", "target_um"),
    [
        (["--target", "0.08mm"], 80),
        (["--target", "±0.04mm"], 80),
        (["--target", "25um"], 25),
        (["--target", "2thou"], 50.8),
        (["--target", "30", "--units", "um"], 30),
        ([], 80),
    ],
)
def test_the_target_is_total_width(
    run: Run, sole: str, words: list[str], target_um: float
) -> None:
    found = answered(run("check", sole, "--json", *words))
    assert found["target_um"] == pytest.approx(target_um, rel=1e-12)


def test_the_target_decides_the_verdict(run: Run, sole: str) -> None:
    assert answered(run("check", sole, "--json", "--target", "5um"))["verdict"] == (
        "not flat"
    )
    assert answered(run("check", sole, "--json", "--target", "90um"))["verdict"] == (
        "flat"
    )


@pytest.mark.parametrize(
    ("target", "said"),
    [("80", "has no unit"), ("0um", "must be more than 0"), ("wide", "wide")],
)
def test_a_target_that_is_none_is_refused(
    run: Run, sole: str, target: str, said: str
) -> None:
    assert said in refused(run("check", sole, "--json", "--target", target))


def test_units_give_the_unit_of_a_file_that_names_none(
    run: Run, tmp_path: Path
) -> None:
    bare = (HEAD + ROWS).replace("# unit: um\n", "")
    (tmp_path / "bare.csv").write_text(bare, encoding="utf-8")
    um = answered(run("check", "bare.csv", "--json", "--units", "um"))
    thou = answered(run("check", "bare.csv", "--json", "--units", "thou"))
    assert thou["flatness"]["minimum_zone_um"] == pytest.approx(
        25.4 * um["flatness"]["minimum_zone_um"], rel=1e-9
    )
    refused(run("check", "bare.csv", "--json"))
    assert "--units" in refused(run("check", "bare.csv", "--units", "parsec"))


def test_the_answer_is_in_the_unit_of_the_readings(
    run: Run, sole: str, tmp_path: Path
) -> None:
    inches = (tmp_path / sole).read_text(encoding="utf-8").replace("um", "thou")
    (tmp_path / "inches.csv").write_text(inches, encoding="utf-8")
    for words in (("inches.csv",), (sole, "--units", "thou")):
        said = run("check", *words).out
        assert "3.15 thou allowed (BS 3623" in said
        assert "µm" not in said
    assert "thou" not in run("check", "inches.csv", "--units", "um").out
    assert "'furlong' is no unit known here" in refused(
        run("check", sole, "--units", "furlong")
    )
    # Numbers for other programs keep their unit.
    assert answered(run("check", sole, "--units", "thou", "--json")) == answered(
        run("check", sole, "--json")
    )


def test_all_sentences_of_all_files_are_on_stderr(
    run: Run, sole: str, tmp_path: Path
) -> None:
    (tmp_path / "one.csv").write_text(
        HEAD + ROWS.replace("5,5,0", "5,5,zero").replace("65,5,10", "65,500,10"),
        encoding="utf-8",
    )
    (tmp_path / "two.csv").write_text(
        HEAD.replace("# sense: high-positive\n", "") + ROWS, encoding="utf-8"
    )
    said = refused(run("check", sole, "one.csv", "two.csv", "missing.csv", "--json"))
    assert "one.csv, line 8" in said
    assert "one.csv, line 9" in said
    assert "two.csv" in said
    assert "missing.csv" in said
    assert "sole.csv" not in said


def test_nothing_is_written_on_bad_input(run: Run, sole: str, tmp_path: Path) -> None:
    (tmp_path / "bad.csv").write_text(HEAD + ROWS + "5,70,1\n", encoding="utf-8")
    before = sorted(p.name for p in tmp_path.iterdir())
    refused(run("check", "bad.csv", "--picture", "map.png"))
    refused(run("check", sole, "--target", "80", "--picture", "map.png"))
    assert sorted(p.name for p in tmp_path.iterdir()) == before


def test_several_files_are_one_face(run: Run, sole: str, tmp_path: Path) -> None:
    leaves = HEAD.replace("dial", "feeler").replace("# sense: high-positive\n", "")
    leaves += (
        "along,across,goes,stops\n0,0,30,40\n0,60,40,50\n250,0,0,30\n250,60,0,30\n"
    )
    (tmp_path / "leaves.csv").write_text(leaves, encoding="utf-8")
    found = answered(run("check", sole, "leaves.csv", "--json"))
    assert found["files"] == ["sole.csv", "leaves.csv"]
    assert found["methods"] == ["dial", "feeler"]
    assert found["points"] == 19


def test_files_of_differing_faces_are_refused(
    run: Run, sole: str, tmp_path: Path
) -> None:
    (tmp_path / "wide.csv").write_text(
        HEAD.replace("60 mm", "65 mm") + ROWS, encoding="utf-8"
    )
    said = refused(run("check", sole, "wide.csv", "--json"))
    assert "wide.csv: its face (sole, 250 × 65 mm)" in said
    assert "sole.csv (sole, 250 × 60 mm)" in said


def test_a_file_given_twice_is_no_repeat(run: Run, sole: str) -> None:
    assert "given twice" in refused(run("check", sole, f"./{sole}", "--json"))


def test_half_a_file_proves_nothing_flat(run: Run, tmp_path: Path) -> None:
    """Flat in all that was typed, and nothing typed of the heel."""

    def write(name: str, alongs: tuple[int, ...], bump: int = 1) -> None:
        rows = "".join(
            f"{along},{across},{bump * ((along + across) % 2)}\n"
            for along in alongs
            for across in (5, 30, 55)
        )
        text = f"{HEAD}# repeatability: 2 um\nalong,across,reading\n{rows}"
        (tmp_path / name).write_text(text, encoding="utf-8")

    write("half.csv", (8, 40, 76, 92))
    found = answered(run("check", "half.csv", "--json"))
    assert (found["verdict"], found["probability"]) == ("cannot tell", None)
    assert found["working"]["verdict"] == "cannot tell"
    words = " ".join(run("check", "half.csv").out.split())
    assert words.count("no reading is near the heel") == 2
    assert "To settle read the heel too." in words
    # What was read can prove it bad by itself.
    write("bad.csv", (8, 40, 76, 92), bump=400)
    assert answered(run("check", "bad.csv", "--json"))["verdict"] == "not flat"
    write("whole.csv", (8, 40, 76, 92, 170, 242))
    whole = answered(run("check", "whole.csv", "--json"))
    assert whole["verdict"] == whole["working"]["verdict"] == "flat"


def test_an_unseen_bow_leaves_the_upper_end_open(run: Run, tmp_path: Path) -> None:
    (tmp_path / "edges.csv").write_text(HEAD + EDGES, encoding="utf-8")
    found = answered(run("check", "edges.csv", "--json"))
    assert found["flatness"]["likely_um"] is None
    assert found["flatness"]["interval_um"][1] is None
    assert found["verdict"] == "cannot tell"
    assert "not_measured" in found["across_bow"]
    line = "read a line across the middle"
    assert f"across-bow: {line}" in found["not_seen"]
    assert f"To settle  {line}." in run("check", "edges.csv").out
    strict = answered(run("check", "edges.csv", "--json", "--target", "1um"))
    assert strict["flatness"]["interval_um"][0] > 1
    assert strict["verdict"] == "not flat"


def test_leaves_that_contradict_each_other_are_bad_input(
    run: Run, tmp_path: Path
) -> None:
    leaves = HEAD.replace("dial", "feeler").replace("# sense: high-positive\n", "")
    leaves += (
        "along,across,goes,stops\n0,0,30,40\n0,0,200,250\n0,60,40,50\n250,0,0,30\n"
    )
    (tmp_path / "leaves.csv").write_text(leaves, encoding="utf-8")
    said = refused(run("check", "leaves.csv", "--json"))
    assert "contradict each other" in said


def test_a_picture_is_drawn_beside_the_answer(
    run: Run, sole: str, tmp_path: Path
) -> None:
    found = answered(run("check", sole, "--json", "--picture", "map.png"))
    assert found["points"] == 15
    assert (tmp_path / "map.png").read_bytes().startswith(b"\x89PNG")


def test_no_file_and_unknown_words_are_bad_input(run: Run, sole: str) -> None:
    assert run("check").code == 2
    assert run("check", sole, "--tolerance", "5um").code == 2
    assert run("chek", sole).code == 2


def test_help_and_version(run: Run) -> None:
    said = run("check", "--help")
    assert said.code == 0
    for word in ("--target", "--units", "--json", "--picture"):
        assert word in said.out
    assert run("--version").out == f"lapping {__version__}\n"


def test_a_bug_is_no_bad_input(
    run: Run, sole: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is wrong in the program must not be blamed on the file."""

    def broken(*_: object, **__: object) -> str:
        message = "a bug"
        raise ZeroDivisionError(message)

    monkeypatch.setattr("lapping.cli.check.check_files", broken)
    monkeypatch.setattr(sys, "argv", ["lapping", "check", sole])
    with pytest.raises(ZeroDivisionError, match="a bug"):
        main()


def started(*words: str, folder: Path) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "lapping", *words],
        cwd=folder,
        capture_output=True,
        check=False,
    )


def test_python_m_lapping_and_the_same_bits_twice(tmp_path: Path, sole: str) -> None:
    one, two = (started("check", sole, "--json", folder=tmp_path) for _ in range(2))
    assert (one.returncode, one.stderr) == (0, b"")
    assert json.loads(one.stdout)["verdict"] == "flat"
    assert one.stdout == two.stdout


def test_python_m_lapping_refuses_with_2(tmp_path: Path) -> None:
    said = started("check", "nowhere.csv", "--json", folder=tmp_path)
    assert (said.returncode, said.stdout) == (2, b"")
    assert b"nowhere.csv" in said.stderr
    assert b"Traceback" not in said.stderr


def test_the_installed_command_is_the_same(tmp_path: Path, sole: str) -> None:
    command = Path(sys.executable).with_name("lapping")
    said = subprocess.run(
        [command, "check", sole, "--json"],
        cwd=tmp_path,
        capture_output=True,
        check=True,
    )
    assert said.stdout == started("check", sole, "--json", folder=tmp_path).stdout
