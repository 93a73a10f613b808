"""The documents say what is so: examples run, commands are there, links lead somewhere.

`python -m tests.refresh_docs` puts what the examples print now into the documents.
"""

from __future__ import annotations

import itertools
import math
import re
import subprocess
import sys
from pathlib import Path

import pytest

from lapping.readings_file.headers import KEYS
from tests.refresh_docs import (
    ROOT,
    blocks,
    console,
    documents,
    is_alive,
    prepare,
    printed,
    rerun,
)

README = (ROOT / "README.md").read_text("utf-8")
SET_UP = """\
python3 -m venv .venv && .venv/bin/python -m pip install . && .venv/bin/lapping demo
.venv/bin/python -m pip install ".[test]" && .venv/bin/python -m pytest
"""
NUMBER = re.compile(r"[+-]?\d+(?:\.\d+)?(?:e-?\d+)?")
ALIVE = [path for path in documents() if is_alive(path.read_text("utf-8"))]


def same(shown: str, now: str) -> bool:
    """Say whether two outputs agree: the words exactly, the numbers nearly.

    Another processor rounds otherwise, which can move a figure drawn at random in its
    last digit and a line's end with it.
    """
    words = [" ".join(NUMBER.sub("#", text).split()) for text in (shown, now)]
    numbers = [[float(n) for n in NUMBER.findall(text)] for text in (shown, now)]
    return words[0] == words[1] and all(
        math.isclose(a, b, rel_tol=0.15, abs_tol=2)
        for a, b in zip(*numbers, strict=True)
    )


@pytest.mark.parametrize("path", ALIVE, ids=lambda path: path.name)
def test_examples_print_what_is_shown(path: Path, tmp_path: Path) -> None:
    prepare(tmp_path)
    for block, now in printed(path.read_text("utf-8"), tmp_path):
        assert same(block.body, now), f"shown:\n{block.body}\nprinted:\n{now}"


def test_the_readme_has_the_set_up_commands_word_for_word() -> None:
    assert any(block.body == SET_UP for block in blocks(README))


def test_every_command_is_in_the_readme(tmp_path: Path) -> None:
    shown = console("$ lapping --help\n", tmp_path)
    listed = shown.partition("\nCommands:\n")[2].splitlines()
    commands = [line.split()[0] for line in listed if re.match(r"  \w", line)]
    assert {"check", "demo"} <= set(commands)
    for command in commands:
        assert re.search(rf"`lapping {command}\b", README), f"{command} is missing"


def test_every_option_is_in_the_readme() -> None:
    for command in ("check", "demo"):
        shown = subprocess.run(
            [sys.executable, "-m", "lapping", command, "--help"],
            capture_output=True,
            encoding="utf-8",
            check=True,
        )
        for option in set(re.findall(r"--[a-z]+", shown.stdout)) - {"--help"}:
            assert f"`{option}" in README, f"{command} {option} is missing"


def test_every_header_of_a_file_is_explained() -> None:
    text = (ROOT / "docs" / "measuring.md").read_text("utf-8")
    table = text.partition("\n| header |")[2].partition("\n\n")[0]
    explained = {
        key
        for line in table.splitlines()[2:]
        for key in re.findall(r"`(\w+)`", line.split("|")[1])
    }
    assert explained == set(KEYS)


def test_the_block_in_the_documents_is_the_first_file_of_the_readme() -> None:
    text = (ROOT / "docs" / "measuring.md").read_text("utf-8")
    (block,) = [b for b in csv_pieces(text) if b.startswith("across\\along")]
    (first,) = [b.body for b in blocks(README) if b.info == "csv my_sole.csv"]
    rows, turned = first.splitlines(), block.splitlines()
    for line in turned[1:]:
        across, *values = line.split(",")
        for along, value in zip(turned[0].split(",")[1:], values, strict=True):
            assert f"{along},{across},{value}" in rows


def csv_pieces(text: str) -> list[str]:
    """Give the pieces of readings files that have no name."""
    return [b.body for b in blocks(text) if b.info == "csv"]


def test_the_rows_shown_for_each_method_are_those_of_a_sample() -> None:
    text = (ROOT / "docs" / "measuring.md").read_text("utf-8")
    samples = [
        p.read_text("utf-8") for p in (ROOT / "sample_measurements").glob("*.csv")
    ]
    lines = [set(sample.splitlines()) for sample in samples]
    pieces = [p for p in csv_pieces(text) if not p.startswith("across\\along")]
    assert len(pieces) == 4
    for piece in pieces:
        rows = {row for row in piece.splitlines() if "no light" not in row}
        assert any(rows <= of_one for of_one in lines), piece


@pytest.mark.parametrize("path", documents(), ids=lambda path: path.name)
def test_links_lead_somewhere(path: Path) -> None:
    text = path.read_text("utf-8")
    headings = {p: anchors(p) for p in documents()}
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        if target.startswith(("http://", "https://")):
            continue
        name, _, anchor = target.partition("#")
        to = (path.parent / name).resolve() if name else path
        assert to.exists(), f"{path.name} links to {target}"
        if anchor:
            assert anchor in headings[to], f"{path.name} links to {target}"


def anchors(path: Path) -> set[str]:
    """Give the anchors that the headings of a document have when it is shown."""
    text = re.sub(r"^```.*?^```$", "", path.read_text("utf-8"), flags=re.S | re.M)
    titles = re.findall(r"^#+ +(.+)$", text, flags=re.M)
    return {
        re.sub(r"[^\w\- ]", "", t.lower()).strip().replace(" ", "-") for t in titles
    }


def test_the_heading_of_each_document_stands_first() -> None:
    for path in documents():
        assert path.read_text("utf-8").startswith("# "), path.name


def test_every_document_is_on_the_site() -> None:
    text = (ROOT / "docs" / "index.md").read_text("utf-8")
    listed = {line for b in blocks(text) for line in b.body.splitlines()}
    for path in (ROOT / "docs").rglob("*.md"):
        name = path.relative_to(ROOT / "docs").with_suffix("").as_posix()
        assert name == "index" or name in listed, f"list {name} in docs/index.md"


# The way the documents are checked is itself checked.


def test_an_example_that_prints_something_else_is_found(tmp_path: Path) -> None:
    text = "```console\n$ echo one 12\ntwo 12\n```\n```python\nprint(2)\n```\n" + (
        "```text\n3\n```\n"
    )
    found = list(printed(text, tmp_path))
    assert [now for _, now in found] == ["$ echo one 12\none 12\n", "2\n"]
    assert not same(found[0][0].body, found[0][1])
    assert rerun(text, tmp_path) == text.replace("two", "one").replace("3\n", "2\n")


def test_a_bug_never_gets_into_a_document(tmp_path: Path) -> None:
    command = f"$ '{sys.executable}' -c 'raise ValueError'\n"
    with pytest.raises(RuntimeError, match="Traceback"):
        console(command, tmp_path)


def test_an_output_that_would_pass_for_a_command_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match="begins with"):
        console("$ echo '$ echo twice'\n", tmp_path)


def test_numbers_may_differ_a_little_and_words_not_at_all() -> None:
    assert same("likely 40 µm\n(32 to 52)", "likely 41 µm (32\nto 52)")
    outputs = ("likely 40 µm", "likely 60 µm", "about 40 µm", "likely 40", "")
    for one, other in itertools.combinations(outputs, 2):
        assert not same(one, other)
