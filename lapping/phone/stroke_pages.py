"""A run of strokes in two taps; the rest is as last time."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from lapping.errors import BadInput
from lapping.grit_tables import SIZES_UM
from lapping.kept import Lap, Paper
from lapping.log.bench import all_named, last_strokes
from lapping.log.once import once
from lapping.log.planes import face_label
from lapping.phone.forms import Sent
from lapping.phone.found import face_at
from lapping.phone.looks import go_to, show
from lapping.phone.shop import Shop
from lapping.strokes_said import in_words, keep_strokes

COUNTS = (20, 50, 100, 200)
TEXTS = ("load", "lubricant", "direction", "hand", "note")


def strokes(shop: Shop, request: Request) -> Response:
    """Ask how many; what is not said is as last time."""
    return _form(shop, request, said={}, wrong=None)


def keep(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep a run of strokes."""
    root = request.path_params["number"]
    try:
        many = sent["other"] or sent["count"]
        if not many:
            message = "say how many strokes, or minutes as 5min"
            raise BadInput(message)
        with shop.writing() as log, once(log, sent["key"]) as before:
            label = face_label(log, face_at(log, root))
            words = [label, many, *([sent["paper"]] if sent["paper"] else [])]
            options: dict[str, object] = {name: sent.said(name) for name in TEXTS}
            options |= {
                "fresh_sheet": sent.ticked("fresh_sheet"),
                "turned": sent.ticked("turned"),
                "iron_in": not sent.ticked("iron_out"),
            }
            if before is None:
                keep_strokes(log, words, options, sent.said("lap"))
    except BadInput as problem:
        return _form(shop, request, said=sent.fields, wrong=str(problem))
    return go_to(f"/face/{root}")


def _form(
    shop: Shop, request: Request, *, said: dict[str, str], wrong: str | None
) -> Response:
    with shop.looking() as log:
        face = face_at(log, request.path_params["number"])
        last = last_strokes(log, face.root)
        papers = [one.fact.name for one in all_named(log, Paper)]
        laps = [one.fact.name for one in all_named(log, Lap)]
        lap = None if last is None else last.fact.lap
        on = next((one.fact.name for one in all_named(log, Lap) if one.root == lap), "")
        label = face_label(log, face)
        before = None if last is None else in_words(log, last.fact)
    made = None if last is None else last.fact
    counts = dict.fromkeys([*([made.count] if made and made.count else []), *COUNTS])
    return show(
        shop,
        request,
        "strokes.html",
        status=200 if wrong is None else 422,
        face=face,
        label=label,
        last=made,
        before=before,
        counts=list(counts)[:5],
        papers=papers or [f"P{number}" for number in sorted(SIZES_UM["P"])],
        laps=laps,
        on=on,
        said=said,
        wrong=wrong,
    )
