"""The answer in words for the bench: one screen, the number, how sure, where."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from lapping.answer import Answer
from lapping.face import Face
from lapping.form import Bow, Twist
from lapping.places import corner_names, place_words
from lapping.spots import Spot
from lapping.squareness import Squareness
from lapping.units import format_um

WIDTH, LABEL = 80, 10
CLOSED = 3.0
"""Lines that miss each other by more than this many u have a wrong reading."""
COVERS = 2.0
"""± in the text is this many standard uncertainties: about 95 % (GUM, k = 2)."""
NOT_MEASURED = {
    "twist": "not measured: these readings change nothing with it",
    "along-bow": "not measured: these readings change nothing with a bow along",
    "across-bow": "not measured: these readings change nothing with a bow across",
}
METHOD_WORDS = {
    "dial": "dial",
    "feeler": "feeler leaves",
    "straightedge": "straightedge",
    "level": "level",
    "winding": "winding sticks",
    "square": "square",
}
EDGE_PATTERN = (
    "With a straightedge alone: both edges, the centre, three across and both "
    "diagonals, through common stations, the edge on two equal leaves, each line again "
    "with the edge turned end for end (docs/measuring.md)."
)
ZONE_WORDS = {"mouth": "land ahead of the mouth"}


def report(answer: Answer) -> str:
    """Give about ten lines a person at the bench understands, ISO terms beside them."""
    lines = [_title(answer), ""]
    for label, text in (
        ("Works?", _works(answer)),
        ("Flat?", _flat(answer)),
        ("", _iso(answer)),
        ("Twist", _twist(answer)),
        ("Bow", _bows(answer)),
        ("High", _spots(answer.face, answer.high_spots)),
        ("Low", _spots(answer.face, answer.low_spots)),
        ("Rests", _rests(answer)),
        ("Square", _square(answer.squareness)),
        ("Lines", _lines(answer)),
        ("Not seen", _sentences(answer.not_seen)),
        ("Mind", _sentences(answer.warnings)),
        ("To settle", _to_settle(answer)),
    ):
        if text:
            lines += _entry(label, text)
    lines += ["", "± and ranges cover 95 % (k = 2); heights from the best-fit plane."]
    return "\n".join(lines)


def high_corners(face: Face, twist: Twist) -> tuple[str, ...]:
    """Name the two corners that twist lifts, or none while it may be either way."""
    if abs(twist.um) < 2 * twist.u_um or twist.um == 0:
        return ()
    one, two, three, four = corner_names(face)
    return (one, three) if twist.um > 0 else (two, four)


def _entry(label: str, text: str) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=f"{label:<{LABEL}} ",
        subsequent_indent=" " * (LABEL + 1),
        break_on_hyphens=False,
    )


def _title(answer: Answer) -> str:
    face = answer.face
    methods = " and ".join(
        METHOD_WORDS[m] for m in dict.fromkeys(s.method for s in answer.sets)
    )
    return (
        f"{face.kind.capitalize()} {face.length_mm:g} × {face.width_mm:g} mm, "
        f"{answer.points} places by {methods}"
    )


def _works(answer: Answer) -> str:
    working = answer.working
    word = {"flat": "Yes", "not flat": "No", "cannot tell": "Cannot tell"}
    zones = _listed(ZONE_WORDS.get(z.zone, z.zone) for z in working.zones)
    said = f"{word[answer.working_verdict]}: {zones} "
    if answer.unseen:
        return said + "cannot be compared, see what was not seen."
    low, high = working.interval_um
    said += (
        f"lie within {working.together_um:.0f} µm ({low:.0f} to {high:.0f}); "
        f"{answer.target_um:g} allowed"
    )
    if answer.working_verdict != "flat" and working.weakest != "together":
        what = {
            "proud": "something beside them stands proud",
            "hollow": "the rest is deeply hollow",
        }
        doubt = "" if answer.working_verdict == "not flat" else "it may be that "
        return f"{said}, but {doubt}{what[working.weakest]}."
    return said + "."


def _flat(answer: Answer) -> str:
    low, high = answer.likely.interval_um
    source = " (BS 3623, ±0.04 mm)" if answer.target_is_default else ""
    allowed = f"{answer.target_um:g} µm allowed{source}"
    word = answer.verdict.capitalize()
    if answer.likely.likely_um is None or high is None:
        return f"{word}: at least {low:.0f} µm, upper limit not known; {allowed}."
    return (
        f"{word}: likely {answer.likely.likely_um:.0f} µm ({low:.0f} to {high:.0f}); "
        f"{allowed}; {_chance(answer)}."
    )


def _chance(answer: Answer) -> str:
    p = answer.probability
    if p is None:
        return "chance not known"
    if p >= 0.995:
        return "over 99 % sure it is within"
    if p <= 0.005:
        return "over 99 % sure it is not"
    return f"chance of being within {p:.0%}"


def _iso(answer: Answer) -> str:
    level, zone, floor = answer.least_squares, answer.zone, answer.floor
    if level is None or zone is None or floor is None:
        return "measured: no heights, the lines leave them open"
    said = (
        f"measured: minimum zone FLTt {_um(zone.width_um)}; least squares "
        f"FLTt {_um(level.total_um)}, FLTp {_um(level.peak_um)}, "
        f"FLTv {_um(level.valley_um)}, FLTq {_um(level.rms_um)} µm (ISO 12781); "
        f"a flat face would read {_um(floor.mean_um)}"
    )
    bracket = answer.bracket
    if bracket is not None:
        upper = None if answer.unseen else bracket.upper_um
        top = "no upper limit" if upper is None else f"at most {_um(upper)}"
        said += f"; the leaves prove at least {_um(bracket.lower_um)}, {top}"
    return said


def _twist(answer: Answer) -> str:
    twist = answer.form.twist
    if twist is None:
        return f"(wind) {NOT_MEASURED['twist']}"
    said = f"(wind) {format_um(abs(twist.um), COVERS * twist.u_um)}"
    corners = high_corners(answer.face, twist)
    if not corners:
        return f"{said}: no clear twist"
    return f"{said}, {abs(twist.arcmin):.1f}′: {_listed(corners)} high"


def _bows(answer: Answer) -> str:
    form = answer.form
    return f"along: {_bow('along-bow', form.along_bow)}; across: " + _bow(
        "across-bow", form.across_bow
    )


def _bow(name: str, bow: Bow | None) -> str:
    if bow is None:
        return NOT_MEASURED[name]
    size = format_um(abs(bow.um), COVERS * bow.u_um)
    return f"straight ({size})" if bow.shape == "straight" else f"{bow.shape} {size}"


def _spots(face: Face, found: tuple[Spot, ...]) -> str:
    if not found:
        return "none that stands out from the doubt"
    return "; ".join(
        f"{place_words(face, s.along_mm, s.across_mm)} "
        f"{'+' if s.height_um > 0 else ''}{format_um(s.height_um, COVERS * s.u_um)}"
        + ("" if s.sure else " (doubtful)")
        for s in found[:3]
    )


def _rests(answer: Answer) -> str:
    resting = answer.rest
    if answer.unseen:
        return "cannot tell, see what was not seen"
    if resting is None:
        return "cannot tell: no readings on all sides of the middle"
    words = dict.fromkeys(place_words(answer.face, a, c) for a, c in answer.touches_mm)
    said = f"on {_listed(list(words)[:4])}"
    said += (
        f"; rocks {resting.rock_um:.0f} µm" if answer.rocks else "; no rock to be felt"
    )
    gaps = ", ".join(
        f"{ZONE_WORDS.get(name, name)} {gap:.0f}" for name, gap in resting.zone_gap_um
    )
    return f"{said}; least gap {gaps} µm" if gaps else said


def _square(found: Squareness | None) -> str:
    if found is None:
        return ""
    size = format_um(abs(found.um), COVERS * found.u_um)
    said = f"{size} over {found.over_mm:g} mm, {abs(found.arcmin):.1f}′"
    if abs(found.um) < COVERS * found.u_um:
        said += ": square as far as can be told"
    else:
        said += f": the angle is {'more' if found.um > 0 else 'less'} than 90°"
    change, u = found.along_um, found.along_u_um
    if change is not None and u is not None and abs(change) > COVERS * u:
        said += f"; changes by {format_um(abs(change), COVERS * u)} from toe to heel"
    return said


def _lines(answer: Answer) -> str:
    if not answer.closures:
        return ""
    worst = answer.closures[0]
    where = place_words(answer.face, worst.along_mm, worst.across_mm)
    said = f"agree within {worst.spread_um:.0f} µm where they meet"
    if worst.spread_um > CLOSED * worst.u_um:
        said += f", but at {where} that is too much: read the lines there again"
    return said


def _to_settle(answer: Answer) -> str:
    if answer.unseen:
        said = f"read {answer.next_line}." if answer.next_line else ""
        if any(s.method == "straightedge" for s in answer.sets):
            said = f"{said} {EDGE_PATTERN}"
        return said.strip()
    if "cannot tell" not in (answer.verdict, answer.working_verdict):
        return ""
    if 4 * answer.repeatability_um > answer.target_um:
        return (
            f"a finer gauge: one that repeats to {answer.repeatability_um:.0f} µm "
            f"cannot show {answer.target_um:g} µm, whatever the face is."
        )
    return "read more places: the doubt lies between and beyond the readings."


def _sentences(found: tuple[str, ...]) -> str:
    return " ".join(s if s.endswith(".") else f"{s}." for s in found)


def _listed(words: Iterable[str]) -> str:
    items = list(words)
    return " and ".join([", ".join(items[:-1]), items[-1]] if items[1:] else items)


def _um(value_um: float) -> str:
    return format_um(value_um).removesuffix(" µm")
