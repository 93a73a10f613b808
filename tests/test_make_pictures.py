"""The script that draws the documents' pictures runs and draws what it should."""

from __future__ import annotations

import runpy
import subprocess
import sys
from pathlib import Path

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from lapping.face import Face, Mouth
from lapping.places import corner_names

ROOT = Path(__file__).resolve().parents[1]
SCRIPT = ROOT / "docs" / "make_pictures.py"
NAMES = [
    *("contact.png", "frame.png", "frame.svg", "reading_sheet.png"),
    *("signs.png", "signs.svg", "sole.png"),
]


@pytest.fixture(scope="module")
def script() -> dict[str, object]:
    return runpy.run_path(str(SCRIPT))


def drawn(script: dict[str, object], name: str) -> Figure:
    make = script[name]
    assert callable(make)
    figure = make()
    assert isinstance(figure, Figure)
    return figure


def texts(figure: Figure) -> list[Text]:
    return [text for ax in figure.axes for text in ax.texts if text.get_text()]


def test_all_pictures_are_made_in_the_folder_given(
    tmp_path: Path, warned: list[str]
) -> None:
    subprocess.run(
        [sys.executable, *warned, SCRIPT, tmp_path],
        check=True,
        timeout=300,
        cwd=tmp_path,
    )
    assert sorted(p.name for p in tmp_path.iterdir()) == NAMES
    for path in tmp_path.iterdir():
        start = b"\x89PNG" if path.suffix == ".png" else b"<?xml"
        assert path.read_bytes().startswith(start), path.name


def test_the_pictures_in_the_documents_are_kept() -> None:
    kept = {p.name for p in (ROOT / "docs" / "pictures").iterdir()}
    assert set(NAMES) <= kept


@pytest.mark.parametrize("name", ["frame", "signs"])
def test_no_words_are_cut_off(script: dict[str, object], name: str) -> None:
    figure = drawn(script, name)
    figure.draw_without_rendering()
    for text in texts(figure):
        box = text.get_window_extent()
        assert figure.bbox.x0 <= box.x0, text.get_text()
        assert box.x1 <= figure.bbox.x1, text.get_text()
        assert figure.bbox.y0 <= box.y0, text.get_text()
        assert box.y1 <= figure.bbox.y1, text.get_text()


def test_the_frame_names_both_edges_of_both_sides(script: dict[str, object]) -> None:
    said = {t.get_text() for t in texts(drawn(script, "frame"))}
    assert said >= {"left_edge: top", "left_edge: sole", "top edge", "sole edge"}
    assert said >= {"left end", "right end", "near edge", "far edge"}


def test_zones_are_drawn_where_the_program_has_them(script: dict[str, object]) -> None:
    face = Face(length_mm=250, width_mm=60, mouth=Mouth(from_mm=80, to_mm=86))
    said = {t.get_text() for t in texts(drawn(script, "signs"))}
    for zone in face.bearing_zones():
        assert f"{zone.along_from_mm:g}–{zone.along_to_mm:g}" in said
    assert "toe-left, heel-right high" in said
    one, two, three, four = corner_names(face)
    assert {f"{one}, {three} high", f"{two}, {four} high"} <= said
