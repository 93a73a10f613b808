"""Commands that say the same of the same readings: check, advice, plan, progress."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from lapping.answer import Answer
from lapping.from_files import check_readings
from lapping.words.gauge import beyond_leaves
from tests.said import Run

MOUTH = "80 mm to 86 mm, across 6 mm to 54 mm"
HOLLOW = """\
# method: dial
# face: sole
# length: 250 mm
# width: 60 mm
# mouth: 80 mm to 86 mm, across 6 mm to 54 mm
# unit: um
# sense: high-positive
# repeatability: 2 um
# reference_flatness: 5 um
across\\along,3,25,50,78,90,125,160,200,225,247
5,0,-2,-5,-2,-10,-85,-84,-60,-4,0
30,1,-1,-4,0,-9,-90,-86,-62,-3,2
55,2,-2,-5,-3,-10,-85,-80,-60,-2,1
"""
"""Toe, land and heel in one plane, and a deep hollow between land and heel."""
PLACES = ("2,2", "2,30", "2,58", "60,2", "60,58", "125,2", "125,58", "190,2", "190,58")
PLACES = (*PLACES, "248,2", "248,30", "248,58")


def leaves(stop: str, *, sizes: str, tolerance_um: float) -> str:
    """Give a file of leaves at the rim of a face under which none goes."""
    head = (
        "# method: feeler\n# face: sole\n# length: 250 mm\n# width: 60 mm\n"
        f"# unit: mm\n# leaves: {sizes}\n# leaf_tolerance: {tolerance_um:g} um\n"
        "# reference_flatness: 5 um\nalong,across,goes,stops\n"
    )
    return head + "".join(f"{place},0,{stop}\n" for place in PLACES)


@pytest.fixture
def kept(run: Run, tmp_path: Path) -> Path:
    """Keep a face in a log, to which a file can be brought in."""
    said = ("--length", "250mm", "--width", "60mm", "--mouth", MOUTH)
    assert run("plane", "Ash", *said, "--target", "0.08mm").code == 0
    return tmp_path


def bring_in(run: Run, folder: Path, text: str) -> None:
    # A file comes in once; the same figures read again stand in another one.
    before = sum(1 for _ in folder.glob("set_*.csv"))
    (folder / f"set_{before}.csv").write_text(text + before * "\n", encoding="utf-8")
    assert run("log", "import", f"set_{before}.csv", "--face", "Ash/sole").code == 0


def in_one_line(text: str) -> str:
    return " ".join(text.split())


def test_of_a_sole_that_works_nobody_asks_for_paper(run: Run, kept: Path) -> None:
    bring_in(run, kept, HOLLOW)
    checked = in_one_line(run("check", "Ash/sole", "--target", "0.08mm").out)
    assert "Works? Yes" in checked
    assert "Flat? Not flat" in checked
    advised = in_one_line(run("advice", "Ash/sole").out)
    assert "Not flat all over, but it works: stop." in advised
    assert "a little hollow, and that does no harm" in advised
    # Who needs no paper is not told that none is in the log.
    assert "No paper is in the log" not in advised
    assert "assumption" not in advised
    planned = in_one_line(run("plan", "Ash/sole").out)
    assert "Now The plane works as it is: no paper is needed." in planned
    assert "Best leave it: it works" in planned
    assert "Best lap it" not in planned


def test_a_plan_warns_in_four_lines_and_of_nothing_where_nothing_is_done(
    run: Run,
) -> None:
    size = ("plan", "--length", "250mm", "--width", "60mm", "--flatness")
    said = run(*size, "0.3mm").out
    care = said[said.index("\nCare") :].split("\n\n")[0].strip().splitlines()
    assert len(care) <= 4
    words = in_one_line(" ".join(care))
    for danger in ("Iron drawn", "catch fire", "respirator", "swarf", "sharp enough"):
        assert danger in words
    assert "codes and makers' sheets come first" in words
    assert "Care" not in run(*size, "0.02mm").out


def test_where_the_figure_for_a_gauge_comes_from_is_said(run: Run, kept: Path) -> None:
    assert run("plane", "Ash", "--target", "0.03mm").code == 0
    bring_in(run, kept, leaves("0.03", sizes="0.03, 0.06", tolerance_um=5))
    said = in_one_line(run("advice", "Ash/sole").out)
    # Half of 30 µm over √3 (rectangular: GUM 4.3.7).
    assert "a gap is known to 8.7 µm by these leaves" in said
    assert "their tolerance of 5 µm" in said
    assert "leaves stacked to nearer sizes, or a dial" in said
    # What is the reason is not a sign once more.
    assert said.count("a gap is known to") == 1


def test_a_coarser_set_does_not_take_back_what_a_finer_one_shows(
    run: Run, kept: Path
) -> None:
    bring_in(run, kept, HOLLOW)
    bring_in(run, kept, leaves("0.2", sizes="0.2, 0.3", tolerance_um=5))
    assert "Coarse gauge" not in run("advice", "Ash/sole").out


def test_the_middle_is_beyond_leaves_and_not_beyond_other_gauges(
    run: Run, tmp_path: Path
) -> None:
    (tmp_path / "leaves.csv").write_text(
        leaves("0.02", sizes="0.02, 0.03", tolerance_um=2), encoding="utf-8"
    )
    (tmp_path / "dial.csv").write_text(HOLLOW, encoding="utf-8")
    by_leaves, by_dial = (check_readings(n) for n in ("leaves.csv", "dial.csv"))
    assert isinstance(by_leaves, Answer)
    assert isinstance(by_dial, Answer)
    assert beyond_leaves(by_leaves, 125, 30)
    assert not beyond_leaves(by_leaves, 125, 4)
    assert not beyond_leaves(by_leaves, 246, 30)
    assert not beyond_leaves(by_dial, 125, 30)
    # Leaves go in at the mouth as well.
    assert by_dial.face.mouth is not None
    with_mouth = replace(by_leaves, face=by_dial.face)
    assert not beyond_leaves(with_mouth, 79, 30)


def test_what_was_brought_in_stands_under_its_day_and_remarks_are_kept(
    run: Run, kept: Path
) -> None:
    bring_in(run, kept, HOLLOW)
    assert run("strokes", "Ash/sole", "P120", "100", "--fresh").code == 0
    bring_in(run, kept, HOLLOW)
    assert run("log", "note", "Ash/sole", "the stand was knocked").code == 0
    today = f"in {date.today():%Y-%m-%d}"
    progress = run("progress", "Ash/sole").out
    assert progress.count(today) == 2
    assert "in: when it was brought in from a file" in progress
    assert run("report", "Ash/sole").code == 0
    page = next(kept.glob("*report*.html")).read_text("utf-8")
    assert today in page
    assert f"{today}: the stand was knocked" in page
    rows = [re.split(r"\s{2,}", one) for one in progress.splitlines() if today in one]
    for _, *figures in rows:
        for figure in figures:
            assert figure in page


def test_a_report_says_how_sure_it_is_that_the_plane_works(
    run: Run, kept: Path
) -> None:
    bring_in(run, kept, HOLLOW)
    assert run("report", "Ash/sole").code == 0
    page = next(kept.glob("*report*.html")).read_text("utf-8")
    first = page[page.index('class="first"') : page.index("</div>")]
    assert "met: over 99 % sure" in first
    assert "95 % range" in first
    assert first.index("It should work") < first.index("Not flat")
    assert "but it works: stop" in first
