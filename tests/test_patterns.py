"""The proposed patterns: on metal, a sensible walk, and nothing left unseen."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from lapping.face import Face, Hole, Mouth
from lapping.methods.take import take_each
from lapping.patterns.lines import pattern_for
from lapping.patterns.walk import Pattern, PlannedPlace
from lapping.readings import (
    DialReading,
    EdgeReading,
    FeelerReading,
    LevelReading,
    Method,
    Readings,
    ReadingSet,
    WindingReading,
)
from lapping.surface.form import unseen_shapes

MOUTH = Mouth(from_mm=80, to_mm=86, left_mm=5, right_mm=55)
FACES = {
    "smoother": Face(length_mm=250, width_mm=60, mouth=MOUTH),
    "block plane": Face(
        length_mm=165, width_mm=50, mouth=Mouth(from_mm=45, to_mm=49, left_mm=4)
    ),
    "jointer": Face(
        length_mm=600, width_mm=75, mouth=Mouth(from_mm=190, to_mm=198, left_mm=8)
    ),
    "wide lap": Face(length_mm=500, width_mm=300, kind="lap"),
    "shoulder plane, open to both sides": Face(
        length_mm=200, width_mm=19, mouth=Mouth(from_mm=60, to_mm=66)
    ),
    "bullnose": Face(
        length_mm=100, width_mm=28, mouth=Mouth(from_mm=9, to_mm=14, left_mm=3)
    ),
    "chisel plane, mouth at the toe": Face(
        length_mm=90, width_mm=40, mouth=Mouth(from_mm=0, to_mm=6)
    ),
    "mouth in the middle": Face(
        length_mm=240, width_mm=60, mouth=Mouth(from_mm=116, to_mm=124)
    ),
    "screw heads where places would be": Face(
        length_mm=250,
        width_mm=60,
        mouth=MOUTH,
        holes=(
            Hole(along_mm=10, across_mm=5, diameter_mm=7),
            Hole(along_mm=126, across_mm=30, diameter_mm=12),
            Hole(along_mm=150, across_mm=5, diameter_mm=9),
            Hole(along_mm=242, across_mm=30, diameter_mm=10),
        ),
    ),
    "side": Face(length_mm=250, width_mm=48, kind="side", left_edge="sole"),
    "tiny": Face(length_mm=20, width_mm=6),
}
METHODS: tuple[Method, ...] = ("dial", "feeler", "straightedge", "level", "winding")
every_face = pytest.mark.parametrize("face", FACES.values(), ids=FACES)


@st.composite
def faces(draw: st.DrawFn) -> Face:
    """Draw an outline, most with a mouth somewhere and a few holes."""
    length = draw(st.floats(60, 700))
    width = draw(st.floats(15, 110))
    mouth = None
    if draw(st.booleans()):
        start = draw(st.floats(0, 0.7)) * length
        stop = start + draw(st.floats(0.005, 0.05)) * length
        side = draw(st.sampled_from([None, 0.08 * width]))
        right = None if side is None else width - side
        mouth = Mouth(from_mm=start, to_mm=stop, left_mm=side, right_mm=right)
    share = st.floats(0, 1)
    holes = tuple(
        Hole(along_mm=a * length, across_mm=c * width, diameter_mm=d * width)
        for a, c, d in draw(
            st.lists(st.tuples(share, share, st.floats(0.02, 0.15)), max_size=4)
        )
    )
    return Face(length_mm=length, width_mm=width, mouth=mouth, holes=holes)


def spots(pattern: Pattern) -> list[tuple[float, float]]:
    """Give every place on which something stands, both feet of a level apart."""
    found = []
    for one in pattern:
        if one.across_mm is not None:
            found.append((one.along_mm, one.across_mm))
        if one.to_along_mm is not None and one.to_across_mm is not None:
            found.append((one.to_along_mm, one.to_across_mm))
    return found


def read(face: Face, method: Method, pattern: Pattern) -> ReadingSet:
    """Make readings of nothing but zeros (or one leaf) at every planned place."""
    rows = [_reading(method, one, i) for i, one in enumerate(pattern, start=1)]
    return ReadingSet(
        source="made up",
        method=method,
        face=face,
        unit="um",
        readings=tuple(rows),
        step_um=1.0,
        sense="high-positive",
        datum="gravity",
    )


def _reading(method: Method, one: PlannedPlace, line: int) -> Readings:
    across = 0.0 if one.across_mm is None else one.across_mm
    place = {"along_mm": one.along_mm, "across_mm": across}
    leaf = {"goes_um": 20.0, "stops_um": 30.0, "goes_leaves": 1, "stops_leaves": 1}
    typed = {"entered_as": "0", "line": line}
    match method:
        case "dial":
            return DialReading(**place, value_um=0.0, **typed)
        case "feeler":
            return FeelerReading(**place, **leaf, seat="1", **typed)
        case "straightedge":
            name = {"line_name": one.line, "gap_um": None, "seat": "1"}
            return EdgeReading(**place, **leaf, **name, **typed)
        case "level":
            return LevelReading(
                line_name=one.line,
                along_1_mm=one.along_mm,
                across_1_mm=across,
                along_2_mm=one.to_along_mm,
                across_2_mm=one.to_across_mm,
                slope_um_per_m=0.0,
                **typed,
            )
        case _:
            return WindingReading(
                along_1_mm=one.along_mm,
                along_2_mm=one.to_along_mm,
                stick_mm=300.0,
                gap_um=0.0,
                high="none",
                **typed,
            )


def unseen(face: Face, method: Method) -> tuple[str, ...]:
    """Say what the pattern leaves unseen, by the means the answer itself uses."""
    (taken,) = take_each([read(face, method, pattern_for(face, method))])
    return unseen_shapes(face, taken.observations)


@every_face
@pytest.mark.parametrize("method", ["dial", "feeler", "straightedge", "level"])
def test_a_pattern_of_heights_sees_both_bows_and_twist(
    face: Face, method: Method
) -> None:
    assert unseen(face, method) == ()


@every_face
def test_sticks_see_twist(face: Face) -> None:
    assert unseen(face, "winding") == ("along-bow", "across-bow")


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(face=faces(), method=st.sampled_from(["dial", "feeler", "straightedge"]))
def test_every_outline_is_seen_whole_and_read_on_metal(
    face: Face, method: Method
) -> None:
    pattern = pattern_for(face, method)
    assert all(face.is_metal(*spot) for spot in spots(pattern))
    assert unseen(face, method) == ()


@every_face
@pytest.mark.parametrize("method", METHODS)
def test_no_place_is_planned_twice_but_the_first(face: Face, method: Method) -> None:
    pattern = pattern_for(face, method)
    once = [
        (one.line, one.along_mm, one.across_mm, one.to_along_mm, one.to_across_mm)
        for one in pattern
        if not one.again
    ]
    assert len(once) == len(set(once))
    again = [one for one in pattern if one.again]
    assert len(again) == (1 if method == "dial" else 0)


def test_a_dial_walks_to_and_fro_and_ends_where_it_began() -> None:
    pattern = pattern_for(FACES["smoother"], "dial")
    assert [one.words for one in pattern[:6]] == [
        "toe-left corner",
        "toe, centre",
        "toe-right corner",
        "behind the toe, right edge",
        "behind the toe, centre",
        "behind the toe, left edge",
    ]
    assert pattern[-1].words == "toe-left corner, once more"
    first, last = pattern[0], pattern[-1]
    assert (last.along_mm, last.across_mm) == (first.along_mm, first.across_mm)
    assert len(pattern) == 22


@every_face
def test_a_dial_reads_both_edges_and_the_centre_wherever_it_reads(face: Face) -> None:
    if face.holes:
        # A place moved off a screw head leaves its row; the outline is what counts.
        face = Face(length_mm=face.length_mm, width_mm=face.width_mm, mouth=face.mouth)
    rows: dict[float, set[str]] = {}
    for one in pattern_for(face, "dial"):
        assert one.across_mm is not None
        share = one.across_mm / face.width_mm
        side = "left" if share < 1 / 3 else "right" if share > 2 / 3 else "centre"
        rows.setdefault(round(one.along_mm / face.length_mm, 1), set()).add(side)
    assert all(sides == {"left", "centre", "right"} for sides in rows.values())


@pytest.mark.parametrize("method", ["dial", "feeler", "straightedge"])
@pytest.mark.parametrize("name", ["smoother", "block plane", "jointer"])
def test_the_land_and_the_metal_behind_the_mouth_are_read(
    name: str, method: Method
) -> None:
    words = {one.words for one in pattern_for(FACES[name], method)}
    assert "ahead of the mouth, centre" in words
    assert "behind the mouth, centre" in words


@every_face
def test_leaves_are_read_where_they_bound_the_metal(face: Face) -> None:
    if face.holes:
        face = Face(length_mm=face.length_mm, width_mm=face.width_mm, mouth=face.mouth)
    for one in pattern_for(face, "feeler"):
        assert one.across_mm is not None
        assert face.at_rim(one.along_mm, one.across_mm), one


def test_the_edge_is_laid_on_eight_lines_that_share_stations() -> None:
    pattern = pattern_for(FACES["smoother"], "straightedge")
    assert list(dict.fromkeys(one.line for one in pattern)) == [
        "left edge",
        "centre",
        "right edge",
        "across the toe",
        "across middle",
        "across the heel",
        "toe-left to heel-right",
        "toe-right to heel-left",
    ]
    lines: dict[str, set[tuple[float, float | None]]] = {}
    for one in pattern:
        lines.setdefault(one.line, set()).add((one.along_mm, one.across_mm))
    for name, places in lines.items():
        others = set().union(*(lines[other] for other in lines if other != name))
        assert len(places & others) >= 2, name


def test_a_level_is_stepped_by_the_span_of_its_feet() -> None:
    pattern = pattern_for(FACES["smoother"], "level", base_mm=60.0)
    along = [one for one in pattern if one.line == "left edge"]
    assert len(along) == 3
    for one in along:
        assert one.to_along_mm is not None
        assert one.to_along_mm - one.along_mm == pytest.approx(60, abs=0.2)


def test_a_square_is_held_at_places_along_the_side() -> None:
    pattern = pattern_for(FACES["side"], "square")
    assert [one.words for one in pattern] == [
        "toe",
        "middle",
        "middle",
        "middle",
        "heel",
    ]


def test_a_pattern_that_kept_off_nothing_would_be_found_out() -> None:
    face = FACES["screw heads where places would be"]
    bare = Face(length_mm=250, width_mm=60, mouth=MOUTH)
    on_bare = spots(pattern_for(bare, "dial"))
    assert not all(face.is_metal(*spot) for spot in on_bare)


def test_no_line_of_an_edge_has_one_station_only() -> None:
    face = Face(
        length_mm=250,
        width_mm=60,
        holes=tuple(
            Hole(along_mm=8, across_mm=across, diameter_mm=24) for across in (8, 32)
        ),
    )
    lines: dict[str, int] = {}
    for one in pattern_for(face, "straightedge"):
        lines[one.line] = lines.get(one.line, 0) + 1
    assert "across the toe" not in lines
    assert min(lines.values()) >= 2


@pytest.mark.parametrize("method", ["dial", "feeler", "straightedge", "level"])
def test_where_there_is_no_metal_nothing_is_planned(method: Method) -> None:
    face = Face(
        length_mm=50,
        width_mm=50,
        holes=(Hole(along_mm=25, across_mm=25, diameter_mm=80),),
    )
    assert pattern_for(face, method) == ()
