"""The answer as JSON with stable keys: what other programs and the tests read."""

from __future__ import annotations

from typing import Any

from lapping.answer import Answer
from lapping.face import Face
from lapping.places import end_names, place_words
from lapping.square_answer import SquareAnswer
from lapping.squareness import Squareness
from lapping.surface.form import Bow, Twist
from lapping.surface.spots import Spot
from lapping.words.figures import NOT_MEASURED, high_corners

Json = dict[str, Any]
FLATNESS_KEYS = (
    "least_squares_um",
    "minimum_zone_um",
    "peak_um",
    "valley_um",
    "rms_um",
    "likely_um",
    "interval_um",
    "noise_floor_um",
    "bracket_um",
    "certificate",
)


def to_json(answer: Answer) -> Json:
    """Give the answer as plain lists and numbers; a figure that cannot be had is None.

    Positions in mm, heights and widths in µm; ``u_um`` are standard uncertainties.
    """
    face, form = answer.face, answer.form
    return {
        "files": [s.source for s in answer.sets],
        "methods": list(dict.fromkeys(s.method for s in answer.sets)),
        "points": answer.points,
        "face": {"length_mm": face.length_mm, "width_mm": face.width_mm},
        "flatness": _flatness(answer),
        "twist": _twist(face, form.twist),
        "along_bow": _bow("along-bow", form.along_bow),
        "across_bow": _bow("across-bow", form.across_bow),
        "high_spots": [_spot(face, s) for s in answer.high_spots],
        "low_spots": [_spot(face, s) for s in answer.low_spots],
        "rest": _rest(answer),
        "target_um": answer.target_um,
        "verdict": answer.verdict,
        "probability": answer.probability,
        "working": {
            "verdict": answer.working_verdict,
            "zones": [
                {
                    "zone": z.zone,
                    "height_um": None if answer.unseen else z.height_um,
                    "u_um": None if answer.unseen else z.u_um,
                }
                for z in answer.working.zones
            ],
        },
        "squareness": _squareness(answer.squareness),
        "turned": (
            None
            if answer.turned is None
            else {
                "separated": list(answer.turned.separated),
                "confounded": list(answer.turned.confounded),
            }
        ),
        "not_seen": _not_seen(answer),
        "warnings": list(answer.warnings),
    }


def _not_seen(answer: Answer) -> list[str]:
    """Give what was not seen, and beside the shapes the line that would show most."""
    found = list(answer.not_seen)
    if answer.next_line is not None:
        found[0] += f": read {answer.next_line}"
    return found


def squares_to_json(answer: SquareAnswer) -> Json:
    """Give the same keys for a side of which only squareness was read."""
    face, why = answer.face, {"not_measured": "a square tells angles, no heights"}
    flatness: Json = dict.fromkeys(FLATNESS_KEYS)
    flatness["interval_um"] = [None, None]
    gaps = dict.fromkeys(("toe", "mouth", "heel"))
    return {
        "files": [s.source for s in answer.sets],
        "methods": ["square"],
        "points": len(answer.squareness.stations),
        "face": {"length_mm": face.length_mm, "width_mm": face.width_mm},
        "flatness": flatness,
        "twist": why,
        "along_bow": why,
        "across_bow": why,
        "high_spots": [],
        "low_spots": [],
        "rest": {"touches": [], "rocks": None, "rock_um": None, "gap_um": gaps},
        "target_um": answer.target_um,
        "verdict": "cannot tell",
        "probability": None,
        "working": {"verdict": "cannot tell", "zones": []},
        "squareness": _squareness(answer.squareness),
        "turned": None,
        "not_seen": ["flatness"],
        "warnings": list(answer.warnings),
    }


def _flatness(answer: Answer) -> Json:
    level, zone = answer.least_squares, answer.zone
    bracket = answer.bracket
    return {
        "least_squares_um": None if level is None else level.total_um,
        "minimum_zone_um": None if zone is None else zone.width_um,
        "peak_um": None if level is None else level.peak_um,
        "valley_um": None if level is None else level.valley_um,
        "rms_um": None if level is None else level.rms_um,
        "likely_um": answer.likely.likely_um,
        "interval_um": list(answer.likely.interval_um),
        "noise_floor_um": None if answer.floor is None else answer.floor.mean_um,
        "bracket_um": (
            None
            if bracket is None
            else [bracket.lower_um, None if answer.unseen else bracket.upper_um]
        ),
        "certificate": _certificate(answer),
    }


def _certificate(answer: Answer) -> Json | None:
    zone, heights = answer.zone, answer.heights
    if zone is None or heights is None:
        return None
    return {
        "contacts": [
            {
                **_place(
                    answer.face,
                    float(heights.along_mm[c.place]),
                    float(heights.across_mm[c.place]),
                ),
                "side": c.side,
                "weight": c.weight,
            }
            for c in zone.contacts
        ],
        "gap_um": zone.gap_um,
    }


def _squareness(found: Squareness | None) -> Json | None:
    if found is None:
        return None
    return {
        "um": found.um,
        "u_um": found.u_um,
        "arcmin": found.arcmin,
        "over_mm": found.over_mm,
        "change_um": found.along_um,
        "change_u_um": found.along_u_um,
        "stations": [{"along_mm": s.along_mm, "um": s.um} for s in found.stations],
    }


def _twist(face: Face, twist: Twist | None) -> Json:
    if twist is None:
        return {"not_measured": NOT_MEASURED["twist"]}
    return {
        "um": twist.um,
        "u_um": twist.u_um,
        "arcmin": twist.arcmin,
        "high_corners": list(high_corners(face, twist)),
    }


def _bow(name: str, bow: Bow | None) -> Json:
    if bow is None:
        return {"not_measured": NOT_MEASURED[name]}
    return {"um": bow.um, "u_um": bow.u_um, "shape": bow.shape}


def _place(face: Face, along_mm: float, across_mm: float) -> Json:
    return {
        "where": place_words(face, along_mm, across_mm),
        "along_mm": along_mm,
        "across_mm": across_mm,
    }


def _spot(face: Face, spot: Spot) -> Json:
    return {
        **_place(face, spot.along_mm, spot.across_mm),
        "height_um": spot.height_um,
        "u_um": spot.u_um,
        "area_mm2": spot.area_mm2,
        "sure": spot.sure,
    }


def _rest(answer: Answer) -> Json:
    resting = answer.rest
    gaps = {} if resting is None else dict(resting.zone_gap_um)
    first, last = end_names(answer.face)
    return {
        "touches": [_place(answer.face, a, c) for a, c in answer.touches_mm],
        "rocks": answer.rocks,
        "rock_um": None if resting is None else resting.rock_um,
        "gap_um": {
            "toe": gaps.get(first),
            "mouth": gaps.get("mouth"),
            "heel": gaps.get(last),
        },
    }
