"""Photos before and after strokes: taken here, kept at once, looked at beside."""

from __future__ import annotations

import tempfile
from dataclasses import replace as changed
from pathlib import Path

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from lapping.errors import BadInput
from lapping.history import Entry, Photo, Shows, ToeInPhoto
from lapping.log.entries import add
from lapping.log.once import once
from lapping.log.opening import Log
from lapping.log.photos import keep_photo, photo_before, photos_of
from lapping.log.planes import FaceEntry, face_label, read_settings
from lapping.phone.drawing import inset_corners
from lapping.phone.forms import Sent
from lapping.phone.found import face_at, photo_at
from lapping.phone.looks import go_to, show
from lapping.phone.shop import Shop
from lapping.phone.work import contact_picture_of, look_of, shown_photo
from lapping.phone.works import Work
from lapping.places import corner_names

MOST_LISTED = 12
SWAPPED = "photos look swapped"
"""What the refusal of two photos says that came in the wrong order."""
_SHOWN: tuple[Shows, ...] = ("after", "before")
_TOES: tuple[ToeInPhoto, ...] = ("left", "right", "up", "down")


def photos(shop: Shop, request: Request) -> Response:
    """Offer the camera, before strokes and after them."""
    return _form(shop, request, wrong=None)


def _form(shop: Shop, request: Request, *, wrong: str | None) -> Response:
    with shop.looking() as log:
        face = face_at(log, request.path_params["number"])
        label = face_label(log, face)
        waiting = _waiting(log, face)
        kept = photos_of(log, face)
        # The phone is held as it was for the photo before.
        toe = kept[-1].fact.toe if kept else None
    return show(
        shop,
        request,
        "photos.html",
        status=200 if wrong is None else 422,
        root=face.root,
        label=label,
        waiting=waiting,
        kept=[one for one in reversed(kept) if one.fact.shows][:MOST_LISTED],
        toes=_TOES,
        toe=toe or "",
        wrong=wrong,
    )


def _waiting(log: Log, face: FaceEntry) -> Entry[Photo] | None:
    """Give the newest photo from before strokes that no other is compared with yet."""
    used = {one.fact.before for one in photos_of(log, face, "after")}
    before = photos_of(log, face, "before")
    return next((one for one in reversed(before) if one.root not in used), None)


