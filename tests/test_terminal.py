"""Small pictures in plain characters: right on a terminal, and nowhere else."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pexpect
import pytest

from lapping.cli.screen import signs_of_screen
from lapping.words.plain_map import ASCII, BLOCKS, Signs, plain_map, spark_line
from lapping.words.progress import spark_words
from tests.made_dial_files import CASES, solve
from tests.made_progress import came, evenings, history, only_bore


def inside(lines: list[str]) -> list[str]:
    """Give the rows of the face, without frame and words."""
    return [line.split("|")[1] for line in lines if line.count("|") == 2]


@pytest.mark.parametrize("signs", [BLOCKS, ASCII])
def test_proud_corners_are_dark_and_hollow_ones_are_light(signs: Signs) -> None:
    """Toe-left and heel-right stand proud, the other corners twice as low."""
    rows = inside(plain_map(solve("plain"), signs, 80))
    hollow, _, _, proud, _ = signs.shades
    assert (rows[-1][0], rows[0][-1]) == (proud, proud)
    assert (rows[0][0], rows[-1][-1]) == (hollow, hollow)
    assert len({len(row) for row in rows}) == 1


def test_the_frame_has_its_words_and_the_mouth_is_open() -> None:
    lines = plain_map(solve("plain"), BLOCKS, 80)
    assert lines[0].strip() == "right edge"
    assert lines[-2].strip() == "left edge"
    (middle,) = [line for line in lines if line.startswith("toe")]
    assert middle.endswith(" heel")
    rows = inside(lines)
    # The mouth is from 80 to 86 of 250 mm.
    at = int(83 / 250 * len(rows[0]))
    assert [row[at] for row in rows[1:-1]] == [" "] * (len(rows) - 2)
    side = plain_map(solve("side"), BLOCKS, 80)
    assert (side[0].strip(), side[-2].strip()) == ("sole edge", "top edge")


def test_what_was_not_read_is_hatched_and_said() -> None:
    lines = plain_map(solve("feeler"), BLOCKS, 80)
    rows = inside(lines)
    assert rows[len(rows) // 2][len(rows[0]) // 2] == "/"
    assert lines[-1].endswith("/ not seen")
    assert "not seen" not in plain_map(solve("plain"), BLOCKS, 80)[-1]
    assert plain_map(solve("three"), BLOCKS, 80) == []


@pytest.mark.parametrize("name", ["plain", "small", "long", "lap", "wild", "many"])
@pytest.mark.parametrize("columns", [40, 60, 80, 200])
def test_it_fits_the_terminal(name: str, columns: int) -> None:
    lines = plain_map(solve(name), BLOCKS, columns)
    assert 6 <= len(lines) <= 17
    assert max(len(line) for line in lines[:-1]) <= min(columns, 80)
    assert len(lines[-1]) <= 80
    assert plain_map(solve(name), BLOCKS, 20) == []


def test_plain_letters_need_nothing_but_ascii() -> None:
    for name in ("plain", "feeler", "lap"):
        "".join(plain_map(solve(name), ASCII, 80)).encode("ascii")
    spark_words(history(evenings(5)), ASCII).encode("ascii")


def test_a_line_of_progress_falls_from_full_to_low() -> None:
    assert spark_line(np.array([300.0, 150.0, 0.0, np.nan]), 300, BLOCKS) == "█▅▁·"
    times = [came(i, 3, um) for i, um in enumerate((240.0, 130.0, 20.0))]
    said = spark_words(history(times), BLOCKS)
    assert said == "Flatness 240 µm █▅▁ 20 µm, 80 allowed"
    assert spark_words(history(evenings(1)), BLOCKS) == ""
    photos = [only_bore(one, 30.0) for one in evenings(4)]
    assert spark_words(history(photos), BLOCKS) == ""


class Screen(io.TextIOWrapper):
    """A terminal of some encoding, or a pipe."""

    def __init__(self, encoding: str, *, person: bool) -> None:
        super().__init__(io.BytesIO(), encoding=encoding)
        self.person = person

    def isatty(self) -> bool:
        return self.person


@pytest.mark.parametrize(
    ("encoding", "person", "term", "signs"),
    [
        ("utf-8", True, "xterm", BLOCKS),
        ("latin-1", True, "xterm", ASCII),
        ("ascii", True, "xterm", ASCII),
        ("cp437", True, "xterm", ASCII),
        ("utf-8", False, "xterm", None),
        ("utf-8", True, "dumb", None),
    ],
)
def test_signs_are_what_the_terminal_can_show(
    monkeypatch: pytest.MonkeyPatch,
    encoding: str,
    person: bool,
    term: str,
    signs: Signs | None,
) -> None:
    monkeypatch.setenv("TERM", term)
    monkeypatch.setattr(sys, "stdout", Screen(encoding, person=person))
    assert signs_of_screen() == signs


def seen_on_terminal(words: list[str], encoding: str) -> str:
    environment = {**os.environ, "TERM": "xterm", "PYTHONIOENCODING": encoding}
    child = pexpect.spawn(
        sys.executable,
        ["-m", "lapping", *words],
        env=environment,
        dimensions=(50, 80),
        encoding="utf-8",
        timeout=60,
    )
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert child.before is not None
    return child.before


def test_check_draws_for_a_person_and_not_for_a_pipe(tmp_path: Path) -> None:
    readings = tmp_path / "face.csv"
    readings.write_text(CASES["small"], encoding="utf-8")
    words = ["check", str(readings)]
    on_screen = seen_on_terminal(words, "utf-8").splitlines()
    piped = subprocess.run(
        [sys.executable, "-m", "lapping", *words],
        capture_output=True,
        encoding="utf-8",
        check=True,
    ).stdout.splitlines()
    assert on_screen[: len(piped)] == piped
    drawn = plain_map(solve("small"), BLOCKS, 80)
    assert [line.rstrip() for line in on_screen[len(piped) + 1 :]] == drawn
    plain = seen_on_terminal(words, "ascii")
    assert plain.splitlines()[-1].startswith("# over +")
