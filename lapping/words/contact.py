"""What a contact map says, in words for the bench and as JSON with stable keys."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lapping.advice.first_rows import by_contact
from lapping.contact_map import ContactMap
from lapping.signs.contact import bearing_of, contact_signs
from lapping.words.advice import ORDERS, WHERE
from lapping.words.figures import COVERS, listed, sentences
from lapping.words.labelled import WIDTH, entry_lines

Json = dict[str, Any]
ZONE_WORDS = {"mouth": "land ahead of the mouth"}
EVEN, LITTLE = 0.6, 10.0
"""Zones bear alike if the least bears this share of what the most does; under so many
per cent there is nothing to compare. Common practice, no source."""
PLACES = 3
FOOT = (
    "Flatness not measured: ink shows where the face met the paper, not how high it "
    "stands. ± held the truth in nine of ten test photos, drawn by computer."
)
BEFORE_TOO = (
    "next time take a photo of the scribble before the strokes as well: then ink that "
    "has only thinned shows too"
)
"""What to do next is common practice, no source."""


def contact_report(
    contact: ContactMap, photos: Sequence[str], *, then: str | None = None
) -> str:
    """Say how much of the face bears and where, how evenly, and what to do next.

    ``photos`` names the one from after the strokes, and the one from before if any.
    ``then`` is said of what comes next where more than the photo decides that.
    """
    lines = [*textwrap.wrap(contact_answer(contact), WIDTH, break_on_hyphens=False), ""]
    for label, text in contact_entries(contact, photos, then=then):
        lines += entry_lines(label, text)
    return "\n".join([*lines, "", *textwrap.wrap(FOOT, WIDTH)])


def contact_entries(
    contact: ContactMap, photos: Sequence[str] = (), *, then: str | None = None
) -> list[tuple[str, str]]:
    """Give what stands below the answer as labels with their texts."""
    entries = (
        ("Mind", sentences(contact.warnings)),
        ("Zones", _zones(contact)),
        ("Sign", sentences(_twist(contact))),
        ("Not seen", _not_seen(contact)),
        ("Photos", _photos(contact, photos) if photos else ""),
        ("Next", sentences(_next(contact, photos)) if then is None else then),
    )
    return [(label, text) for label, text in entries if text]


def contact_line(contact: ContactMap) -> str:
    """Say the same in one line, for one photo among many."""
    said = [_share(contact), *_places(contact, 1)]
    if _not_seen(contact):
        said.append(f"{contact.unknown_percent:.0f} % not seen")
    if contact.warnings:
        said.append("doubtful, look at it by itself")
    return "; ".join(said)


def contact_json(
    contact: ContactMap, corners_px: NDArray[np.float64], found: str, sure: float
) -> Json:
    """Give the map as plain numbers; what was not seen is None.

    ``found`` says how the corners were had and ``sure`` (0 to 1) how surely.
    """
    rows, columns = contact.rubbed.shape
    return {
        "contact_percent": contact.contact_percent,
        "contact_u_percent": contact.contact_u_percent,
        "unknown_percent": contact.unknown_percent,
        "baseline": contact.baseline,
        "corners_px": corners_px.tolist(),
        "corners_found": found,
        "corners_sure": sure,
        "cells": {
            "rows": rows,
            "columns": columns,
            "rubbed": _table(contact.rubbed),
            "unknown": _table(contact.unknown),
        },
        "zones": contact.zones,
        "high_spots": [
            {
                "where": place.where,
                "along_mm": place.along_mm,
                "across_mm": place.across_mm,
                "area_mm2": place.area_mm2,
            }
            for place in contact.places
        ],
        "warnings": list(contact.warnings),
    }


def contact_answer(contact: ContactMap) -> str:
    """Say in one sentence how much of the face bears, and where most."""
    places = "; ".join(_places(contact, PLACES))
    return f"{_share(contact)}{f', most: {places}' if places else ''}."


def _share(contact: ContactMap) -> str:
    share = contact.contact_percent
    if share is None:
        return "Cannot tell where it bears: too little of the face was seen"
    u = COVERS * (contact.contact_u_percent or 0.0)
    return f"Bears {share:.0f} ± {u:.0f} % of the {contact.face.kind}"


def _zones(contact: ContactMap) -> str:
    if contact.contact_percent is None:
        return ""
    said = ", ".join(
        f"{ZONE_WORDS.get(name, name)} "
        + ("not seen" if share is None else f"{share:.0f} %")
        for name, share in contact.zones.items()
    )
    evenly = _evenly(contact)
    return f"{said}: {evenly}" if evenly else said


def _evenly(contact: ContactMap) -> str:
    bearing = [z.name for z in contact.face.bearing_zones()]
    shares = {name: contact.zones[name] for name in bearing}
    seen = {name: share for name, share in shares.items() if share is not None}
    if len(seen) < 2:
        return ""
    least, most = min(seen, key=seen.__getitem__), max(seen, key=seen.__getitem__)
    all_of_them = listed(ZONE_WORDS.get(name, name) for name in seen)
    if seen[most] < LITTLE:
        return f"{all_of_them} hardly bear yet"
    if seen[least] >= EVEN * seen[most]:
        return f"{all_of_them} about alike"
    return f"not even, the {ZONE_WORDS.get(least, least)} bears least"


def _places(contact: ContactMap, most: int) -> list[str]:
    """Name the largest places; several of one name are one place to a person."""
    areas: dict[str, float] = {}
    for place in contact.places:
        areas[place.where] = areas.get(place.where, 0.0) + place.area_mm2
    largest = sorted(areas, key=areas.__getitem__, reverse=True)[:most]
    return [f"{where} ({areas[where] / 100:.0f} cm²)" for where in largest]


def _not_seen(contact: ContactMap) -> str:
    share = contact.unknown_percent
    if share < 1:
        return ""
    return (
        f"{share:.0f} % of the metal (hatched in --picture): glare, shadow, out of the "
        "photo, or no ink was there to rub off. The shares are of the rest."
    )


def _photos(contact: ContactMap, photos: Sequence[str]) -> str:
    face = contact.face
    size = f"{face.kind} {face.length_mm:g} × {face.width_mm:g} mm"
    if contact.baseline == "before photo":
        return f"{' against '.join(photos)}; {size}"
    return f"{photos[0]} by itself, how much ink there was is estimated; {size}"


def _next(contact: ContactMap, photos: Sequence[str]) -> list[str]:
    said = [_step(contact)]
    # Who gave one that could not be used is told so above.
    if contact.baseline == "estimated" and len(photos) < 2:
        said.append(BEFORE_TOO)
    return said


def _step(contact: ContactMap) -> str:
    """Say the action that advice by this photo says, and what it is to reach."""
    share, bears = contact.contact_percent, bearing_of(contact)
    if share is None:
        return (
            "take the photo again, from straight above, the whole face in it and no "
            "lamp or window mirrored in the metal; or measure it"
        )
    told = by_contact(contact)
    order = ORDERS[told.action].rstrip(".")
    if share < LITTLE:
        return (
            f"{order}: make twenty strokes more and take another photo, too little ink "
            "is gone to tell where it bears"
        )
    if bears.even:
        return (
            f"{order}: it bears all over, as a face does too that is as crowned as its "
            "lap is hollow"
        )
    if told.action == "measure":
        unseen = listed(ZONE_WORDS.get(name, name) for name in bears.unseen)
        return f"{order}, or take the photo again: it does not show {unseen}"
    lag = listed(ZONE_WORDS.get(name, name) for name in bears.lagging)
    where = listed(dict.fromkeys(told.where))
    on = f"{WHERE[told.action].lower()} {where}, " if where else ""
    return (
        f"{order}: {on}scribble again and look again, until {lag} "
        f"{'bear' if len(bears.lagging) > 1 else 'bears'} too"
    )


def _twist(contact: ContactMap) -> list[str]:
    """Say that opposite corners are rubbed, which is no proof."""
    return [s.says for s in contact_signs(contact) if s.name == "opposite corners"]


def _table(values: NDArray[np.float64]) -> list[list[float | None]]:
    return [
        [float(round(v, 4)) if np.isfinite(v) else None for v in row]
        for row in values.tolist()
    ]