def keep(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep a photo as it came, before anything is looked for in it."""
    root = request.path_params["number"]
    try:
        with shop.writing() as log, once(log, sent["key"]) as number:
            if number is not None:
                return go_to(f"/photo/{photo_at(log, number).root}")
            kept = _keep(log, face_at(log, root), sent)
    except BadInput as problem:
        return _form(shop, request, wrong=shop.worded(str(problem)))
    return go_to(f"/photo/{kept.root}")


def _keep(log: Log, face: FaceEntry, sent: Sent) -> Entry[Photo]:
    from lapping.photo.reading import header_of

    content = sent.files.get("photo") or sent.files.get("chosen")
    if content is None:
        message = "no photo came along; take one, or choose one"
        raise BadInput(message)
    shows = next((one for one in _SHOWN if one == sent["shows"]), None)
    toe = next((one for one in _TOES if one == sent["toe"]), None)
    header = header_of(content)
    before = None
    if shows == "after" and sent["before"]:
        before = photo_at(log, sent.number("before"))
    with tempfile.TemporaryDirectory(prefix="lapping-") as folder:
        path = Path(folder) / ("photo.jpg" if header.kind == "JPEG" else "photo.png")
        path.write_bytes(content)
        return keep_photo(log, face, path, shows=shows, before=before, toe=toe)


def photo(shop: Shop, request: Request) -> Response:
    """Show a photo, and where the face bore once that is found."""
    from lapping.words.contact import contact_answer, contact_entries

    with shop.looking() as log:
        entry = photo_at(log, request.path_params["number"])
        face = face_at(log, entry.fact.face)
        label = face_label(log, face)
        before = photo_before(log, entry)
        work = look_of(shop, log, entry) if entry.fact.shows == "after" else None
    ready = work is not None and work.done
    wrong = work.refused if work is not None and ready else None
    found = work.found if work is not None and ready and wrong is None else None
    names = ["this photo", *([] if before is None else ["the photo from before"])]
    return show(
        shop,
        request,
        "photo.html",
        refresh=2 if work is not None and not ready else None,
        root=entry.root,
        about=face.root,
        label=label,
        shows=entry.fact.shows,
        before=None if before is None else before.root,
        work=work,
        contact=None if found is None else found.contact,
        says="" if found is None else contact_answer(found.contact),
        lines=[]
        if found is None
        else shop.plain(contact_entries(found.contact, names, then="")),
        version=entry.id,
        swapped=before is not None and wrong is not None and SWAPPED in wrong,
        wrong=None if wrong is None else shop.worded(wrong),
    )


def swap(shop: Shop, request: Request, sent: Sent) -> Response:
    """Take the photo from before for the one after, and the other way round."""
    with shop.writing() as log, once(log, sent["key"]) as done:
        after = photo_at(log, request.path_params["number"])
        before = photo_before(log, after)
        if done is not None or before is None:
            return go_to(f"/photo/{after.root}")
        first = changed(after.fact, shows="before", before=None)
        second = changed(before.fact, shows="after", before=after.root)
        add(log, first, replaces=after.id)
        add(log, second, replaces=before.id)
    return go_to(f"/photo/{before.root}")


def state(shop: Shop, request: Request) -> Response:
    """Say whether the look at a photo is over, and how long it has taken."""
    with shop.looking() as log:
        entry = photo_at(log, request.path_params["number"])
        work = look_of(shop, log, entry)
    return JSONResponse({"done": work.done, "seconds": work.seconds})


def picture(shop: Shop, request: Request) -> Response:
    """Give a photo, upright and no larger than a phone needs."""
    shown = shown_photo(shop, request.path_params["number"])
    return Response(shown.jpeg, media_type="image/jpeg")


def contact(shop: Shop, request: Request) -> Response:
    """Give the picture of the face found and where it bore."""
    drawn = contact_picture_of(shop, request.path_params["number"])
    return Response(drawn, media_type="image/png")


def corners(shop: Shop, request: Request) -> Response:
    """Show the photo with its four corners to be dragged."""
    return _corners(shop, request, wrong=None, said=None)


def keep_corners(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep the corners of a photo, and look at it again with them."""
    from lapping.photo.corners import check_corners, parse_corners

    root = request.path_params["number"]
    try:
        shown = shown_photo(shop, root)
        with shop.writing() as log, once(log, sent["key"]) as before:
            entry = photo_at(log, root)
            face = read_settings(face_at(log, entry.fact.face).fact.settings)
            check_corners(
                parse_corners(sent["corners"]),
                face,
                width_px=shown.width_px,
                height_px=shown.height_px,
            )
            if before is None:
                fact = changed(entry.fact, corners=sent["corners"])
                add(log, fact, replaces=entry.id)
            after = _after(log, entry)
    except BadInput as problem:
        said = shop.worded(str(problem))
        return _corners(shop, request, wrong=said, said=sent["corners"])
    return go_to(f"/photo/{after}")


def _after(log: Log, entry: Entry[Photo]) -> int:
    """Give the photo whose answer the corners change: itself, or the one after it."""
    if entry.fact.shows != "before":
        return entry.root
    later = photos_of(log, face_at(log, entry.fact.face), "after")
    return next(
        (one.root for one in reversed(later) if one.fact.before == entry.root),
        entry.root,
    )


def _corners(
    shop: Shop, request: Request, *, wrong: str | None, said: str | None
) -> Response:
    root = request.path_params["number"]
    shown = shown_photo(shop, root)
    with shop.looking() as log:
        entry = photo_at(log, root)
        face = face_at(log, entry.fact.face)
        label = face_label(log, face)
        names = corner_names(read_settings(face.fact.settings))
        work = look_of(shop, log, entry) if entry.fact.shows == "after" else None
    found = said or entry.fact.corners or _found(work)
    return show(
        shop,
        request,
        "corners.html",
        status=200 if wrong is None else 422,
        root=root,
        label=label,
        names=names,
        width=shown.width_px,
        height=shown.height_px,
        corners=found or inset_corners(shown.width_px, shown.height_px),
        wrong=wrong,
    )


def _found(work: Work | None) -> str | None:
    """Give the corners that were found, to begin from."""
    if work is None or not work.done or work.refused is not None:
        return None
    return " ".join(f"{x:.0f},{y:.0f}" for x, y in work.found.corners_px)
