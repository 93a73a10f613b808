"""A face read place by place: the next place lit, each reading kept when entered."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from lapping.bench.reading_begun import label_of, second_round
from lapping.bench.reading_kept import Kept, kept_of
from lapping.errors import BadInput
from lapping.log.entering import OpenSet, opened, take_up
from lapping.log.entries import MOST_ENTRIES
from lapping.log.once import once
from lapping.log.opening import Log
from lapping.log.sets import is_closed, the_set
from lapping.phone.drawing import drawn_face
from lapping.phone.entered import Doubted, ReadAlready, entered, known
from lapping.phone.forms import Sent
from lapping.phone.keypad import keys_for
from lapping.phone.looks import go_to, markup, show, wants_json
from lapping.phone.shop import NotHere, Shop
from lapping.prompt.line import begin_walk
from lapping.prompt.words import (
    asked_for,
    line_words,
    place_line,
    setup_words,
)


def reading_set(shop: Shop, request: Request) -> Response:
    """Show the place that comes next, or the one asked for."""
    return _form(shop, request, asked=request.query_params)


def state(shop: Shop, request: Request) -> Response:
    """Say what is read by now, whoever read it."""
    with shop.looking() as log:
        return JSONResponse(_state(_the_kept(log, request)))


def keep(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep what was entered at a place, or say why not yet."""
    said = None
    try:
        with shop.writing() as log, once(log, sent["key"]) as before:
            kept = _the_kept(log, request)
            if before is None:
                # The other phone may have closed the set meanwhile.
                kept = kept_of(log, take_up(log, kept.set.number))
                said = entered(kept, sent)
            else:
                said = known(log, kept, before, sent)
            found = _state(kept) | {"kept": said}
    except Doubted as doubt:
        if wants_json(request):
            read = isinstance(doubt, ReadAlready)
            return JSONResponse({"doubt": str(doubt), "read": read}, 409)
        return _form(shop, request, asked=sent.fields, doubt=doubt)
    except BadInput as problem:
        wrong = _bare(shop, request, problem)
        if wants_json(request):
            return JSONResponse({"said": wrong}, 422)
        return _form(shop, request, asked=sent.fields, wrong=wrong)
    if wants_json(request):
        return JSONResponse(found)
    return go_to(f"/set/{request.path_params['number']}")


def note(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep a remark about a reading, or about the set before any."""
    with shop.writing() as log, once(log, sent["key"]) as before:
        kept = _the_kept(log, request)
        place = sent.number("place") if sent["place"] else None
        if place is not None and place >= len(kept.plan):
            place = None
        if before is None:
            kept.note(sent["text"], place)
    return go_to(f"/set/{request.path_params['number']}")


def finish(shop: Shop, request: Request, sent: Sent) -> Response:
    """Close the set once it is sure; one that shows nothing yet stays open."""
    try:
        with shop.writing() as log, once(log, sent["key"]) as before:
            kept = _the_kept(log, request)
            closed = is_closed(log, kept.set.number)
            if not (closed or sent.ticked("sure")) and "open" in kept.states():
                return go_to(f"/set/{kept.set.number}?closing=yes")
            if before is None and not closed:
                kept.set.finish()
            fact = kept.set.entry.fact
            again = fact.method == "straightedge" and kept.set.header.turned is None
    except BadInput as problem:
        said = f"{_bare(shop, request, problem)}\nThe set stays open."
        return _form(shop, request, asked={}, wrong=said)
    if again:
        return go_to(f"/set/{kept.set.number}/turned")
    return go_to(f"/face/{fact.face}")


def turned(shop: Shop, request: Request) -> Response:
    """Offer the second round of a straightedge."""
    with shop.looking() as log:
        kept = _the_kept(log, request)
        label = label_of(log, kept.set)
    return show(shop, request, "turned.html", kept=kept, label=label)


def turn(shop: Shop, request: Request, sent: Sent) -> Response:
    """Begin the second round, the edge turned end for end."""
    with shop.writing() as log, once(log, sent["key"]) as before:
        if before is not None:
            return go_to(f"/set/{the_set(log, before).root}")
        kept = _the_kept(log, request)
        begun = second_round(log, kept.set)
    return go_to(f"/set/{(begun or kept.set).number}")


def _the_kept(log: Log, request: Request) -> Kept:
    number = request.path_params["number"]
    try:
        begun: OpenSet = opened(log, the_set(log, min(number, MOST_ENTRIES)))
    except BadInput:
        raise NotHere(_GONE) from None
    if not begun.entry.fact.places:
        raise NotHere(_FROM_A_FILE)
    return kept_of(log, begun)


_GONE = "there is no such set; it may have been taken back"
_FROM_A_FILE = "this set came from a file, and has no places to go through"


def _state(kept: Kept) -> dict[str, Any]:
    states = kept.states()
    return {
        "states": states,
        "was": [
            kept.was(place) if one != "open" else "" for place, one in enumerate(states)
        ],
        "next": begin_walk(states).at,
    }


def _bare(shop: Shop, request: Request, problem: BadInput) -> str:
    with shop.looking() as log:
        return shop.worded(_the_kept(log, request).bare(problem))


def _form(
    shop: Shop,
    request: Request,
    *,
    asked: Any,
    doubt: Doubted | None = None,
    wrong: str | None = None,
) -> Response:
    with shop.looking() as log:
        kept = _the_kept(log, request)
        found = _state(kept)
        label = label_of(log, kept.set)
        closed = is_closed(log, kept.set.number)
        about = kept.set.entry.fact.face
    at = _place(asked, len(kept.plan), found["next"])
    method, header = kept.set.entry.fact.method, kept.set.header
    columns = kept.columns
    down = method == "feeler"
    places = [
        {
            "words": place_line(number, len(kept.plan), place),
            "line": place.line,
            "say": line_words(method, place.line) if place.line else "",
        }
        for number, place in enumerate(kept.plan, start=1)
    ]
    return show(
        shop,
        request,
        "set.html",
        status=422 if wrong else 409 if doubt else 200,
        label=label,
        about=about,
        number=kept.set.number,
        places=places,
        found=found,
        at=at,
        again=asked.get("again") == "yes",
        closed=closed,
        face=markup(drawn_face(kept.face, kept.plan, found["states"], at, down=down)),
        broad=kept.face.width_mm > BROAD * kept.face.length_mm,
        ask=asked_for(columns, header.unit).rstrip("> "),
        keys=keys_for(columns, kept.set.entry.fact.headers),
        setup=setup_words(method, columns, turned=header.turned is not None),
        text=asked.get("text", "") if doubt or wrong else "",
        doubt=None if doubt is None else str(doubt),
        read_already=isinstance(doubt, ReadAlready),
        closing=_closing(asked, found["states"].count("open")),
        wrong=wrong,
        read=found["states"].count("read"),
        skipped=found["states"].count("skipped"),
    )


BROAD = 0.4
"""A face broader than this share of its length is drawn above the keys, not beside."""


def _closing(asked: Any, many: int) -> str | None:
    if asked.get("closing") != "yes" or not many:
        return None
    return f"{many} {'place is' if many == 1 else 'places are'} open: close anyway?"


def _place(asked: Any, count: int, following: int | None) -> int | None:
    """Give the place asked for, or the one that comes next."""
    said = asked.get("at") or asked.get("place") or ""
    if said.isascii() and said.isdecimal() and len(said) < 6 and int(said) < count:
        return int(said)
    return following
