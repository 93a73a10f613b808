"""What a page is about, found in the log by its number, or said not to be there."""

from __future__ import annotations

from typing import TypeVar

from lapping.history import Photo, Plane, PlaneFace
from lapping.kept import Entry
from lapping.log.entries import MOST_ENTRIES, now_holding
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, PlaneEntry
from lapping.phone.shop import NotHere

Found = TypeVar("Found")


def face_at(log: Log, number: int) -> FaceEntry:
    """Give the face of this number, or say that there is none."""
    return _the(now_holding(log, PlaneFace, _number(number)), "face")


def plane_at(log: Log, number: int) -> PlaneEntry:
    """Give the plane of this number, or say that there is none."""
    return _the(now_holding(log, Plane, _number(number)), "plane")


def photo_at(log: Log, number: int) -> Entry[Photo]:
    """Give the photo of this number, or say that there is none."""
    return _the(now_holding(log, Photo, _number(number)), "photo")


def _number(number: int) -> int:
    return number if 0 < number <= MOST_ENTRIES else 0


def _the(found: Found | None, what: str) -> Found:
    if found is None:
        message = f"there is no such {what}; it may have been taken back"
        raise NotHere(message)
    return found
