"""Cross-sections: what they cut, in which scale, with which doubt and words."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from lapping.answer import Answer
from lapping.pictures.cuts import cuts
from lapping.pictures.frame import plain_style
from lapping.pictures.sections import sections
from tests.drawn import is_whole_and_legible, named, said
from tests.made_dial_files import solve

ALONG = ("along 0", "along 1", "along 2")
ACROSS = ("across 0", "across 1", "across 2")


@pytest.fixture
def solved() -> Callable[[str], Answer]:
    return solve


def line(ax: Axes, label: str) -> np.ndarray:
    (only,) = [one for one in ax.lines if one.get_label() == label]
    return np.asarray(only.get_xydata(), dtype=np.float64)


def drawn(figure: Figure) -> list[Axes]:
    return [named(figure, name) for name in (*ALONG, *ACROSS, "twist")]


@pytest.mark.parametrize(
    ("name", "along", "across"),
    [
        ("plain", ("right edge", "left edge"), ("toe", "ahead of mouth", "heel")),
        ("side", ("sole edge", "top edge"), ("toe", "middle", "heel")),
        ("lap", ("far edge", "near edge"), ("left end", "middle", "right end")),
    ],
)
def test_edges_and_ends_are_called_as_on_the_map(
    solved: Callable[[str], Answer],
    name: str,
    along: tuple[str, str],
    across: tuple[str, ...],
) -> None:
    found = cuts(solved(name))
    edges = (along[0], "centre", along[1])
    assert tuple(cut.name for cut in found if cut.way == "along") == edges
    assert tuple(cut.name for cut in found if cut.way == "across") == across
    figure = sections(solved(name))
    assert tuple(named(figure, at).texts[0].get_text() for at in ALONG) == edges
    assert tuple(named(figure, at).get_title() for at in ACROSS) == across


def test_cuts_lie_in_their_zones(solved: Callable[[str], Answer]) -> None:
    found = solved("plain")
    zones = {zone.name: zone for zone in found.face.zones()}
    toe, land, heel = (cut.at_mm for cut in cuts(found)[3:])
    for at, name in ((toe, "toe"), (land, "mouth"), (heel, "heel")):
        assert zones[name].holds(at, 30)
    # The land ahead of a mouth at 80 mm is 12 mm long.
    assert land == 74


def test_a_known_surface_is_cut_where_it_is(solved: Callable[[str], Answer]) -> None:
    """45·a·c − 20·a² on coordinates from −1 to +1, less its best-fit plane."""
    found = solved("small")
    for cut in cuts(found):
        a, c = (2 * cut.place_mm / 150 - 1, 2 * cut.at_mm / 40 - 1)
        if cut.way == "across":
            a, c = 2 * cut.at_mm / 150 - 1, 2 * cut.place_mm / 40 - 1
        true = 45 * a * c - 20 * np.asarray(a) ** 2
        off = cut.mean_um - true
        assert np.ptp(off) < 3 * cut.u_um.max()


def test_the_mouth_is_left_open(solved: Callable[[str], Answer]) -> None:
    centre = cuts(solved("plain"))[1]
    inside = (centre.place_mm > 80) & (centre.place_mm < 86)
    assert np.isnan(centre.mean_um[inside]).all()
    assert np.isfinite(centre.mean_um[~inside]).all()


def test_the_lap_touches_the_face_and_nothing_stands_over_it(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("small")
    clear = []
    for cut in cuts(found):
        assert cut.lap_um is not None
        clear.append(float(np.nanmin(cut.lap_um - cut.mean_um)))
    assert min(clear) > -1.0
    # It rests on the corners, which the cuts pass close by.
    assert min(clear) < 12.0


def test_room_hangs_from_the_top_of_the_least_zone(
    solved: Callable[[str], Answer],
) -> None:
    found = solved("side")
    for cut in cuts(found):
        assert np.nanmax(cut.mean_um - cut.top_um) < 0.5
        # 32 µm out, 80 allowed: all of it is inside.
        assert np.nanmin(cut.mean_um - cut.top_um) > -80
    assert "room of 80 µm" in said(sections(found))


def test_one_scale_holds_everything(solved: Callable[[str], Answer]) -> None:
    figure = sections(solved("wild"))
    figure.draw_without_rendering()
    axes = drawn(figure)
    (limits,) = {ax.get_ylim() for ax in axes}
    for ax in axes[:6]:
        for one in ax.lines:
            heights = np.asarray(one.get_ydata(), dtype=np.float64)
            assert np.nanmin(heights, initial=0) >= limits[0]
            assert np.nanmax(heights, initial=0) <= limits[1]
    for ax in axes:
        (thou,) = ax.child_axes
        np.testing.assert_allclose(np.array(limits) / 25.4, thou.get_ylim())


def test_the_exaggeration_is_what_is_drawn(solved: Callable[[str], Answer]) -> None:
    figure = sections(solved("plain"))
    (words,) = [text for text in said(figure) if text.startswith("Heights are drawn")]
    along, across = (float(word) for word in words.split() if word.isdigit())
    for name, told in (("along 1", along), ("across 1", across)):
        ax = named(figure, name)
        box = ax.get_window_extent()
        low, high = ax.get_ylim()
        start, stop = ax.get_xlim()
        per_um, per_mm = box.height / (high - low), box.width / (stop - start)
        assert told == pytest.approx(1000 * per_um / per_mm, rel=0.06)


def test_toe_and_heel_lie_over_each_other(solved: Callable[[str], Answer]) -> None:
    ax = named(sections(solved("plain")), "twist")
    toe, heel = line(ax, "toe"), line(ax, "heel")
    # Toe-left and heel-right stand proud.
    assert toe[0, 1] > toe[-1, 1]
    assert heel[0, 1] < heel[-1, 1]
    styles = [one.get_linestyle() for one in ax.lines]
    assert len(set(styles)) == 2
    assert ax.get_title() == "toe over heel"


def test_what_was_not_seen_is_said(solved: Callable[[str], Answer]) -> None:
    figure = sections(solved("three"))
    assert said(figure).count("not seen") == 6
    assert not [text for text in said(figure) if text.startswith("room")]
    leaves = cuts(solved("feeler"))
    assert not np.isfinite(leaves[1].mean_um).all()


SIZES = ("plain", "small", "long", "many", "wild", "side", "lap", "three", "feeler")


@pytest.mark.parametrize("name", SIZES)
def test_nothing_is_cut_off_and_no_words_collide(
    solved: Callable[[str], Answer], name: str
) -> None:
    with plain_style():
        is_whole_and_legible(sections(solved(name)))
