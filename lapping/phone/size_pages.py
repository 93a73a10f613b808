"""A plane set up wrongly is put right: its name, its sizes, the flatness wanted."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from lapping.bench.plane import ABOUT, SIZES, set_up
from lapping.errors import BadInput
from lapping.kept import Plane
from lapping.log.entries import now_holding
from lapping.log.once import once
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, PlaneEntry, face_label
from lapping.phone.forms import Sent
from lapping.phone.found import face_at
from lapping.phone.looks import go_to, show
from lapping.phone.plane_pages import ROUND, aims_in, sizes_in
from lapping.phone.shop import NotHere, Shop


def sizes(shop: Shop, request: Request) -> Response:
    """Show what is said of a face, to be typed over."""
    return _form(shop, request, said=None, wrong=None)


def keep(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep what is said now as a correction."""
    root = request.path_params["number"]
    try:
        with shop.writing() as log, once(log, sent["key"]) as before:
            face = face_at(log, root)
            if before is None:
                _correct(log, face, _plane(log, face), sent)
    except NotHere:
        raise
    except BadInput as problem:
        said = shop.worded(str(problem))
        return _form(shop, request, said=sent.fields, wrong=said)
    return go_to(f"/face/{root}")


def _correct(log: Log, face: FaceEntry, plane: PlaneEntry, sent: Sent) -> None:
    found = sizes_in(sent, face.fact.name)
    known = dict(face.fact.settings)
    changed = {
        name: value
        for name, value in found.items()
        if value is not None and value != known.get(name)
    }
    aims = aims_in(sent)
    if aims[0] == face.fact.target:
        aims = [None for _ in aims]
    name = sent["name"]
    new = {"name": name} if name and name != plane.fact.name else {}
    for _ in set_up(
        log,
        plane.fact.name,
        face.fact.name,
        [new.get(one) for one in ABOUT],
        [changed.get(one) for one in SIZES],
        aims,
    ):
        pass


def _plane(log: Log, face: FaceEntry) -> PlaneEntry:
    number = face.fact.plane
    found = None if number is None else now_holding(log, Plane, number)
    if found is None:
        message = "this face has no plane; give it one on the computer first"
        raise NotHere(message)
    return found


def _form(
    shop: Shop, request: Request, *, said: dict[str, str] | None, wrong: str | None
) -> Response:
    with shop.looking() as log:
        face = face_at(log, request.path_params["number"])
        label = face_label(log, face)
        if said is None:
            said = _known(face, _plane(log, face))
    return show(
        shop,
        request,
        "sizes.html",
        status=200 if wrong is None else 422,
        root=face.root,
        label=label,
        sole=dict(face.fact.settings).get("face", "sole") == "sole",
        said=said,
        wrong=wrong,
        round=wrong is not None and wrong.startswith(ROUND),
    )


def _known(face: FaceEntry, plane: PlaneEntry) -> dict[str, str]:
    known = dict(face.fact.settings)
    start, _, stop = known.get("mouth", "").partition(" to ")
    return {
        "name": plane.fact.name,
        "length": known["length"],
        "width": known["width"],
        "mouth_from": start,
        "mouth_to": stop,
        "target": face.fact.target or "",
    }
