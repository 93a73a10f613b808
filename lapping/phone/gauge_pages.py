"""What a face is read with: a gauge that is known, or a new one; and a set begun."""

from __future__ import annotations

from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response

from lapping.bench.reading_begun import (
    Wanted,
    begin_set,
    known_gauges,
    lapped_since,
    left_from_before,
    left_open,
    stick_before,
)
from lapping.bench.reading_begun import (
    keep_gauge as keep_new_gauge,
)
from lapping.bench.reading_kept import kept_of
from lapping.errors import BadInput
from lapping.history import Entry, Gauge
from lapping.log.bench import check_gauge
from lapping.log.entering import opened
from lapping.log.look_back import readings_held
from lapping.log.once import once
from lapping.log.opening import Log
from lapping.log.planes import face_label
from lapping.log.sets import the_set
from lapping.phone.forms import Sent, plainly
from lapping.phone.found import face_at
from lapping.phone.looks import go_to, show
from lapping.phone.shop import Shop
from lapping.prompt.gauge import (
    METHOD_WORDS,
    STICK,
    WHICH,
    WORD_OF,
    WORDS,
    describe,
    parse_method,
    questions,
    stick_cell,
)
from lapping.readings import METHOD_NAMES, Method


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A gauge to choose, and what else has to be said before it can be read."""

    name: str
    words: str
    method: str
    stick: str | None


def read(shop: Shop, request: Request) -> Response:
    """Offer to go on with the set left open, or the gauges to begin one with."""
    return _form(shop, request, wrong=None)


def _form(shop: Shop, request: Request, *, wrong: str | None) -> Response:
    root = request.path_params["number"]
    with shop.looking() as log:
        face = face_at(log, root)
        label = face_label(log, face)
        going_on = [
            (one.root, kept_of(log, opened(log, one)).so_far())
            for one in left_open(log, face, Wanted())[:1]
            if not lapped_since(log, one) and readings_held(log, one.root)
        ]
        choices = [
            _choice(log, root, one)
            for one in reversed(known_gauges(log, face, Wanted()))
        ]
        side = dict(face.fact.settings).get("face") == "side"
    if not choices:
        return go_to(f"/face/{root}/gauge")
    return show(
        shop,
        request,
        "read.html",
        status=200 if wrong is None else 422,
        root=root,
        label=label,
        going_on=going_on,
        choices=[one for one in choices if side or one.method != "square"],
        stick=STICK,
        wrong=wrong,
    )


def _choice(log: Log, root: int, gauge: Entry[Gauge]) -> Choice:
    fact = gauge.fact
    return Choice(
        name=fact.name,
        words=describe(fact.method, fact.settings),
        method=fact.method,
        stick=stick_before(log, face_at(log, root), gauge)
        if fact.method == "winding"
        else None,
    )


def begin(shop: Shop, request: Request, sent: Sent) -> Response:
    """Begin a set with a gauge, or go on with the one it was left with."""
    root = request.path_params["number"]
    try:
        with shop.writing() as log, once(log, sent["key"]) as before:
            if before is not None:
                return go_to(f"/set/{the_set(log, before).root}")
            wanted = Wanted(
                face=face_label(log, face_at(log, root)),
                gauge=sent["gauge"],
                base=sent.with_unit("base", "mm"),
                turned=sent.ticked("turned"),
                new=sent.ticked("new"),
            )
            found = left_from_before(log, wanted)
            begun = found.open_set
            if begun is None:
                assert found.face is not None  # it was named
                (gauge,) = known_gauges(log, found.face, wanted)
                said = sent.with_unit("stick", "mm")
                stick = ""
                if gauge.fact.method == "winding":
                    known = stick_before(log, found.face, gauge)
                    stick = stick_cell(said or known or "")
                begun = begin_set(log, found.face, gauge, wanted, stick)
    except BadInput as problem:
        return _form(shop, request, wrong=shop.worded(str(problem)))
    return go_to(f"/set/{begun.number}")


def new_gauge(shop: Shop, request: Request) -> Response:
    """Ask what is read with, and then the few things to be known of it."""
    return _questions(shop, request, request.query_params.get("method"), {}, None)


def keep_gauge(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep a new gauge."""
    root = request.path_params["number"]
    try:
        method = parse_method(sent["method"])
        settings: tuple[tuple[str, str], ...] = ()
        for number, question in enumerate(questions(method)):
            settings += question.answer(plainly(sent[f"answer{number}"]))
        for key, _ in _beside(method):
            said = sent.with_unit(key, "um")
            settings += ((key, said),) if said else ()
        check_gauge(Gauge(name=method, method=method, settings=settings))
        with shop.writing() as log, once(log, sent["key"]) as before:
            if before is None:
                keep_new_gauge(log, method, settings)
    except BadInput as problem:
        return _questions(
            shop, request, sent["method"], sent.fields, shop.worded(str(problem))
        )
    return go_to(f"/face/{root}/read")


def _questions(
    shop: Shop,
    request: Request,
    method: str | None,
    said: dict[str, str],
    wrong: str | None,
) -> Response:
    with shop.looking() as log:
        face = face_at(log, request.path_params["number"])
        label = face_label(log, face)
    known = METHOD_WORDS.get(method or "")
    side = dict(face.fact.settings).get("face") == "side"
    return show(
        shop,
        request,
        "gauge.html",
        status=200 if wrong is None else 422,
        root=face.root,
        label=label,
        which=WHICH.partition("?")[0] + "?",
        ways=[
            (word, METHOD_NAMES[METHOD_WORDS[word]])
            for word in WORDS
            if side or word != "square"
        ],
        method=None if known is None else WORD_OF[known],
        questions=[] if known is None else [one.text for one in questions(known)],
        beside=[] if known is None else _beside(known),
        said=said,
        wrong=wrong,
    )


def _beside(method: Method) -> tuple[tuple[str, str], ...]:
    """Give what may be said of a gauge and what it stands on, and how to ask for it.

    Who does not say it is told in every answer that it was not stated.
    """
    scatter = ("repeatability", "How far readings of one spot scatter, in µm")
    match method:
        case "dial":
            flat = "How flat the plate or bed under it is, in µm"
        case "straightedge":
            flat = "How straight the edge is, in µm"
        case "feeler":
            return (("reference_flatness", "How flat the plate is, in µm"),)
        case "square":
            return (("reference_flatness", "How true the square is, in µm"),)
        case _:
            return ()
    return (("reference_flatness", flat), scatter)
