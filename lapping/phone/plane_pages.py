"""Planes and their faces: the first page, and what sets them up."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from lapping.bench.plane import ABOUT, AIMS, SIZES, set_up
from lapping.errors import BadInput
from lapping.kept import Plane
from lapping.log.look_back import last_entries, readings_held
from lapping.log.once import once
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, faces, find_face, find_plane, planes
from lapping.log.sets import open_sets, the_set
from lapping.phone.forms import Sent
from lapping.phone.found import plane_at
from lapping.phone.looks import go_to, show
from lapping.phone.shop import Shop
from lapping.units import parse_length_mm

FACES = ("sole", "left side", "right side", "bed")
"""The names offered for a face; any other may be typed."""
UNITS = ("mm", "in")
MOST_OPEN = 3


def home(shop: Shop, request: Request) -> Response:
    """Give all faces, the one worked on last first, and a set left open before all."""
    with shop.looking() as log:
        names = {plane.root: plane.fact.name for plane in planes(log)}
        last = last_entries(log)
        found = sorted(faces(log), key=lambda one: -last.get(one.root, one.root))
        groups: dict[int | None, list[FaceEntry]] = {}
        for face in found:
            root = face.fact.plane
            groups.setdefault(root if root in names else None, []).append(face)
        left = [
            one.root
            for one in open_sets(log)
            if one.fact.places and readings_held(log, one.root)
        ][:MOST_OPEN]
        going_on = [_going_on(log, number) for number in left]
    loose = groups.pop(None, [])
    named = [(root, names[root], of_it) for root, of_it in groups.items() if root]
    bare: list[tuple[int, str, list[FaceEntry]]] = [
        (root, name, []) for root, name in names.items() if root not in groups
    ]
    return show(
        shop,
        request,
        "home.html",
        planes=[*named, *bare],
        loose=loose,
        going_on=going_on,
        worked=set(last),
    )


def _going_on(log: Log, number: int) -> tuple[int, str, str]:
    from lapping.bench.reading_begun import label_of
    from lapping.bench.reading_kept import kept_of
    from lapping.log.entering import opened

    begun = opened(log, the_set(log, number))
    return number, label_of(log, begun), kept_of(log, begun).so_far()


def new_plane(shop: Shop, request: Request) -> Response:
    """Ask what the plane is called and how large its sole is."""
    return _form(shop, request, plane=None, said={}, wrong=None)


def new_face(shop: Shop, request: Request) -> Response:
    """Ask for a further face of a plane."""
    with shop.looking() as log:
        plane = plane_at(log, request.path_params["number"])
    return _form(shop, request, plane=plane.fact, said={}, wrong=None)


def keep_plane(shop: Shop, request: Request, sent: Sent) -> Response:
    """Set up a plane with its sole."""
    return _keep(shop, request, sent, None)


def keep_face(shop: Shop, request: Request, sent: Sent) -> Response:
    """Set up a further face of a plane."""
    with shop.looking() as log:
        plane = plane_at(log, request.path_params["number"])
    return _keep(shop, request, sent, plane.fact)


def _keep(shop: Shop, request: Request, sent: Sent, plane: Plane | None) -> Response:
    name = sent["name"] if plane is None else plane.name
    face_name = sent["face"] or "sole"
    about = {"metal": sent.said("metal"), "kind": sent.said("kind")}
    try:
        sizes = sizes_in(sent, face_name)
        with shop.writing() as log, once(log, sent["key"]) as before:
            if before is None:
                if plane is None and find_plane(log, name) is not None:
                    message = f"there is a plane '{name}' already; choose another name"
                    raise BadInput(message)
                if find_face(log, f"{name}/{face_name}") is not None:
                    message = f"there is a face '{face_name}' already"
                    raise BadInput(message)
                for _ in set_up(
                    log,
                    name,
                    face_name,
                    [about.get(one) if plane is None else None for one in ABOUT],
                    [sizes.get(one) for one in SIZES],
                    aims_in(sent),
                ):
                    pass
            kept = find_face(log, f"{name}/{face_name}")
    except BadInput as problem:
        return _form(
            shop,
            request,
            plane=plane,
            said=sent.fields,
            wrong=shop.worded(str(problem)),
        )
    return go_to("/" if kept is None else f"/face/{kept.root}")


def sizes_in(sent: Sent, face: str) -> dict[str, str | None]:
    """Give the sizes of a face as typed, in the unit chosen beside them."""
    unit = _unit(sent)
    length, width = (sent.with_unit(one, unit) for one in ("length", "width"))
    if sent.ticked("swap"):
        length, width = width, length
    elif (
        face != "bed"
        and length
        and width
        and not sent.ticked("sure")
        and parse_length_mm(length) < parse_length_mm(width)
    ):
        message = f"{ROUND}: {length} long and {width} wide?"
        raise BadInput(message)
    return {
        "length": length,
        "width": width,
        "mouth": _mouth(sent, unit),
        "left_edge": sent.said("left_edge"),
    }


ROUND = "Is it the other way round"
"""How a sentence begins that is answered by a button to swap length and width."""


def aims_in(sent: Sent) -> list[str | None]:
    """Give the flatness wanted; a bare number has the unit chosen for the sizes."""
    return [
        sent.with_unit("target", _unit(sent)) if one == "target" else None
        for one in AIMS
    ]


def _unit(sent: Sent) -> str:
    return sent["unit"] if sent["unit"] in UNITS else UNITS[0]


def _mouth(sent: Sent, unit: str) -> str | None:
    start = sent.with_unit("mouth_from", unit)
    stop = sent.with_unit("mouth_to", unit)
    if start is None and stop is None:
        return None
    if start is None or stop is None:
        message = "give both edges of the mouth, or leave both out"
        raise BadInput(message)
    return f"{start} to {stop}"


def _form(
    shop: Shop,
    request: Request,
    *,
    plane: Plane | None,
    said: dict[str, str],
    wrong: str | None,
) -> Response:
    return show(
        shop,
        request,
        "plane.html",
        status=200 if wrong is None else 422,
        plane=plane,
        said=said,
        wrong=wrong,
        round=wrong is not None and wrong.startswith(ROUND),
        faces=FACES,
    )
