"""The printed sheet of corner cards, measured on the page as it is drawn."""

from __future__ import annotations

import io
import re
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.cli import app
from lapping.errors import BadInput
from lapping.photo.cards import MARK_IDS
from lapping.printed.corner_sheet import corner_sheet, save_corner_sheet

DOTS_PER_IN = 300
PX_PER_MM = DOTS_PER_IN / 25.4
# International paper sizes: A4 is 210 × 297 mm (ISO 216), Letter 8.5 × 11 in (ANSI
# Y14.1); a point is 1/72 in.
PAPERS_PT = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11 * 72)}
EXACT = 0.002


@pytest.fixture(scope="module", params=["A4", "Letter"])
def page(request: pytest.FixtureRequest) -> NDArray[np.uint8]:
    drawn = io.BytesIO()
    corner_sheet(request.param).savefig(drawn, format="png", dpi=DOTS_PER_IN)
    coded = np.frombuffer(drawn.getvalue(), np.uint8)
    return np.asarray(cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE), dtype=np.uint8)


def test_the_bars_are_as_long_as_they_say(page: NDArray[np.uint8]) -> None:
    """Between the middles of the two end ticks, above the bar."""
    dark = page < 128
    # Rows with one unbroken line of more than 90 mm are the bars.
    lengths = {}
    for row in np.flatnonzero(dark.sum(axis=1) > 90 * PX_PER_MM):
        columns = np.flatnonzero(dark[row])
        if np.diff(columns).max() == 1:
            lengths[row] = columns
    rows = np.array(sorted(lengths))
    bars = np.split(rows, np.flatnonzero(np.diff(rows) > 10) + 1)
    measured = []
    for bar in bars:
        above = page[bar[0] - int(3 * PX_PER_MM), : lengths[bar[0]][-1] + 9]
        ink = 255.0 - above.astype(float)
        ticks = np.flatnonzero(ink > 60)
        groups = np.split(ticks, np.flatnonzero(np.diff(ticks) > 1) + 1)
        at = [np.average(g, weights=ink[g]) for g in groups]
        assert len(at) == 2
        measured.append((at[1] - at[0]) / PX_PER_MM)
    assert measured == pytest.approx([100.0, 4 * 25.4], rel=EXACT)


def test_the_marks_are_read_and_28_mm_wide(page: NDArray[np.uint8]) -> None:
    sizes = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_ARUCO_MIP_36h12)
    corners, ids, _ = cv2.aruco.ArucoDetector(sizes).detectMarkers(page)
    assert sorted(ids.ravel().tolist()) == sorted(MARK_IDS)
    middles = {}
    for one, four in zip(ids.ravel().tolist(), corners, strict=True):
        x, y = four[0].min(axis=0).astype(int)
        # Black squares fill the border, so the mark's extent is that of its ink.
        mark = page[y - 20 : y + 360, x - 20 : x + 360] < 128
        for direction in (0, 1):
            ink = np.flatnonzero(mark.any(axis=direction))
            assert ink.size / PX_PER_MM == pytest.approx(28.0, abs=0.1)
        middles[one] = four[0].mean(axis=0)
    left, right, heel_right, heel_left = (middles[one] for one in MARK_IDS)
    # As they lie round a face, toe up.
    assert left[0] == pytest.approx(heel_left[0], abs=2)
    assert left[1] == pytest.approx(right[1], abs=2)
    assert left[0] < right[0]
    assert left[1] < heel_left[1]
    assert heel_right[0] == pytest.approx(right[0], abs=2)


def test_no_ink_comes_near_a_mark_or_the_edge_of_the_page(
    page: NDArray[np.uint8],
) -> None:
    sizes = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_ARUCO_MIP_36h12)
    corners, _, _ = cv2.aruco.ArucoDetector(sizes).detectMarkers(page)
    # The reader needs one square, 28/8 mm, of white round a mark.
    quiet = int(28 / 8 * PX_PER_MM)
    for four in corners:
        x0, y0 = np.floor(four[0].min(axis=0)).astype(int) - 3
        x1, y1 = np.ceil(four[0].max(axis=0)).astype(int) + 4
        ring = page[y0 - quiet : y1 + quiet, x0 - quiet : x1 + quiet].copy()
        ring[quiet:-quiet, quiet:-quiet] = 255
        assert ring.min() > 200
    margin = int(10 * PX_PER_MM)
    page = page.copy()
    page[margin:-margin, margin:-margin] = 255
    assert page.min() > 200


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_pdf_has_the_size_of_its_paper(tmp_path: Path, paper: str) -> None:
    path = tmp_path / "corners.pdf"
    save_corner_sheet(path, paper)
    box = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", path.read_bytes())
    assert box is not None
    assert tuple(map(float, box.groups())) == pytest.approx(PAPERS_PT[paper], abs=0.01)
    first = path.read_bytes()
    save_corner_sheet(path, paper)
    assert path.read_bytes() == first


def test_what_cannot_be_written_is_said(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"must end in \.pdf"):
        save_corner_sheet(tmp_path / "corners.doc")
    with pytest.raises(BadInput, match="'A3' is no paper of ours"):
        save_corner_sheet(tmp_path / "corners.pdf", "A3")
    with pytest.raises(BadInput, match="there is no folder"):
        save_corner_sheet(tmp_path / "none" / "corners.pdf")
    assert list(tmp_path.iterdir()) == []


def test_the_command_writes_the_sheet(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "corners.pdf"
    command = ["print", "corners", "-o", str(path), "--paper", "letter"]
    app(command, standalone_mode=False)
    assert path.read_bytes().startswith(b"%PDF")
    assert "print it at 100 %" in capsys.readouterr().out
