"""The sheet for readings on paper: true to size, and typed in as it stands."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.answer import Answer
from lapping.face import Face
from lapping.from_files import check_readings
from lapping.patterns.lines import pattern_for
from lapping.printed.boxes import Boxes, block_of
from lapping.printed.numbered_face import numbers_of, scale_for
from lapping.printed.reading_sheet import ReadingSheet, reading_sheet
from lapping.prompt.cells import columns_of, where_cells
from lapping.readings import Method
from tests.made_pages import PX_PER_MM, Word, page_px, pages, words
from tests.said import Run
from tests.test_patterns import FACES, METHODS

EXACT = 0.002
SIZES = ("--length", "250mm", "--width", "60mm")
MOUTH = ("--mouth", "80 mm to 86 mm, across 5 mm to 55 mm")
SAID = {
    "unit": "um",
    "sense": "high-positive",
    "repeatability": "3 um",
    "reference_flatness": "5 um",
    "leaves": "20, 30, 40, 50, 60, 80, 100",
}
"""What a person writes on the empty lines of the header."""


def height_um(along: float, across: float) -> float:
    """Give the height of an invented face with 80 µm of twist and no bow."""
    return 80 * (along / 250 - 0.5) * (across / 60 - 0.5)


def longest_run(dark: NDArray[np.bool_]) -> int:
    """Give the length of the longest unbroken run of ink."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], dark.astype(int), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def header_of(said: list[Word]) -> list[str]:
    """Type the header lines, in their order down the page, with what was filled in."""
    lines = sorted(
        (w for w in said if w.text.startswith("# ")), key=lambda w: -w.bottom
    )
    typed = []
    for line in lines:
        key, _, value = line.text.removeprefix("# ").partition(": ")
        if set(value) <= {"_"}:
            value = SAID.get(key, "")
        if value:
            typed.append(f"# {key}: {value}")
    return typed


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_bars_and_face_are_true_to_size(run: Run, tmp_path: Path, paper: str) -> None:
    said = run("print", "readings", *SIZES, *MOUTH, "--paper", paper)
    assert said.code == 0, said.err
    dark = page_px(tmp_path / "sole_250x60_readings.pdf") < 128
    # ISO 216 and ANSI Y14.1, laid on their side.
    size_mm = (210.0, 297.0) if paper == "A4" else (215.9, 279.4)
    assert dark.shape == pytest.approx([mm * PX_PER_MM for mm in size_mm], abs=1.5)
    # The upper edge only, because the black corner lies outside the lower one. The
    # line is 0.8 pt, 0.28 mm: its ends stand half of that outside.
    upper = max(longest_run(row) for row in dark[: dark.shape[0] // 2])
    face = upper / PX_PER_MM - 0.8 / 72 * 25.4
    assert face == pytest.approx(250.0, rel=EXACT)
    upright = max(longest_run(column) for column in dark.T[dark.shape[1] // 2 :])
    assert upright / PX_PER_MM - 0.8 / 72 * 25.4 == pytest.approx(60.0, rel=EXACT)
    low = dark[-int(12 * PX_PER_MM) :]
    bar = int(np.argmax([longest_run(row) for row in low]))
    # Three millimetres above the bars are only the ends of their end ticks.
    ticks = np.flatnonzero(low[bar - int(3 * PX_PER_MM)])
    groups = np.split(ticks, np.flatnonzero(np.diff(ticks) > 1) + 1)
    at = [group.mean() / PX_PER_MM for group in groups if group.size < 6][:4]
    lengths = [stop - start for start, stop in ((at[0], at[1]), (at[-2], at[-1]))]
    assert lengths == pytest.approx([100.0, 101.6], rel=EXACT)


def test_a_filled_in_block_is_a_file_that_check_reads(run: Run, tmp_path: Path) -> None:
    assert run("print", "readings", *SIZES, *MOUTH).code == 0
    said = words(tmp_path / "sole_250x60_readings.pdf")
    (corner,) = [w for w in said if w.text == r"across\along"]
    head = sorted(
        (
            w
            for w in said
            if abs(w.bottom - corner.bottom) < 2 and w.left > corner.right
        ),
        key=lambda w: w.left,
    )
    middle = (corner.left + corner.right) / 2
    column = sorted(
        (
            w
            for w in said
            if w.top < corner.bottom and w.left < middle < w.right and w.top > 15
        ),
        key=lambda w: -w.bottom,
    )
    column = [w for w in column if w.text.isdecimal()]
    assert [w.text for w in head] == ["8", "42", "76", "92", "142", "192", "242"]
    assert [w.text for w in column] == ["55", "30", "5"]
    rows = [",".join([r"across\along", *(w.text for w in head)])]
    for across in column:
        read = [height_um(float(w.text), float(across.text)) for w in head]
        rows.append(",".join([across.text, *(f"{value:.0f}" for value in read)]))
    typed = tmp_path / "typed.csv"
    typed.write_text("\n".join([*header_of(said), *rows]) + "\n", "utf-8")
    found = check_readings(typed)
    assert isinstance(found, Answer)
    assert found.points == 21
    assert found.face.mouth is not None
    twist = found.form.twist
    assert twist is not None
    # Toe-left and heel-right are proud: positive (docs/conventions.md).
    assert twist.um == pytest.approx(80, abs=3)
    checked = run("check", "typed.csv")
    assert checked.code == 0, checked.err
    assert "toe-left and heel-right high" in checked.out


ANSWERS = {
    "leaves": lambda cells: ("50" if height_um(*map(float, cells)) < 0 else "30", ""),
    "edge": lambda cells: ("20", "40"),
    "level": lambda cells: ("5",),
    "sticks": lambda cells: ("400mm", "100", "left"),
    "square": lambda cells: ("10", "sole"),
}


@pytest.mark.parametrize("method", ANSWERS)
def test_a_filled_in_list_is_a_file_that_check_reads(
    run: Run, tmp_path: Path, method: str
) -> None:
    kind = "side" if method == "square" else "sole"
    made = run("print", "readings", *SIZES, "--kind", kind, "--method", method)
    assert made.code == 0, made.err
    path = tmp_path / f"{kind}_250x60_readings.pdf"
    said = [words(path, number) for number in range(pages(path))]
    header = [line for line in header_of(said[0]) if "leaves" not in line]
    if method in {"leaves", "edge"}:
        header.append(f"# leaves: {SAID['leaves']}")
    if method == "level":
        header = [line.replace("unit: um", "unit: um/m") for line in header]
    rows, columns = [], ""
    for page in said:
        for cells in table_rows(page):
            if cells[0].startswith(("along", "line")):
                columns = ",".join(cells)
            else:
                rows.append(",".join((*cells[1:], *ANSWERS[method](cells[1:]))))
    typed = tmp_path / "typed.csv"
    typed.write_text("\n".join([*header, columns, *rows]) + "\n", "utf-8")
    checked = run("check", "typed.csv")
    assert checked.code == 0, checked.err


def table_rows(page: list[Word]) -> list[list[str]]:
    """Give the rows of a page's tables, panel by panel, by where their words stand."""
    heads = sorted(
        (w for w in page if w.text in {"along", "along_1", "line"}),
        key=lambda w: w.left,
    )
    heads = [w for w in heads if w.text == heads[0].text]
    # The number stands left of the first column, whose head is in its middle.
    before = 28 if heads[0].text == "line" else 12
    rows: list[list[str]] = []
    for head, after in zip(heads, [*heads[1:], None], strict=True):
        stop = 1000.0 if after is None else after.left - before
        inside = [
            w
            for w in page
            if w.bottom < head.top + 0.5 and head.left - before < w.left < stop
        ]
        levels: list[list[Word]] = []
        for word in sorted(inside, key=lambda w: -(w.bottom + w.top)):
            middle = (word.bottom + word.top) / 2
            if levels and abs(middle - level_of(levels[-1])) < 2:
                levels[-1].append(word)
            else:
                levels.append([word])
        for level in levels:
            cells = [w.text for w in sorted(level, key=lambda w: w.left)]
            if level_of(level) > 14:  # below are the bars
                rows.append(cells)
    return rows


def level_of(level: list[Word]) -> float:
    return (level[0].bottom + level[0].top) / 2


def sheet_of(face: Face, method: Method) -> ReadingSheet:
    pattern = pattern_for(face, method)
    columns = columns_of(method, leaves=True)
    rows = tuple(where_cells(method, place, "400mm") for place in pattern)
    return ReadingSheet(
        label="Bramble/sole",
        face=face,
        method=method,
        gauge="gauge",
        pattern=pattern,
        where=columns[: len(rows[0])],
        what=columns[len(rows[0]) :],
        rows=rows,
        header=(("method", method), ("unit", "")),
    )


ALL = [(name, "dial") for name in FACES] + [
    (name, method)
    for name in ("screw heads where places would be", "tiny", "mouth in the middle")
    for method in METHODS[1:]
]


@pytest.mark.parametrize(("name", "method"), ALL)
def test_every_place_has_its_number_and_its_box(name: str, method: Method) -> None:
    sheet = sheet_of(FACES[name], method)
    drawn = reading_sheet(sheet)
    texts = [text for page in drawn for text in page.axes[0].texts]
    numbered = {
        int(number)
        for text in texts
        if (text.get_gid() or "").startswith("place ")
        for number in text.get_text().split(", ")
    }
    assert numbered == set(numbers_of(sheet.pattern))
    for page in drawn:
        wide, tall = page.axes[0].get_xlim()[1], page.axes[0].get_ylim()[1]
        for text in page.axes[0].texts:
            x, y = text.get_position()
            assert 3 < x < wide - 3, text.get_text()
            assert 3 < y < tall - 3, text.get_text()
    if method == "dial":
        rows = tuple(zip(numbers_of(sheet.pattern), sheet.rows, strict=True))
        block = block_of(Boxes(where=sheet.where, what=sheet.what, rows=rows))
        kept = [number for row in block.numbers for number in row if number]
        assert sorted(kept) == sorted(set(numbers_of(sheet.pattern)))


def test_a_face_is_true_size_where_it_fits_and_else_says_how_far_reduced() -> None:
    scales = {
        length: scale_for(Face(length_mm=length, width_mm=60), 254.4, 100.0)
        for length in (100.0, 254.0, 255.0, 600.0, 2000.0)
    }
    assert scales == {100.0: 1, 254.0: 1, 255.0: 2, 600.0: 2.5, 2000.0: 10}
    assert scale_for(Face(length_mm=40_000, width_mm=60), 254.4, 100.0) > 157


def test_a_face_in_the_log_brings_its_mouth_target_and_gauge(
    run: Run, tmp_path: Path
) -> None:
    run("plane", "Long/$a^$", "--length", "245mm", "--width", "60mm")
    run("log", "gauge", "lever", "--method", "dial", "--unit", "0.01mm", "--sense",
        "low-positive")  # fmt: skip
    made = run("print", "readings", "--face", "Long/$a^$/sole", "--gauge", "lever")
    assert made.code == 0, made.err
    said = {w.text for w in words(tmp_path / "Long__a___sole_readings.pdf")}
    assert {"# unit: 0.01mm", "# sense: low-positive", "# length: 245mm"} <= said
    assert "Readings of Long/$a^$/sole" in said


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ((), "say which face: Bramble/sole, or --length"),
        (("--length", "250mm"), "say which face"),
        ((*SIZES, "--paper", "A5"), "'A5' is no paper of ours"),
        ((*SIZES, "-o", "sheet.doc"), r"must end in .pdf"),
        ((*SIZES, "-o", "none/sheet.pdf"), "there is no folder none"),
        ((*SIZES, "-o", "mine.pdf"), "already there and not from lapping"),
        ((*SIZES, "--method", "ruler"), "'ruler' is no gauge known here"),
        ((*SIZES, "--method", "square"), "a square is held against a side"),
        ((*SIZES, "--method", "level", "--base", "200mm"), "at least two steps"),
        ((*SIZES, "--face", "Bramble/sole"), "leave the sizes out"),
    ],
)
def test_what_cannot_be_is_one_sentence_and_no_file(
    run: Run, tmp_path: Path, options: tuple[str, ...], sentence: str
) -> None:
    (tmp_path / "mine.pdf").write_bytes(b"%PDF-1.4 a bill")
    said = run("print", "readings", *options)
    assert said.code == 2
    assert sentence in said.err
    assert len(said.err.splitlines()) == 1
    assert [p.name for p in tmp_path.iterdir()] == ["mine.pdf"]
    assert (tmp_path / "mine.pdf").read_bytes() == b"%PDF-1.4 a bill"


def test_a_sheet_of_ours_is_written_anew(run: Run, tmp_path: Path) -> None:
    assert run("print", "corners").code == 0
    first = (tmp_path / "corner_cards.pdf").read_bytes()
    assert run("print", "corners", "--paper", "Letter").code == 0
    assert (tmp_path / "corner_cards.pdf").read_bytes() != first
