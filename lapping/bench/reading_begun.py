"""What has to be known before the first reading: face, gauge, and the set left open.

Nothing here asks: what is not known is said to be so, and whoever reads asks for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import Entry, Gauge, PlaneFace
from lapping.log.bench import add_named, all_named, strokes_of, the_named
from lapping.log.entering import OpenSet, start_set, take_up
from lapping.log.entries import now_holding
from lapping.log.opening import Log
from lapping.log.planes import (
    FaceEntry,
    correct_face,
    face_label,
    face_without_a_plane,
    read_settings,
    the_face,
)
from lapping.log.sets import SetEntry, open_sets, readings_of, sets_of
from lapping.prompt.cells import columns_of, where_cells
from lapping.prompt.gauge import WORD_OF, Settings
from lapping.readings import Method
from lapping.units import parse_length_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What was said of what is to be read; None where it is to be found out."""

    face: str | None = None
    length: str | None = None
    width: str | None = None
    mouth: str | None = None
    kind: str = "sole"
    gauge: str | None = None
    method: Method | None = None
    stick: str | None = None
    base: str | None = None
    turned: bool = False
    new: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Before:
    """What is there to go on with: a set left open, or only the face to begin one.

    ``said`` tells what was set aside, and why.
    """

    open_set: OpenSet | None
    face: FaceEntry | None
    said: tuple[str, ...]


def left_from_before(log: Log, wanted: Wanted) -> Before:
    """Find the set to go on with; one that is out of date is set aside and kept."""
    face = the_face_wanted(log, wanted)
    if face is not None:
        _can_be_read(read_settings(face.fact.settings), wanted)
    said: list[str] = []
    for one in left_open(log, face, wanted):
        if not (wanted.new or lapped_since(log, one)):
            return Before(open_set=take_up(log, one.root), face=face, said=tuple(said))
        # What was read before those strokes is another face than the one there now.
        take_up(log, one.root).set_aside()
        why = "--new" if wanted.new else "strokes were made since"
        said.append(f"Set {one.root} was left open; it is set aside and kept ({why}).")
        face = face or now_holding(log, PlaneFace, one.fact.face)
    return Before(open_set=None, face=face, said=tuple(said))


def known_gauges(log: Log, face: FaceEntry, wanted: Wanted) -> list[Entry[Gauge]]:
    """Give the gauges that fit, the one used last on this face at the end."""
    if wanted.gauge is not None:
        return [the_named(log, Gauge, wanted.gauge)]
    known = [
        one for one in all_named(log, Gauge) if wanted.method in (None, one.fact.method)
    ]
    used = [one.fact.gauge for one in sets_of(log, face)]
    return sorted(known, key=lambda one: _last_use(used, one.root))


def _last_use(used: Sequence[int | None], number: int) -> int:
    return max((i for i, one in enumerate(used) if one == number), default=-1)


def keep_gauge(log: Log, method: Method, settings: Settings) -> Entry[Gauge]:
    """Keep a gauge under the word for its kind, numbered if that is taken."""
    taken = {one.fact.name for one in all_named(log, Gauge)}
    name, number = WORD_OF[method], 2
    while name in taken:
        name, number = f"{WORD_OF[method]} {number}", number + 1
    return add_named(log, Gauge(name=name, method=method, settings=settings))


def stick_before(log: Log, face: FaceEntry, gauge: Entry[Gauge]) -> str | None:
    """Give the length of the sticks that was said last time on this face."""
    for one in reversed(sets_of(log, face)):
        if one.fact.gauge == gauge.root and one.fact.places:
            return one.fact.places[0][-1]
    return None


def second_round(log: Log, first: OpenSet) -> OpenSet | None:
    """Begin the same set again with the edge turned end for end."""
    fact = first.entry.fact
    face = now_holding(log, PlaneFace, fact.face)
    gauge = None if fact.gauge is None else now_holding(log, Gauge, fact.gauge)
    if face is None:
        return None
    return start_set(
        log,
        face,
        fact.method,
        fact.columns,
        gauge=gauge,
        headers=(("turned", "half"),),
        places=fact.places,
    )


