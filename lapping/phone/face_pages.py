"""One face: what to do next, how flat it is, where it bore, and what was done to it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import groupby

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from lapping.bench.log_words import happened_words
from lapping.bench.reading_kept import kept_of
from lapping.bench.strokes import in_words
from lapping.errors import BadInput
from lapping.history import LoggedSet, Photo
from lapping.log.bench import last_strokes, strokes_of
from lapping.log.entering import opened
from lapping.log.entries import MOST_ENTRIES, bring_back, take_back
from lapping.log.look_back import Happened, face_history, readings_held
from lapping.log.once import once
from lapping.log.opening import Log
from lapping.log.photos import photos_of
from lapping.log.planes import FaceEntry, face_label
from lapping.log.sets import open_sets
from lapping.phone.forms import Sent
from lapping.phone.found import face_at
from lapping.phone.looks import Units, go_to, show, units_of
from lapping.phone.shop import Shop
from lapping.phone.work import FaceAnswer, answer_of, map_of

READ, STROKES = "read", "strokes"
_WANTS = {"cool": READ, "measure": READ, "check lap": READ, "done": None}
"""What an order is followed by on this page; all others are for the paper."""


def face(shop: Shop, request: Request) -> Response:
    """Show a face; what takes time to work out comes in when it is there."""
    root = request.path_params["number"]
    with shop.looking() as log:
        shown = face_at(log, root)
        made = last_strokes(log, root) if strokes_of(log, root) else None
        values = {
            "root": root,
            "plane": shown.fact.plane,
            "label": face_label(log, shown),
            "size": (shown.fact.length_mm, shown.fact.width_mm),
            "going_on": _going_on(log, shown),
            "strokes": None if made is None else in_words(log, made.fact),
            "kept": _just_kept(log, root, request.query_params.get("kept", "")),
            "photos": [one.root for one in photos_of(log, shown, "after")][-1:],
        }
        answered = _answered(shop, log, root, units_of(request))
    waits = answered["answer"] is None and answered["wrong"] is None
    return show(
        shop, request, "face.html", refresh=2 if waits else None, **values | answered
    )


def answer(shop: Shop, request: Request) -> Response:
    """Give the part of the page that takes time, or say that it is not there yet."""
    root = request.path_params["number"]
    with shop.looking() as log:
        face_at(log, root)
        answered = _answered(shop, log, root, units_of(request))
    waits = answered["answer"] is None and answered["wrong"] is None
    return show(
        shop,
        request,
        "answer.html",
        status=202 if waits else 200,
        root=root,
        **answered,
    )


def _just_kept(log: Log, root: int, said: str) -> str | None:
    """Say in words which strokes the page before has kept."""
    found = [one for one in strokes_of(log, root) if f"{one.root}" == said]
    return in_words(log, found[-1].fact) if found else None


def _answered(
    shop: Shop, log: Log, root: int, units: Units | None
) -> dict[str, object]:
    work = answer_of(shop, log, root, units)
    wrong = None if work is None else work.refused
    found: FaceAnswer | None = None if work is None or wrong else work.found
    action = None if found is None else found.action
    return {
        "answer": found,
        "wrong": None if wrong is None else shop.worded(wrong),
        "version": None if work is None else work.version,
        "wants": None if action is None else _WANTS.get(action, STROKES),
    }


def _going_on(log: Log, shown: FaceEntry) -> list[tuple[int, str]]:
    return [
        (one.root, kept_of(log, opened(log, one)).so_far())
        for one in open_sets(log, shown)
        if one.fact.places and readings_held(log, one.root)
    ][:1]


def face_map(shop: Shop, request: Request) -> Response:
    """Give the map of the heights."""
    root = request.path_params["number"]
    with shop.looking() as log:
        face_at(log, root)
    drawn = map_of(shop, root, units_of(request))
    if drawn is None:
        raise HTTPException(404)
    return Response(drawn, media_type="image/png")


def history(shop: Shop, request: Request) -> Response:
    """Show what was done to a face and read on it, the newest session first."""
    with shop.looking() as log:
        shown = face_at(log, request.path_params["number"])
        label = face_label(log, shown)
        happened = face_history(log, shown)
        sessions = [
            (
                number,
                [
                    (one.id, one.entered_at[11:16], _without_number(log, one))
                    for one in ones
                ],
                ones[0].entered_at[:10],
            )
            for number, found in groupby(
                _shown(log, happened), key=lambda one: one.session
            )
            for ones in [list(found)]
        ]
    return show(
        shop,
        request,
        "history.html",
        root=shown.root,
        label=label,
        sessions=sessions[::-1],
        gone=_number(request.query_params.get("gone", "")),
    )


def _shown(log: Log, happened: Iterable[Happened]) -> list[Happened]:
    """Leave out sets that were begun and never read."""
    return [
        one
        for one in happened
        if not isinstance(one.fact, LoggedSet) or readings_held(log, one.root)
    ]


def _without_number(log: Log, one: Happened) -> str:
    """Say what happened without what only a file or a photo's own page needs."""
    words = happened_words(log, one).partition("  ")[2]
    if isinstance(one.fact, Photo):
        words = _FILE_NAME.sub("", words)
    return words


_FILE_NAME = re.compile(
    r", [0-9a-f]{12}\.\w+|, corners [-\d., ]+(?=, |$)|, the one before them is \d+"
)


def _number(said: str) -> int | None:
    return int(said) if said.isascii() and said.isdecimal() and len(said) < 10 else None


def give_back(shop: Shop, request: Request, sent: Sent) -> Response:
    """Take an entry back; nothing is lost, the log keeps it below."""
    number = request.path_params["number"]
    if number > MOST_ENTRIES:
        message = "there is no such entry"
        raise BadInput(message)
    with shop.writing() as log, once(log, sent["key"]) as before:
        if before is None and sent.ticked("undo"):
            bring_back(log, number)
        elif before is None:
            take_back(log, number)
    undone = "" if sent.ticked("undo") else f"?gone={number}"
    return go_to(sent.back_to + (undone if sent.back_to != "/" else ""))
