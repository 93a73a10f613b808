"""Planes, faces, gauges, laps and papers in the log, found by name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace as changed
from pathlib import Path

import pytest

from lapping.errors import BadInput
from lapping.kept import Gauge, Lap, Paper, Plane, Strokes
from lapping.log.attaching import attach
from lapping.log.bench import (
    add_named,
    add_note,
    all_named,
    check_gauge,
    correct_named,
    notes_about,
    strokes_of,
    the_named,
)
from lapping.log.entries import keep
from lapping.log.examine import troubles
from lapping.log.opening import Log
from lapping.log.planes import (
    add_face,
    add_plane,
    correct_plane,
    face_label,
    face_without_a_plane,
    faces,
    find_face,
    make_face,
    planes,
    read_settings,
    the_face,
    the_plane,
)
from lapping.log.sets import readings_of, sets_of
from tests.made_logs import DIAL, SOLE, Clock, bench, bramble, dial_set

HARD_NAMES = [
    'Bramble\'s "best"',
    "No. 4/old",
    "a/b/c",
    "🪵🪚 Teasel",
    "👨‍🔧",
    "קוץ",
    "عُلَّيق \u200f",
    "'; DROP TABLE entry; --",
    "%s {0} \\n",
    "Bramble,Teasel",
    "=1+1",
    "ﬁne",
]


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def log(tmp_path: Path, clock: Clock) -> Iterator[Log]:
    with bench(tmp_path / "log.lapping", clock) as opened:
        yield opened


@pytest.mark.parametrize("name", HARD_NAMES)
def test_any_name_that_can_be_typed_finds_its_plane(log: Log, name: str) -> None:
    name = name.strip()
    face = bramble(log, name)
    assert [one.fact.name for one in planes(log)] == [name]
    assert face_label(log, face) == f"{name}/sole"
    assert the_face(log, f"{name}/sole") == face
    assert the_plane(log, name).fact.name == name


def test_a_face_has_no_slash_and_a_plane_no_twin(log: Log) -> None:
    with pytest.raises(BadInput, match="parts the plane from the face"):
        make_face("left/side", SOLE)
    bramble(log)
    with pytest.raises(BadInput, match="there is a plane 'Bramble' already"):
        add_plane(log, Plane(name="Bramble"))
    with pytest.raises(BadInput, match="there is a face 'sole' already"):
        add_face(log, make_face("sole", SOLE), the_plane(log, "Bramble"))
    assert len(planes(log)) == len(faces(log)) == 1


def test_a_mistyped_name_says_which_may_be_meant(log: Log) -> None:
    with pytest.raises(BadInput, match="no plane 'Bramble', and no other yet"):
        the_plane(log, "Bramble")
    bramble(log)
    with pytest.raises(BadInput, match="did you mean 'Bramble'"):
        the_plane(log, "Brmble")
    with pytest.raises(BadInput, match="did you mean 'Bramble/sole'"):
        the_face(log, "Bramble/soul")
    with pytest.raises(BadInput, match="there is Bramble"):
        the_plane(log, "xyz")


def test_a_renamed_plane_keeps_its_faces(log: Log) -> None:
    face = bramble(log)
    plane = the_plane(log, "Bramble")
    correct_plane(log, plane, changed(plane.fact, name="Thistle"))
    assert find_face(log, "Bramble/sole") is None
    assert the_face(log, "Thistle/sole").root == face.root
    add_plane(log, Plane(name="Bramble"))
    thistle = the_plane(log, "Thistle")
    with pytest.raises(BadInput, match="already"):
        correct_plane(log, thistle, changed(thistle.fact, name="Bramble"))


def test_a_face_read_without_a_plane_is_attached_with_its_readings(log: Log) -> None:
    loose = face_without_a_plane(log, SOLE)
    assert loose.fact.name == "sole-250x60mm"
    assert face_without_a_plane(log, SOLE) == loose
    begun = dial_set(log, loose)
    keep(log, Strokes(face=loose.root, grade="P240", count=10))
    plane = add_plane(log, Plane(name="Bramble"))
    attach(log, loose, plane, "sole")
    face = the_face(log, "Bramble/sole")
    assert [one.root for one in sets_of(log, face)] == [begun.number]
    assert len(strokes_of(log, face.root)) == 1
    assert find_face(log, "sole-250x60mm") is None
    with pytest.raises(BadInput, match="belongs to a plane already"):
        attach(log, face, plane, "other")


def test_a_face_set_up_and_not_used_gives_way_to_one_that_was_read(log: Log) -> None:
    loose = face_without_a_plane(log, SOLE)
    begun = dial_set(log, loose)
    plane = add_plane(log, Plane(name="Bramble"))
    mouth = (*SOLE, ("mouth", "80 mm to 86 mm"))
    set_up = add_face(log, make_face("sole", mouth, target="0.05mm"), plane)
    attach(log, loose, plane, "sole")
    face = the_face(log, "Bramble/sole")
    assert face.root == loose.root != set_up.root
    assert (face.fact.settings, face.fact.target) == (mouth, "0.05mm")
    assert [one.root for one in sets_of(log, face)] == [begun.number]


def test_a_face_in_use_takes_over_what_was_read_on_another(
    log: Log, clock: Clock
) -> None:
    used = add_face(log, make_face("sole", SOLE), add_plane(log, Plane(name="Bramble")))
    keep(log, Strokes(face=used.root, grade="P240", count=10))
    loose = face_without_a_plane(log, SOLE)
    begun = dial_set(log, loose)
    note = add_note(log, loose, "cold in here")
    (before,) = sets_of(log, loose)
    clock.forward(30)
    assert attach(log, loose, the_plane(log, "Bramble"), "sole").root == used.root
    (now,) = sets_of(log, used)
    assert (now.root, now.session, now.entered_at) == (
        begun.number,
        before.session,
        before.entered_at,
    )
    assert [one.root for one in notes_about(log, used.root)] == [note.root]
    assert len(readings_of(log, now.root)) == len(begun.readings()) > 0
    assert find_face(log, "sole-250x60mm") is None
    assert not troubles(log)


def test_a_planes_name_alone_is_its_only_face_or_its_sole(log: Log) -> None:
    sole = bramble(log)
    assert the_face(log, "Bramble").root == sole.root
    plane = the_plane(log, "Bramble")
    add_face(log, make_face("left side", SOLE), plane)
    assert the_face(log, "Bramble").root == sole.root
    other = add_plane(log, Plane(name="Thistle"))
    left = add_face(log, make_face("left side", SOLE), other)
    assert the_face(log, "Thistle").root == left.root
    add_face(log, make_face("right side", SOLE), other)
    with pytest.raises(BadInput, match="say which face of Thistle: Thistle/left side"):
        the_face(log, "Thistle")


def test_a_face_of_another_size_does_not_give_way(log: Log) -> None:
    plane = add_plane(log, Plane(name="Bramble"))
    short = (("face", "sole"), ("length", "165 mm"), ("width", "50 mm"))
    add_face(log, make_face("front", short), plane)
    with pytest.raises(BadInput, match="is 165 × 50 mm, and sole-250x60mm is not"):
        attach(log, face_without_a_plane(log, SOLE), plane, "front")
    assert find_face(log, "Bramble/front") is not None


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ((("face", "sole"), ("length", "250"), ("width", "60mm")), "has no unit"),
        ((("face", "sole"), ("length", "250mm")), "'width' is missing"),
        ((*SOLE, ("mouth", "80 to 90 mm")), "mouth:"),
        ((*SOLE, ("mouth", "300 mm to 310 mm")), "does not fit"),
        ((*SOLE, ("colour", "green")), "'colour' is no header"),
    ],
)
def test_a_face_that_cannot_be_drawn_is_refused(
    settings: tuple[tuple[str, str], ...], said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        make_face("sole", settings)


@pytest.mark.parametrize("flatness_um", [-5.0, 0.0, 30_000.0])
def test_a_lap_is_flat_to_something(flatness_um: float) -> None:
    with pytest.raises(BadInput, match="'flatness_um' must be more than 0"):
        Lap(name="glass", kind="glass", flatness="x", flatness_um=flatness_um)


def test_zones_that_matter_are_zones_of_the_face() -> None:
    mouth = (*SOLE, ("mouth", "80 mm to 86 mm"))
    face = make_face("sole", mouth, zones=("toe", "mouth"), target="0.05mm")
    assert face.zones == ("toe", "mouth")
    assert read_settings(face.settings).mouth is not None
    with pytest.raises(BadInput, match="there is no zone 'mouth'; there is heel"):
        make_face("sole", SOLE, zones=("mouth",))


def test_gauges_laps_and_papers_are_named_once(log: Log) -> None:
    dial = Gauge(name="old dial", method="dial", settings=DIAL)
    table = Lap(name="planer table", kind="machine table", flatness="20 um")
    paper = Paper(name="blue roll", grade="P240")
    for fact in (dial, table, paper):
        entry = add_named(log, fact)
        assert the_named(log, type(fact), fact.name) == entry
        with pytest.raises(BadInput, match="already"):
            add_named(log, fact)
        with pytest.raises(BadInput, match=f"did you mean '{fact.name}'"):
            the_named(log, type(fact), fact.name + "s")
    found = the_named(log, Paper, "blue roll")
    correct_named(log, found, changed(paper, grade="P220", name="blue"))
    assert [one.fact.grade for one in all_named(log, Paper)] == ["P220"]
    add_named(log, paper)
    found = the_named(log, Paper, "blue")
    with pytest.raises(BadInput, match="already"):
        correct_named(log, found, paper)


@pytest.mark.parametrize(
    ("settings", "said"),
    [
        ((("unit", "um"),), "which way the dial counts"),
        ((*DIAL, ("resolution", "ten")), "'ten' is not a number"),
        ((("unit", "parsec"), ("sense", "high-positive")), "'parsec'"),
    ],
)
def test_a_gauge_that_no_set_could_use_is_refused(
    settings: tuple[tuple[str, str], ...], said: str
) -> None:
    check_gauge(Gauge(name="old dial", method="dial", settings=DIAL))
    with pytest.raises(BadInput, match=said):
        check_gauge(Gauge(name="old dial", method="dial", settings=settings))
