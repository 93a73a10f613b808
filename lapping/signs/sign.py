"""Signs of trouble at the bench: their names, and how one is told."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Name = Literal[
    "read warm",
    "lap not flat",
    "crown growing",
    "hollow growing",
    "twist growing",
    "shape stays",
    "rocking",
    "dead paper",
    "out of square",
    "proud place",
    "reading in doubt",
    "coarse gauge",
    "scratches left",
    "look for scratches",
    "mouth opening",
    "body thin",
    "opposite corners",
    "uneven contact",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One trouble that shows: its stable name, a sentence with its figures, and where.

    ``um`` is its size where it has one, ``places_mm`` where it is, along and across.
    """

    name: Name
    says: str
    um: float | None = None
    where: tuple[str, ...] = ()
    places_mm: tuple[tuple[float, float], ...] = ()
