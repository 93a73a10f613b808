"""From the photos a log keeps of a face to where it bore and what scratches are left.

Facts are kept and looked at again: a better eye sees more in an old photo. Only the
newest are looked at, because a photo takes longer than a set of readings.
"""

from __future__ import annotations

from collections.abc import Callable

from lapping.contact_map import ContactMap
from lapping.directions import parse_direction_deg
from lapping.errors import BadInput, LogRefused
from lapping.face import Face
from lapping.history import Entry, Photo
from lapping.log.opening import Log
from lapping.log.photos import kept_at, photo_before, photos_of
from lapping.log.planes import FaceEntry
from lapping.photo.corners import parse_corners
from lapping.photo.look import Look, look
from lapping.photo.reading import read_photo
from lapping.photo.scratches import check_scratches

NEWEST = 2
Looker = Callable[[Log, Entry[Photo], Face], Look]


def contacts_of(
    log: Log, entry: FaceEntry, face: Face, *, look: Looker | None = None
) -> tuple[dict[int, ContactMap], list[str]]:
    """Give the contact maps of the newest photos by entry, and what to mind of them.

    That is why others have none, and what is doubtful in the newest. ``look`` is what
    looks at a photo, if not `look_at_kept`: one that remembers.
    """
    found, mind = looks_of(log, entry, face, look=look)
    contacts = {number: seen.contact for number, seen in found.items()}
    if contacts:
        newest = max(contacts)
        # By the number that stands in the list of what the log holds.
        shown = {photo.root: photo.id for photo in photos_of(log, entry, "after")}
        said = contacts[newest].warnings
        mind += [f"photo {shown[newest]}: {one}" for one in said]
    return contacts, mind


def looks_of(
    log: Log, entry: FaceEntry, face: Face, *, look: Looker | None = None
) -> tuple[dict[int, Look], list[str]]:
    """Give all that the newest photos show by entry, and why others show nothing."""
    found: dict[int, Look] = {}
    refused = []
    for photo in photos_of(log, entry, "after")[-NEWEST:]:
        try:
            found[photo.root] = (look or look_at_kept)(log, photo, face)
        except (BadInput, LogRefused) as bad:
            refused.append(f"photo {photo.id} shows nothing: {bad}")
    return found, refused


def scratches_of(log: Log, entry: FaceEntry) -> tuple[dict[int, bool], list[str]]:
    """Say for the newest close-ups whether the last grit's scratches are there.

    A close-up that cannot tell is left out; those refused come with the reason.
    """
    found: dict[int, bool] = {}
    refused = []
    for photo in photos_of(log, entry, "scratches")[-NEWEST:]:
        try:
            verdict = _scratches(log, photo)
        except (BadInput, LogRefused) as bad:
            refused.append(f"close-up {photo.id} shows nothing: {bad}")
            continue
        if verdict is not None:
            found[photo.root] = verdict
    return found, refused


def look_at_kept(log: Log, photo: Entry[Photo], face: Face) -> Look:
    """Look at a photo after strokes, against the one from before if there is one."""
    before = photo_before(log, photo)
    fact = photo.fact
    return look(
        kept_at(log, photo),
        face,
        before=None if before is None else kept_at(log, before),
        corners_px=None if fact.corners is None else parse_corners(fact.corners),
        before_corners_px=(
            None
            if before is None or before.fact.corners is None
            else parse_corners(before.fact.corners)
        ),
        toe=fact.toe,
    )


def _scratches(log: Log, photo: Entry[Photo]) -> bool | None:
    fact = photo.fact
    if fact.previous_direction is None or fact.this_direction is None:
        return None
    told = check_scratches(
        read_photo(kept_at(log, photo)).pixels,
        parse_direction_deg(fact.previous_direction),
        parse_direction_deg(fact.this_direction),
        toe=fact.toe or "up",
    )
    return None if told.verdict == "cannot tell" else told.verdict == "still there"
