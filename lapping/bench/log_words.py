"""What is in a log, in a line each: strokes, sets, photos and remarks."""

from __future__ import annotations

from lapping.bench.strokes import in_words
from lapping.history import LoggedSet, Photo, Strokes
from lapping.log.entries import now_holding
from lapping.log.look_back import Happened, readings_held
from lapping.log.opening import Log
from lapping.log.sets import is_closed

_SHOWN = {
    "after": "photo after strokes",
    "before": "photo before strokes",
    "scratches": "photo of scratches",
}


def happened_words(log: Log, one: Happened) -> str:
    """Say what was done, read, photographed or remarked, in one line."""
    fact = one.fact
    if isinstance(fact, Strokes):
        return f"{one.id}  {in_words(log, fact)}"
    if isinstance(fact, LoggedSet):
        many = readings_held(log, one.root)
        source = f" from {fact.source}" if fact.source else ""
        return (
            f"{one.root}  {many} readings by {fact.method}{source}, "
            f"{'closed' if is_closed(log, one.root) else 'open'}"
        )
    if isinstance(fact, Photo):
        return f"{one.id}  {photo_in_words(log, fact)}"
    return f"{one.id}  note: {fact.text}"


def photo_in_words(log: Log, photo: Photo) -> str:
    """Say what a photo shows and what was said of it, in one line."""
    before = None if photo.before is None else now_holding(log, Photo, photo.before)
    last, this = photo.previous_direction, photo.this_direction
    parts = [
        _SHOWN[photo.shows] if photo.shows else "photo",
        f"{photo.sha256[:12]}{photo.ending}",
        f"the one before them is {before.id}" if before else None,
        f"the last grit ran {last}" if last else None,
        f"this one runs {this}" if this else None,
        f"toe {photo.toe}" if photo.toe else None,
        f"corners {photo.corners}" if photo.corners else None,
        f"'{photo.note}'" if photo.note else None,
    ]
    return ", ".join(part for part in parts if part)
