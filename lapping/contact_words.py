"""What a contact map says, in words for the bench and as JSON with stable keys."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lapping.contact_map import ContactMap
from lapping.words import COVERS, sentences

Json = dict[str, Any]
WIDTH, LABEL = 80, 10
ZONE_WORDS = {"mouth": "land ahead of the mouth"}
EVEN, LITTLE = 0.6, 10.0
"""Zones bear alike if the least bears this share of what the most does; under so many
per cent there is nothing to compare. Common practice, no source."""
FOOT = (
    "Where ink is gone the face met the paper. How high it stands there a photo cannot "
    "tell: flatness not measured. ± held in nine of ten drawn scenes."
)


def contact_report(contact: ContactMap, photos: Sequence[str]) -> str:
    """Say how much of the face bears, where most, how evenly, and what to mind."""
    face = contact.face
    lines = [
        f"{face.kind.capitalize()} {face.length_mm:g} × {face.width_mm:g} mm, ink in "
        f"{' and '.join(photos)}",
        "",
    ]
    for label, text in contact_entries(contact):
        lines += textwrap.wrap(
            text,
            WIDTH,
            initial_indent=f"{label:<{LABEL}} ",
            subsequent_indent=" " * (LABEL + 1),
            break_on_hyphens=False,
        )
    return "\n".join([*lines, "", *textwrap.wrap(FOOT, WIDTH)])


def contact_entries(contact: ContactMap) -> list[tuple[str, str]]:
    """Give what the map says as labels with their texts; under no label it goes on."""
    entries = (
        ("Bears", _bears(contact)),
        ("", _zones(contact)),
        ("Evenly?", _evenly(contact)),
        ("Most", _places(contact)),
        ("Not seen", _not_seen(contact)),
        ("Mind", sentences(contact.warnings)),
    )
    return [(label, text) for label, text in entries if text]


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


def _bears(contact: ContactMap) -> str:
    share = contact.contact_percent
    if share is None:
        return "cannot tell: too little of the face was seen"
    u = COVERS * (contact.contact_u_percent or 0.0)
    whence = (
        "against the photo from before"
        if contact.baseline == "before photo"
        else "the ink there was is estimated: take a photo before the strokes too"
    )
    return f"{share:.0f} ± {u:.0f} % of the face ({whence})"


def _zones(contact: ContactMap) -> str:
    said = [
        f"{ZONE_WORDS.get(name, name)} "
        + ("not seen" if share is None else f"{share:.0f} %")
        for name, share in contact.zones.items()
    ]
    return ", ".join(said)


def _evenly(contact: ContactMap) -> str:
    bearing = [z.name for z in contact.face.bearing_zones()]
    shares = {name: contact.zones[name] for name in bearing}
    seen = {name: share for name, share in shares.items() if share is not None}
    if len(seen) < 2:
        return ""
    least, most = min(seen, key=seen.__getitem__), max(seen, key=seen.__getitem__)
    if seen[most] < LITTLE:
        return "hardly any of toe, land and heel bears yet"
    if seen[least] >= EVEN * seen[most]:
        listed = " and ".join(ZONE_WORDS.get(name, name) for name in seen)
        return f"yes: {listed} bear about alike"
    return (
        f"no: the {ZONE_WORDS.get(most, most)} bears most ({seen[most]:.0f} %), the "
        f"{ZONE_WORDS.get(least, least)} least ({seen[least]:.0f} %)"
    )


def _places(contact: ContactMap) -> str:
    return "; ".join(
        f"{p.where} ({p.area_mm2 / 100:.0f} cm²)" for p in contact.places[:3]
    )


def _not_seen(contact: ContactMap) -> str:
    share = contact.unknown_percent
    return f"{share:.0f} % of the metal" if share >= 1 else ""


def _table(values: NDArray[np.float64]) -> list[list[float | None]]:
    return [
        [float(round(v, 4)) if np.isfinite(v) else None for v in row]
        for row in values.tolist()
    ]
