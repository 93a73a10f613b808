"""A run of strokes in two taps; the rest is as last time on this face."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from lapping.bench.strokes import in_words, keep_strokes
from lapping.errors import BadInput
from lapping.grit_tables import SIZES_UM
from lapping.kept import Lap, Paper, Strokes
from lapping.log.bench import all_named, strokes_of
from lapping.log.entries import now_holding
from lapping.log.once import once
from lapping.log.opening import Log
from lapping.log.planes import face_label
from lapping.phone.forms import Sent, plainly
from lapping.phone.found import face_at
from lapping.phone.looks import go_to, show, units_of
from lapping.phone.shop import Shop
from lapping.phone.work import answer_of

COUNTS = (20, 50, 100, 200)
TEXTS = ("load", "lubricant", "direction", "hand", "note")


def strokes(shop: Shop, request: Request) -> Response:
    """Ask how many; what is not said is as last time."""
    return _form(shop, request, said={}, wrong=None)


def keep(shop: Shop, request: Request, sent: Sent) -> Response:
    """Keep a run of strokes."""
    root = request.path_params["number"]
    many = sent["other"] or sent["count"]
    doubted: list[str] = []

    def sure(doubt: str) -> bool:
        doubted.append(doubt)
        return sent["sure"] == many

    try:
        if not many:
            message = "say how many strokes, or minutes as 5min"
            raise BadInput(message)
        with shop.writing() as log, once(log, sent["key"]) as before:
            label = face_label(log, face_at(log, root))
            last = _last(log, root)
            paper = sent["paper"] or (last.grade if last else "")
            words = [label, plainly(many), *([paper] if paper else [])]
            options: dict[str, object] = {name: sent.said(name) for name in TEXTS}
            if last is not None:
                options |= {
                    name: getattr(last, name)
                    for name in TEXTS[:-1]
                    if name not in sent.fields
                }
            if sent["load"]:
                options["load"] = plainly(sent["load"])
            options |= {
                "fresh_sheet": sent.ticked("fresh_sheet"),
                "turned": sent.ticked("turned"),
                "iron_in": not sent.ticked("iron_out"),
            }
            lap = sent.said("lap") if "lap" in sent.fields else _lap(log, last)
            if before is None:
                keep_strokes(log, words, options, lap, remembers=False, doubt=sure)
                before = strokes_of(log, root)[-1].root
    except BadInput as problem:
        wrong = shop.worded(str(problem))
        if doubted:
            wrong = f"{doubted[0]}. Nothing is kept yet; send it again if it is so."
        said = sent.fields | {"sure": many if doubted else ""}
        return _form(shop, request, said=said, wrong=wrong)
    return go_to(f"/face/{root}?kept={before}")


def _last(log: Log, root: int) -> Strokes | None:
    """Give the strokes made last on this face; those of another say nothing of it."""
    made = strokes_of(log, root)
    return made[-1].fact if made else None


def _lap(log: Log, last: Strokes | None) -> str | None:
    if last is None or last.lap is None:
        return None
    lap = now_holding(log, Lap, last.lap)
    return None if lap is None else lap.fact.name


def _form(
    shop: Shop, request: Request, *, said: dict[str, str], wrong: str | None
) -> Response:
    with shop.looking() as log:
        face = face_at(log, request.path_params["number"])
        last = _last(log, face.root)
        papers = [one.fact.name for one in all_named(log, Paper)]
        laps = [one.fact.name for one in all_named(log, Lap)]
        label = face_label(log, face)
        on = _lap(log, last) or ""
        before = None if last is None else in_words(log, last)
        work = answer_of(shop, log, face.root, units_of(request))
    advised = None if work is None or work.refused else work.found.paper
    return show(
        shop,
        request,
        "strokes.html",
        status=200 if wrong is None else 422,
        face=face,
        label=label,
        last=last,
        advised=advised,
        before=before,
        counts=COUNTS,
        papers=papers or [f"P{number}" for number in sorted(SIZES_UM["P"])],
        laps=laps,
        on=on,
        said=said,
        wrong=wrong,
    )
