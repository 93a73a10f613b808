"""The answer in words for the bench: one screen, the number, how sure, where."""

from __future__ import annotations

import textwrap

from lapping.answer import Answer
from lapping.face import Face
from lapping.lap_limit import lap_limit_um
from lapping.methods.network import DISAGREE
from lapping.places import place_words
from lapping.readings import METHOD_NAMES
from lapping.square_answer import SquareAnswer
from lapping.surface.spots import Spot
from lapping.words.figures import (
    bow_words,
    listed,
    sentences,
    spot_words,
    square_words,
    told_or_guessed,
    twist_words,
)
from lapping.words.labelled import WIDTH, entry_lines
from lapping.words.settle import to_settle, words_read
from lapping.words.verdict import ZONE_WORDS, flat_words, works_words

FEW_SPARE = 3
UNSEEN = "cannot tell, see what was not seen"
FOOT = (
    "± and ranges hold 95 % (k = 2), half of the rest at each end; a verdict needs 95 "
    "% on its own side. Heights are from the best-fit plane."
)
BENCH_FACE = Face(length_mm=250, width_mm=60)
"""The face a lap is judged by where none is given: a common sole."""


def report(answer: Answer) -> str:
    """Give about ten lines a person at the bench understands, ISO terms beside them."""
    lines = [_title(answer), ""]
    for label, text in report_entries(answer):
        lines += entry_lines(label, text)
    lines += ["", *textwrap.wrap(FOOT, WIDTH)]
    return "\n".join(lines)


def report_entries(answer: Answer) -> list[tuple[str, str]]:
    """Give what is known as labels with their texts; a text goes on under no label."""
    lap = answer.face.kind == "lap"
    # What makes all the rest untrustworthy comes before it.
    first = int(answer.at_odds)
    entries = (
        ("First", sentences(answer.warnings[:first])),
        ("As a lap", _as_lap(answer)) if lap else ("Works?", works_words(answer)),
        ("Flat?", flat_words(answer)),
        ("Twist", twist_words(answer.face, answer.form.twist, answer.shown_in)),
        ("Bow", _bows(answer)),
        ("High", _spots(answer, answer.high_spots)),
        ("Low", _spots(answer, answer.low_spots)),
        ("ISO 12781", _iso(answer)),
        ("Rests", _rests(answer)),
        ("Square", _square(answer)),
        ("Agree", _agree(answer)),
        ("Turned", _turned(answer)),
        ("Not seen", sentences(answer.not_seen)),
        ("Mind", sentences(answer.warnings[first:])),
        ("To settle", to_settle(answer)),
    )
    return [(label, text) for label, text in entries if text]


def report_squares(answer: SquareAnswer) -> str:
    """Give the same for a side of which only squareness was read."""
    face, found = answer.face, answer.squareness
    lines = [
        f"{face.kind.capitalize()} {face.length_mm:g} × {face.width_mm:g} mm, "
        f"{len(found.stations)} readings by square",
        "",
    ]
    for label, text in square_lines(answer):
        lines += entry_lines(label, text)
    lines += ["", "± covers 95 % (k = 2); + is more than 90° through the metal."]
    return "\n".join(lines)


def square_lines(answer: SquareAnswer) -> list[tuple[str, str]]:
    """Give the lines of that report, each with its label, which may be empty."""
    found, unit = answer.squareness, answer.shown_in
    stations = (
        ("", f"at {one.along_mm:g} mm: {'+' if one.um > 0 else ''}{unit.said(one.um)}")
        for one in found.stations
    )
    lines = [
        ("Square", square_words(found, unit)),
        *stations,
        ("Flat?", "not measured: a square tells angles, no heights"),
        ("Mind", sentences(answer.warnings)),
    ]
    return [(label, text) for label, text in lines if text]


def _title(answer: Answer) -> str:
    face = answer.face
    methods = " and ".join(
        METHOD_NAMES[m] for m in dict.fromkeys(s.method for s in answer.sets)
    )
    return (
        f"{face.kind.capitalize()} {face.length_mm:g} × {face.width_mm:g} mm, "
        f"{answer.points} places by {methods}"
    )


def _as_lap(answer: Answer) -> str:
    lap = answer.face
    if lap.length_mm < BENCH_FACE.length_mm or lap.width_mm < BENCH_FACE.width_mm:
        return ""
    limit = lap_limit_um(answer.form, lap, BENCH_FACE)
    if limit is None:
        return "cannot tell what it is good for, see what was not seen"
    return (
        f"a face of {BENCH_FACE.length_mm:g} × {BENCH_FACE.width_mm:g} mm comes off it "
        f"no flatter than about {answer.shown_in.said(limit)}"
    )


def _iso(answer: Answer) -> str:
    level, zone, floor = answer.least_squares, answer.zone, answer.floor
    if level is None or zone is None or floor is None:
        return "no heights, the lines leave them open"
    unit = answer.shown_in
    bare = unit.bare
    said = (
        f"measured minimum zone FLTt {bare(zone.width_um)}; least squares "
        f"FLTt {bare(level.total_um)}, FLTp {bare(level.peak_um)}, "
        f"FLTv {bare(level.valley_um)}, FLTq {bare(level.rms_um)} {unit.name} "
        f"(this gauge and pattern would read {bare(floor.mean_um)} on a flat face)"
    )
    bracket = answer.bracket
    if bracket is not None:
        upper = None if answer.unseen else bracket.upper_um
        top = "no upper limit" if upper is None else f"at most {bare(upper)}"
        said += f"; the leaves prove at least {bare(bracket.lower_um)}, {top}"
    return said


def _bows(answer: Answer) -> str:
    form, unit = answer.form, answer.shown_in
    along = bow_words("along-bow", form.along_bow, unit)
    return f"along: {along}; across: {bow_words('across-bow', form.across_bow, unit)}"


def _spots(answer: Answer, found: tuple[Spot, ...]) -> str:
    if answer.unseen:
        return UNSEEN
    return spot_words(answer.face, found, answer.shown_in, words_read(answer))


def _rests(answer: Answer) -> str:
    resting = answer.rest
    if answer.unseen:
        return UNSEEN
    if resting is None:
        return "cannot tell: no readings on all sides of the middle"
    unit = answer.shown_in
    words = dict.fromkeys(place_words(answer.face, a, c) for a, c in answer.touches_mm)
    read = words_read(answer)
    said = f"on {listed(told_or_guessed(one, read) for one in list(words)[:4])}"
    said += (
        f"; rocks {unit.said(resting.rock_um)}" if answer.rocks else "; no clear rock"
    )
    gaps = ", ".join(
        f"{ZONE_WORDS.get(name, name)} {unit.bare(gap)}"
        for name, gap in resting.zone_gap_um
    )
    return f"{said}; least gap {gaps} {unit.name}" if gaps else said


def _agree(answer: Answer) -> str:
    if not answer.closures or answer.spare == 0:
        return ""
    worst = answer.closures[0]
    if worst.spread_um > DISAGREE * worst.u_um:
        return ""
    said = f"readings that meet agree within {answer.shown_in.said(worst.spread_um)}"
    if answer.spare <= FEW_SPARE:
        said += f" (only {answer.spare} spare: a slip elsewhere would not show)"
    return said


def _square(answer: Answer) -> str:
    found = answer.squareness
    return square_words(found, answer.shown_in) if found else ""


def _turned(answer: Answer) -> str:
    turned = answer.turned
    if turned is None:
        return ""
    told = listed(turned.separated) if turned.separated else "nothing"
    return f"told from the reference: {told}; not told: {listed(turned.confounded)}"