def begin_set(
    log: Log, face: FaceEntry, gauge: Entry[Gauge], wanted: Wanted, stick: str
) -> OpenSet:
    """Begin a set; ``stick`` is the length of winding sticks, empty for the rest."""
    # Most sessions go on with a set and its gauge, and need neither of these two.
    from lapping.patterns.lines import pattern_for

    method = gauge.fact.method
    drawn = read_settings(face.fact.settings)
    base_mm = _can_be_read(drawn, replace(wanted, method=method))
    plan = pattern_for(drawn, method, base_mm=base_mm)
    if not plan:
        message = (
            f"{face_label(log, face)} has no place to put the gauge on; is its mouth "
            "as it should be?"
        )
        raise BadInput(message)
    columns = columns_of(method, leaves="leaves" in dict(gauge.fact.settings))
    return start_set(
        log,
        face,
        method,
        columns,
        gauge=gauge,
        headers=(("turned", "half"),) if wanted.turned else (),
        places=[where_cells(method, place, stick) for place in plan],
    )


def _can_be_read(face: Face, wanted: Wanted) -> float | None:
    """Refuse what cannot be read before anything is asked; give the level's span."""
    if wanted.method == "square" and face.kind != "side":
        message = "a square is held against a side; this face is none"
        raise BadInput(message)
    if wanted.base is None:
        return None
    base_mm = parse_length_mm(wanted.base)
    if not 0 < 2 * base_mm <= face.length_mm:
        message = (
            f"a level with its feet {wanted.base} apart cannot be stepped along a face "
            f"{face.length_mm:g} mm long: at least two steps must fit"
        )
        raise BadInput(message)
    return base_mm


def the_face_wanted(log: Log, wanted: Wanted) -> FaceEntry | None:
    """Give the face that was named or whose sizes were said, None if neither."""
    sizes = (wanted.length, wanted.width)
    if wanted.face is not None:
        if any(sizes) or wanted.mouth is not None:
            message = (
                f"{wanted.face} has its size in the log; leave --length, --width and "
                "--mouth out, or correct them there"
            )
            raise BadInput(message)
        return the_face(log, wanted.face)
    if not any(sizes):
        return None
    if wanted.length is None or wanted.width is None:
        message = "give both --length and --width of the face"
        raise BadInput(message)
    settings = [("face", wanted.kind), ("length", wanted.length)]
    settings.append(("width", wanted.width))
    if wanted.mouth is not None:
        settings.append(("mouth", wanted.mouth))
    face = face_without_a_plane(log, tuple(settings))
    known_mouth = read_settings(face.fact.settings).mouth
    if wanted.mouth is None or known_mouth == read_settings(tuple(settings)).mouth:
        return face
    if known_mouth is not None:
        message = (
            f"{face_label(log, face)} is in the log with its mouth from "
            f"{known_mouth.from_mm:g} to {known_mouth.to_mm:g} mm; leave --mouth out "
            "if it is that face, or set up a plane for the other one"
        )
        raise BadInput(message)
    # The same outline was read before its mouth was measured.
    known = (*face.fact.settings, ("mouth", wanted.mouth))
    return correct_face(log, face, replace(face.fact, settings=known))


def left_open(log: Log, face: FaceEntry | None, wanted: Wanted) -> list[SetEntry]:
    """Give the sets left open that fit, the newest first.

    A set from a file plans no places, so there is nothing to go on to.
    """
    gauge = None if wanted.gauge is None else the_named(log, Gauge, wanted.gauge).root
    return [
        one
        for one in open_sets(log, face)
        if one.fact.places
        and wanted.method in (None, one.fact.method)
        and gauge in (None, one.fact.gauge)
        and not (wanted.turned and ("turned", "half") not in _said(one))
    ]


def _said(one: SetEntry) -> set[tuple[str, str]]:
    return {(key, value) for key, value, _ in one.fact.headers}


def lapped_since(log: Log, one: SetEntry) -> bool:
    """Say whether metal came off since the newest reading of a set."""
    newest = max((r.id for r in readings_of(log, one.root)), default=one.id)
    return any(strokes.id > newest for strokes in strokes_of(log, one.fact.face))


def label_of(log: Log, open_set: OpenSet) -> str:
    """Give the name by which the face of a set is found again."""
    face = now_holding(log, PlaneFace, open_set.entry.fact.face)
    return open_set.source if face is None else face_label(log, face)
