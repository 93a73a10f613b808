"""What `lapping read` has to know before the first reading: face, gauge, open set."""

from __future__ import annotations

from dataclasses import replace

from lapping.cli.asking import Bench
from lapping.cli.read_gauge import Wanted, the_gauge, the_stick
from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import Entry, Gauge, PlaneFace
from lapping.log.bench import strokes_of, the_named
from lapping.log.entering import OpenSet, start_set, take_up
from lapping.log.entries import now_holding
from lapping.log.opening import Log
from lapping.log.planes import (
    FaceEntry,
    correct_face,
    face_label,
    face_without_a_plane,
    find_face,
    read_settings,
    the_face,
)
from lapping.log.sets import SetEntry, open_sets, readings_of
from lapping.prompt_cells import columns_of, where_cells
from lapping.units import parse_length_mm


def begin(log: Log, wanted: Wanted, bench: Bench) -> OpenSet:
    """Go on with the set left open, or begin one."""
    face = _face(log, wanted)
    if face is not None:
        _can_be_read(read_settings(face.fact.settings), wanted)
    for one in _left_open(log, face, wanted):
        if not (wanted.new or _lapped_since(log, one)):
            return take_up(log, one.root)
        # What was read before those strokes is another face than the one there now.
        take_up(log, one.root).set_aside()
        why = "--new" if wanted.new else "strokes were made since"
        bench.say(f"Set {one.root} was left open; it is set aside and kept ({why}).")
        face = face or now_holding(log, PlaneFace, one.fact.face)
    if face is None:
        message = (
            "say which face: lapping read PLANE/sole, or, with no plane set up, "
            "lapping read --length 250mm --width 60mm"
        )
        raise BadInput(message)
    gauge = the_gauge(log, face, wanted, bench)
    return _start(log, face, gauge, wanted, bench)


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


def _start(
    log: Log, face: FaceEntry, gauge: Entry[Gauge], wanted: Wanted, bench: Bench
) -> OpenSet:
    # Most sessions go on with a set and its gauge, and need neither of these two.
    from lapping.pattern_lines import pattern_for

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
    stick = the_stick(log, face, gauge, wanted, bench) if method == "winding" else ""
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


def _face(log: Log, wanted: Wanted) -> FaceEntry | None:
    sizes = (wanted.length, wanted.width)
    if wanted.face is not None:
        if any(sizes) or wanted.mouth is not None:
            message = (
                f"{wanted.face} has its size in the log; leave --length, --width and "
                "--mouth out, or correct them there"
            )
            raise BadInput(message)
        # Most planes are read on one face, and its name need not be typed.
        return find_face(log, f"{wanted.face}/sole") or the_face(log, wanted.face)
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


def _left_open(log: Log, face: FaceEntry | None, wanted: Wanted) -> list[SetEntry]:
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


def _lapped_since(log: Log, one: SetEntry) -> bool:
    """Say whether metal came off since the newest reading of a set."""
    newest = max((r.id for r in readings_of(log, one.root)), default=one.id)
    return any(strokes.id > newest for strokes in strokes_of(log, one.fact.face))


def label_of(log: Log, open_set: OpenSet) -> str:
    """Give the name by which the face of a set is found again."""
    face = now_holding(log, PlaneFace, open_set.entry.fact.face)
    return open_set.source if face is None else face_label(log, face)
