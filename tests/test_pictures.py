"""The face map: what is drawn where, in which words, and the files that hold it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.contour import QuadContourSet
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Rectangle
from matplotlib.text import Annotation, Text

from lapping.answer import Answer
from lapping.cli.check import check_files
from lapping.errors import BadInput
from lapping.pictures.badges import BADGE_PT, place_badges
from lapping.pictures.face_map import face_map, save_face_map
from lapping.pictures.marks import MOST_TOUCHES
from lapping.pictures.plan import plan_map
from lapping.pictures.sections import sections
from lapping.readings import DialReading
from lapping.words.plain_map import BLOCKS, plain_map
from tests.drawn import named
from tests.drawn import said as said_in
from tests.made_dial_files import CASES, solve


@pytest.fixture
def solved() -> Callable[[str], Answer]:
    return solve


def map_axes(figure: Figure) -> Axes:
    return next(ax for ax in figure.axes if ax.get_label() == "map")


def bar_axes(figure: Figure) -> Axes:
    return next(ax for ax in figure.axes if ax.get_label() == "colour bar")


def contours(figure: Figure, label: str) -> QuadContourSet | None:
    found = [c for c in map_axes(figure).collections if c.get_label() == label]
    assert len(found) <= 1
    only = found[0] if found else None
    assert only is None or isinstance(only, QuadContourSet)
    return only


def marks(figure: Figure, label: str) -> Line2D:
    return next(ln for ln in map_axes(figure).lines if ln.get_label() == label)


def places(line: Line2D) -> list[tuple[float, float]]:
    return [(a, c) for a, c in np.asarray(line.get_xydata()).tolist()]


def labels_on_map(figure: Figure) -> dict[str, Annotation]:
    return {
        text.get_text(): text
        for text in map_axes(figure).texts
        if isinstance(text, Annotation) and text.get_text()[:1] in "HL"
    }


def words(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.texts]


def key(figure: Figure) -> list[str]:
    return [text.get_text() for text in figure.legends[0].get_texts()]


def said(figure: Figure) -> list[Text]:
    found = figure.findobj(lambda a: isinstance(a, Text) and a.get_visible())
    return [t for t in found if isinstance(t, Text) and t.get_text().strip()]


# --- the frame


@pytest.mark.parametrize(
    ("name", "length", "width", "around"),
    [
        ("plain", 250, 60, ("toe", "heel", "left edge", "right edge")),
        ("small", 150, 40, ("toe", "heel", "left edge", "right edge")),
        ("long", 600, 76, ("toe", "heel", "left edge", "right edge")),
        ("side", 250, 50, ("toe", "heel", "top edge", "sole edge")),
        ("lap", 300, 200, ("left end", "right end", "near edge", "far edge")),
    ],
)
def test_toe_is_left_and_across_0_at_the_bottom_in_true_proportion(
    solved: Callable[[str], Answer],
    name: str,
    length: float,
    width: float,
    around: tuple[str, str, str, str],
) -> None:
    first, last, low, high = around
    figure = face_map(solved(name))
    ax = map_axes(figure)
    assert ax.get_xlim() == (0, length)
    assert ax.get_ylim() == (0, width)
    box, page = ax.get_position(), figure.get_size_inches()
    wide, tall = box.width * page[0], box.height * page[1]
    assert wide / tall == pytest.approx(length / width)
    assert ax.get_ylabel() == first
    assert ax.get_xlabel() == f"{low}, mm from the {first}"
    assert ax.get_title() == high
    at_end = next(t for t in ax.texts if t.get_text() == last)
    assert isinstance(at_end, Annotation)
    assert at_end.xy == (1, 0.5)


def test_mouth_and_holes_are_cut_out(solved: Callable[[str], Answer]) -> None:
    patches = map_axes(face_map(solved("plain"))).patches
    by_label = {p.get_label(): p for p in patches if isinstance(p, Rectangle)}
    assert by_label["outline"].get_bbox().bounds == (0, 0, 250, 60)
    assert by_label["mouth"].get_bbox().bounds == (80, 6, 6, 48)
    assert mpl.colors.to_hex(by_label["mouth"].get_facecolor()) == "#ffffff"
    holes = [p for p in patches if isinstance(p, Circle)]
    assert [(h.center, h.radius) for h in holes] == [((40, 12), 2), ((40, 48), 2)]
    assert by_label["mouth"].get_zorder() > by_label["outline"].get_zorder()


def test_a_mouth_that_reaches_the_edges_opens_the_outline(
    solved: Callable[[str], Answer],
) -> None:
    ax = map_axes(face_map(solved("open mouth")))
    cut = next(p for p in ax.patches if p.get_label() == "mouth")
    assert isinstance(cut, Rectangle)
    assert cut.get_bbox().y0 < 0
    assert cut.get_bbox().y1 > 60
    rims = [ln for ln in ax.lines if ln.get_label() == "_rim"]
    assert [places(ln) for ln in rims] == [
        [(80, 0), (80, 60)],
        [(86, 0), (86, 60)],
    ]


# --- heights and colours


UNSEEN = ("three", "two rows")
"""Faces of which some bow is not seen, so that any height of the map may be so."""


@pytest.mark.parametrize("name", [name for name in CASES if name not in UNSEEN])
def test_colours_and_levels_are_symmetric_about_0(
    solved: Callable[[str], Answer], name: str
) -> None:
    figure = face_map(solved(name))
    bands = contours(figure, "heights")
    assert bands is not None
    low, high = bands.get_clim()
    assert low is not None
    assert high == -low
    levels = np.asarray(bands.levels)
    np.testing.assert_allclose(levels, -levels[::-1], atol=1e-12)
    assert 4 <= levels.size - 1 <= 12
    assert bands.get_cmap().name == "RdBu_r"
    assert bar_axes(figure).get_xlim() == (levels[0], levels[-1])


@pytest.mark.parametrize("name", UNSEEN)
def test_no_height_is_drawn_while_a_shape_is_unseen(
    solved: Callable[[str], Answer], name: str
) -> None:
    found = solved(name)
    assert "across-bow" in found.unseen
    figure = face_map(found)
    assert contours(figure, "heights") is None
    assert contours(figure, "blank") is not None
    assert any("cannot show" in text and "across-bow" in text for text in words(figure))


def test_red_is_proud_and_blue_is_hollow(solved: Callable[[str], Answer]) -> None:
    bands = contours(face_map(solved("plain")), "heights")
    assert bands is not None
    low, high = bands.to_rgba(np.array([-40.0, 40.0]))
    assert low[2] > low[0]
    assert high[0] > high[2]


def test_the_map_is_the_mean_surface_about_its_best_fit_plane(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("plain")
    plan = plan_map(found)
    along, across = found.surface.grid.along_axis_mm, found.surface.grid.across_axis_mm
    mean = found.surface.mean_um
    plane = np.column_stack(
        [np.ones(mean.size), found.surface.along_mm, found.surface.across_mm]
    )
    expected = mean - plane @ np.linalg.lstsq(plane, mean, rcond=None)[0]
    laid = found.surface.grid.spread(expected[found.surface.places :])
    drawn = plan.height_um[
        np.ix_(
            [int(np.abs(plan.along_mm - a).argmin()) for a in along],
            [int(np.abs(plan.across_mm - c).argmin()) for c in across],
        )
    ]
    metal = ~np.isnan(laid)
    np.testing.assert_allclose(drawn[metal], laid[metal], atol=0.02)
    # Toe-left and heel-right stand proud on this face, and the other two low.
    assert drawn[0, 0] > 0 > drawn[0, -1]
    assert drawn[-1, -1] > 0 > drawn[-1, 0]


def test_colour_never_runs_past_the_heights(solved: Callable[[str], Answer]) -> None:
    found = solved("wild")
    plan = plan_map(found)
    assert np.abs(plan.height_um).max() <= plan.levels_um[-1]


def test_noise_alone_stays_pale(solved: Callable[[str], Answer]) -> None:
    found = solved("level")
    plan = plan_map(found)
    assert plan.levels_um[-1] >= found.floor.clear_um / 2
    assert not plan.lines_um.size  # rounding errors make no islands
    assert contours(face_map(found), "level lines") is None


def test_hollow_lines_are_dashed_for_prints_without_colour(
    solved: Callable[[str], Answer],
) -> None:
    lines = contours(face_map(solved("plain")), "level lines")
    assert lines is not None
    solid = [str(style).endswith("None)") for style in lines.get_linestyle()]
    assert solid == [level >= 0 for level in lines.levels]


def test_the_bar_reads_micrometres_below_and_thou_above(
    solved: Callable[[str], Answer],
) -> None:
    figure = face_map(solved("plain"))
    bar = bar_axes(figure)
    (above,) = bar.child_axes
    figure.draw_without_rendering()
    np.testing.assert_allclose(
        np.array(bar.get_xlim()) / 25.4, above.get_xlim(), rtol=1e-12
    )
    assert {t.get_text() for t in bar.texts} >= {"µm", "thou"}
    assert "best-fit plane" in bar.get_xlabel()


# --- what was not seen


def test_the_middle_stays_blank_where_only_leaves_were_used(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("feeler")
    figure, plan = face_map(found), plan_map(found)
    middle = (plan.along_mm.size // 2, plan.across_mm.size // 2)
    assert plan.near[middle] == 0
    assert np.isnan(plan.height_um[middle])
    assert np.isfinite(plan.height_um[0, 0])
    blank = contours(figure, "blank")
    assert blank is not None
    assert blank.hatches == ["////"]
    assert "not seen" in key(figure)


def test_a_face_read_all_over_has_no_blank(solved: Callable[[str], Answer]) -> None:
    figure = face_map(solved("plain"))
    assert contours(figure, "blank") is None
    assert key(figure) == ["reading", "touching place", "rocks over this line"]


def test_unseen_shapes_are_said_beside_the_map(
    solved: Callable[[str], Answer],
) -> None:
    lines = words(face_map(solved("three")))
    assert lines[0].startswith("Cannot tell: at least 0 µm, upper limit not known")
    assert "Twist not measured" in lines
    assert "Bow along: not measured; across: not measured" in lines
    assert "The map cannot show along-bow, across-bow, twist: not seen." in lines
    two = words(face_map(solved("two rows")))
    assert "The map cannot show across-bow: not seen." in two


def test_a_face_with_nothing_near_a_grid_place_is_all_blank(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("plain")
    along = found.surface.along_mm.copy()
    along[: found.surface.places] = 1e6
    away = replace(found.surface, along_mm=along)
    figure = face_map(replace(found, surface=away))
    assert contours(figure, "heights") is None
    assert contours(figure, "blank") is not None


@pytest.mark.parametrize("name", ["plain", "lap", "wild"])
def test_the_relief_is_drawn_to_scale_but_for_its_heights(
    solved: Callable[[str], Answer], name: str
) -> None:
    found = solved(name)
    figure = face_map(found)
    ax = named(figure, "relief")
    (told,) = [text for text in words(figure) if text.startswith("Relief: heights")]
    times = float(told.split()[2])
    (plane,) = [line for line in ax.lines if line.get_label() == "best-fit plane"]
    length, width = found.face.length_mm, found.face.width_mm
    np.testing.assert_allclose(
        plane.get_xydata(),
        [
            (0, 0),
            (length, 0),
            (length + 0.35 * width, 0.5 * width),
            (0.35 * width, 0.5 * width),
            (0, 0),
        ],
    )
    # The near rim stands over the left edge by so many times its heights.
    rims = [line for line in ax.lines if line.get_label() == "rim"]
    plan = plan_map(found)
    (near,) = [
        np.asarray(line.get_xydata())
        for line in rims
        if np.ptp(np.asarray(line.get_xdata())) == length
        and np.asarray(line.get_xdata())[0] == 0
    ]
    drawn = np.interp(near[:, 0], plan.along_mm, plan.height_um[:, 0])
    np.testing.assert_allclose(near[:, 1], times * drawn / 1000, atol=1e-6)
    box, (low, high), (start, stop) = (
        ax.get_window_extent(),
        ax.get_ylim(),
        ax.get_xlim(),
    )
    assert box.height / (high - low) == pytest.approx(box.width / (stop - start))
    assert low <= min(0, times * float(np.nanmin(plan.height_um)) / 1000)


def test_scattered_pieces_make_no_relief(solved: Callable[[str], Answer]) -> None:
    for name in ("feeler", "three"):
        labels = [ax.get_label() for ax in face_map(solved(name)).axes]
        assert "relief" not in labels


def test_the_line_it_rocks_over_joins_two_touching_places(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("small")
    figure = face_map(found)
    line = marks(figure, "rocks over this line")
    assert set(places(line)) <= set(found.touches_mm)
    assert len(places(line)) == 2
    assert not places(marks(face_map(solved("level")), "rocks over this line"))


# --- marks and words


def test_readings_and_touching_places_are_where_they_were(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("plain")
    figure = face_map(found)
    dots = marks(figure, "reading")
    rows = [r for r in found.sets[0].readings if isinstance(r, DialReading)]
    assert set(places(dots)) == {(r.along_mm, r.across_mm) for r in rows}
    touch = marks(figure, "touching place")
    assert tuple(places(touch)) == found.touches_mm


def test_many_readings_get_smaller_dots(solved: Callable[[str], Answer]) -> None:
    few, many = (
        marks(face_map(solved(name)), "reading").get_markersize()
        for name in ("plain", "many")
    )
    assert many < few


def test_a_level_face_is_not_buried_under_touching_places(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("level")
    assert len(found.touches_mm) > MOST_TOUCHES
    figure = face_map(found)
    assert not places(marks(figure, "touching place"))
    assert key(figure) == ["reading"]


def test_spots_are_numbered_on_the_map_and_listed_below(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("wild")
    figure = face_map(found)
    on_map, lines = labels_on_map(figure), words(figure)
    spots = [*found.high_spots, *found.low_spots]
    assert len(on_map) == len(spots) > 4
    for name, spot in zip(on_map, spots, strict=True):
        assert on_map[name].xy == (spot.along_mm, spot.across_mm)
        assert name.startswith("H" if spot.height_um > 0 else "L")
        assert name.endswith("?") is not spot.sure
        (line,) = [text for text in lines if text.startswith(f"{name}  ")]
        assert line.endswith(", doubtful") is not spot.sure
        assert (" +" if spot.height_um > 0 else " −") in line


def test_title_gives_verdict_number_and_target_then_twist_and_bows(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("plain")
    lines = words(face_map(found))
    low, high = found.likely.interval_um
    assert high is not None
    assert lines[0] == (
        f"Not flat: likely {found.likely.likely_um:.0f} µm ({low:.0f} to {high:.0f}); "
        "target 80 µm"
    )
    assert lines[1].startswith("Twist 1")
    assert lines[1].endswith("µm: toe-left and heel-right high")
    assert lines[2].startswith("Bow along: crown ")
    assert lines[2].endswith(": none clear")
    assert lines[3].startswith("Sole 250 × 60 mm, 18 places read")


@pytest.mark.parametrize("name", list(CASES))
def test_nothing_is_cut_off_and_no_words_collide(
    solved: Callable[[str], Answer], name: str
) -> None:
    figure = face_map(solved(name))
    figure.draw_without_rendering()
    page = figure.bbox
    # Of a label on the map the words alone, not its line to the spot.
    boxes = [(t.get_text(), Text.get_window_extent(t)) for t in said(figure)]
    for text, box in boxes:
        assert page.x0 <= box.x0, text
        assert box.x1 <= page.x1, text
        assert page.y0 <= box.y0, text
        assert box.y1 <= page.y1, text
    for (one, first), (other, second) in combinations(boxes, 2):
        assert not first.overlaps(second), (one, other)


def test_words_stay_readable_on_a_phone(solved: Callable[[str], Answer]) -> None:
    figure = face_map(solved("wild"))
    phone_px = 390
    px_per_pt = phone_px / (figure.get_figwidth() * 72)
    assert min(float(t.get_fontsize()) for t in said(figure)) * px_per_pt >= 9


def test_crowded_labels_keep_off_each_other_and_on_the_face() -> None:
    spots = [(20.0, 20.0), (24.0, 22.0), (28.0, 20.0), (300.0, 60.0), (1.0, 1.0)]
    placed = place_badges(spots, [(40.0, 20.0)], (300.0, 60.0))
    wide, tall = BADGE_PT
    for one, other in combinations(placed, 2):
        assert abs(one[0] - other[0]) > wide or abs(one[1] - other[1]) > tall
    for x, y in placed:
        assert wide / 2 <= x <= 300 - wide / 2
        assert tall / 2 <= y <= 60 - tall / 2
    assert placed == place_badges(spots, [(40.0, 20.0)], (300.0, 60.0))


def test_who_reads_in_thou_is_told_in_thou() -> None:
    found = solve("thou")
    figure = face_map(found)
    lines = words(figure)
    assert "target 3 thou" in " ".join(lines[:2])
    assert not any("µm" in line for line in lines)
    assert {text.get_text() for text in bar_axes(figure).texts} >= {"µm", "thou"}
    again = sections(found)
    assert "room of 3 thou" in said_in(again)
    assert plain_map(found, BLOCKS, 80)[-1].endswith(" thou")


# --- files


@pytest.mark.parametrize(
    ("name", "start"),
    [
        ("map.png", b"\x89PNG"),
        ("map.svg", b"<?xml"),
        ("map.pdf", b"%PDF"),
        ("MAP.PNG", b"\x89PNG"),
    ],
)
def test_the_same_answer_gives_the_same_bytes(
    solved: Callable[[str], Answer], tmp_path: Path, name: str, start: bytes
) -> None:
    first, again = tmp_path / name, tmp_path / f"again_{name}"
    save_face_map(solved("feeler"), first)
    save_face_map(solved("feeler"), again)
    assert first.read_bytes() == again.read_bytes()
    assert first.read_bytes().startswith(start)
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([name, again.name])


def test_own_settings_change_nothing(
    solved: Callable[[str], Answer], tmp_path: Path
) -> None:
    first, again = tmp_path / "a.png", tmp_path / "b.png"
    save_face_map(solved("plain"), first)
    with mpl.rc_context({"font.size": 30, "axes.facecolor": "green"}):
        save_face_map(solved("plain"), again)
        assert mpl.rcParams["font.size"] == 30
    assert first.read_bytes() == again.read_bytes()


def test_an_old_picture_is_replaced_and_a_link_stays_a_link(
    solved: Callable[[str], Answer], tmp_path: Path
) -> None:
    real, link = tmp_path / "real.svg", tmp_path / "link.svg"
    real.write_bytes(b"old")
    link.symlink_to(real)
    save_face_map(solved("plain"), link)
    assert link.is_symlink()
    assert real.read_bytes().startswith(b"<?xml")


@pytest.mark.parametrize("name", ["map.jpg", "map", "map.png.txt", ".png"])
def test_other_kinds_of_file_are_refused(
    solved: Callable[[str], Answer], tmp_path: Path, name: str
) -> None:
    with pytest.raises(BadInput, match=r"the name must end in \.png, \.svg or \.pdf"):
        save_face_map(solved("plain"), tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_a_missing_folder_is_refused(
    solved: Callable[[str], Answer], tmp_path: Path
) -> None:
    with pytest.raises(BadInput, match=r"there is no folder .*nowhere; make it first"):
        save_face_map(solved("plain"), tmp_path / "nowhere" / "map.png")


def test_a_folder_is_refused(solved: Callable[[str], Answer], tmp_path: Path) -> None:
    (tmp_path / "map.png").mkdir()
    with pytest.raises(BadInput, match="is a folder"):
        save_face_map(solved("plain"), tmp_path / "map.png")


def test_a_name_that_cannot_be_written_is_refused(
    solved: Callable[[str], Answer], tmp_path: Path
) -> None:
    with pytest.raises(BadInput, match="cannot be written: File name too long"):
        save_face_map(solved("plain"), tmp_path / f"{'m' * 300}.png")


def test_a_protected_picture_is_kept(
    solved: Callable[[str], Answer], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "map.png"
    kept.write_bytes(b"kept")
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(BadInput, match="cannot be written: Permission denied"):
        save_face_map(solved("plain"), kept)
    assert kept.read_bytes() == b"kept"


def test_a_full_disk_leaves_the_old_picture_and_nothing_else(
    solved: Callable[[str], Answer], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = tmp_path / "map.png"
    kept.write_bytes(b"kept")

    def full(self: Path, content: bytes) -> int:
        self.touch()
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(BadInput, match="cannot be written: No space left"):
        save_face_map(solved("plain"), kept)
    assert kept.read_bytes() == b"kept"
    assert list(tmp_path.iterdir()) == [kept]


def test_check_draws_the_picture_it_is_asked_for(tmp_path: Path) -> None:
    readings, picture = tmp_path / "face.csv", tmp_path / "face.png"
    readings.write_text(CASES["plain"], encoding="utf-8")
    check_files([readings], None, None, picture=picture)
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_pyplot_is_never_loaded(tmp_path: Path, warned: list[str]) -> None:
    readings = tmp_path / "face.csv"
    readings.write_text(CASES["small"], encoding="utf-8")
    code = (
        "import sys; from pathlib import Path; "
        "from lapping.cli.check import check_files; "
        "check_files([Path(sys.argv[1])], None, None); "
        "assert 'matplotlib' not in sys.modules; "
        "check_files([Path(sys.argv[1])], None, None, picture=Path(sys.argv[2])); "
        "assert 'matplotlib.pyplot' not in sys.modules"
    )
    subprocess.run(
        [sys.executable, *warned, "-c", code, readings, tmp_path / "face.pdf"],
        check=True,
        timeout=120,
    )
