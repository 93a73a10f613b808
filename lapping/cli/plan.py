"""The command `plan`: a face that was read, or stock by its size; one plan out."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lapping.answer import BS_3623_UM, Answer
from lapping.cautions import Caution, cautions_for, circumstances_of
from lapping.cli.picture import refuse_early
from lapping.cli.plan_known import Known, known_of, learnt_rates
from lapping.cli.readings_named import read_sets
from lapping.errors import BadInput
from lapping.face import Face
from lapping.from_files import check_sets
from lapping.grits import parse_grit
from lapping.planning.job_ahead import Job, job_from_surface, job_of_stock
from lapping.planning.stock import STOCK_WORDS, stock_named
from lapping.planning.whole_job import assumed_rates, plan_job
from lapping.square_answer import SquareAnswer
from lapping.units import height_unit, parse_length_mm, parse_length_um, parse_target_um
from lapping.warmth import metal_named
from lapping.words.plan import report_plan
from lapping.words.plan_json import plan_to_json

USUAL_PAPERS = ("P80", "P120", "P180", "P320")
"""Where nobody says what is on hand: common practice, no source."""


CAST_IRON = "cast iron"
WHICH = (
    "name a face that was read, as Bramble/sole, or describe stock: --length 250mm "
    "--width 60mm, and --flatness 0.3mm or --stock rolled, cast, milled or ground"
)
BOTH = (
    "name a face that was read, or describe stock with --length, --width and "
    "--flatness or --stock, and not both"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Stock as it was described: texts with units, None where nothing was said."""

    length: str | None
    width: str | None
    flatness: str | None
    kind: str | None

    @property
    def said(self) -> bool:
        """Say whether anything was."""
        return any((self.length, self.width, self.flatness, self.kind))


def plan_for(
    names: Sequence[str],
    stock: Stock,
    *,
    metal: str | None = None,
    papers: str | None = None,
    finish: str | None = None,
    target: str | None = None,
    scratch: float = 0.1,
    as_json: bool = False,
    picture: Path | None = None,
    log: str | None = None,
) -> str:
    """Plan for a face that was read, or for stock; give what to print."""
    refuse_early(picture)
    target_um = None if target is None else parse_target_um(target)
    last = None if finish is None else parse_grit(finish)
    known = known_of(names, log)
    warnings: tuple[str, ...] = ()
    assumed: list[str] = []
    if names:
        if stock.said:
            raise BadInput(BOTH)
        found = _answer(names, target_um, known, log)
        chosen = metal or known.metal or found.sets[0].metal or CAST_IRON
        job = job_from_surface(
            found.surface,
            metal_named(chosen),
            found.target_um,
            flatness_um=_flatness(found),
            works=found.face.kind == "sole" and found.working_verdict == "flat",
            scratched_by=known.scratched_by,
        )
        warnings, unit = found.warnings, found.shown_in
        name = " and ".join(dict.fromkeys(_short(one) for one in names))
        allowed_by = found.target_is_default
    else:
        job = _job_of(stock, metal or CAST_IRON, target_um or BS_3623_UM, assumed)
        kind = "" if stock.kind is None else STOCK_WORDS[stock_named(stock.kind).name]
        name = f"Stock {kind}".strip()
        allowed_by = target_um is None
        unit = height_unit(stock.flatness or target or stock.length or "")
    if allowed_by:
        assumed.append("what is allowed is BS 3623's ±0.04 mm")
    grits = known.grits
    if papers is not None:
        grits = tuple(dict.fromkeys(parse_grit(one) for one in papers.split(",")))
    elif not grits:
        grits = tuple(parse_grit(one) for one in USUAL_PAPERS)
        assumed.append(
            f"no paper is in the log, so {', '.join(USUAL_PAPERS)} are taken to be on "
            "hand: name yours with --papers, or keep them by lapping log paper"
        )
    rates = learnt_rates(names, log, job, grits) or assumed_rates(job, grits)
    made = plan_job(job, rates, finish=last, scratch_share=scratch)
    cautions: tuple[Caution, ...] = ()
    if made.papers.steps:
        said_of = circumstances_of(
            metal=job.metal.name, lubricant=known.lubricant, lap_kind=known.lap_kind
        )
        cautions = cautions_for("plan", said_of)
    face = job.face
    title = f"{name}, {face.length_mm:g} × {face.width_mm:g} mm, {job.metal.name}"
    if picture is not None:
        from lapping.cli.plan_seen import seen_before
        from lapping.pictures.frame import save_figure
        from lapping.pictures.papers import papers as draw

        save_figure(draw(title, made, seen_before(names, log)), picture)
    if as_json:
        import json

        keys = plan_to_json(made, assumed=assumed, warnings=warnings, cautions=cautions)
        return json.dumps(keys, ensure_ascii=False, indent=1, allow_nan=False)
    return report_plan(
        made,
        title=title,
        unit=unit,
        assumed=assumed,
        warnings=warnings,
        cautions=cautions,
    )


def _answer(
    names: Sequence[str], target_um: float | None, known: Known, log: str | None
) -> Answer:
    """Answer for a face that was read, or refuse what has no heights to plan with."""
    sets = read_sets(names, None, log)
    if target_um is None and known.target is not None:
        target_um = parse_target_um(known.target)
    found = check_sets(sets, target_um=target_um)
    if isinstance(found, SquareAnswer):
        message = f"{names[0]}: only a square was read; read heights before a plan"
        raise BadInput(message)
    if found.unseen:
        message = (
            f"{names[0]}: how far it is out cannot be told, because its "
            f"{' and '.join(found.unseen)} was not measured"
        )
        if found.next_line:
            message += f"; read {found.next_line} first"
        raise BadInput(message)
    return found


def _flatness(found: Answer) -> tuple[float, float, float]:
    likely, (low, high) = found.likely.likely_um, found.likely.interval_um
    assert likely is not None, "only unseen shapes leave it open"
    assert high is not None, "only unseen shapes leave it open"
    return low, likely, high


def _short(name: str) -> str:
    return os.path.basename(name) if os.path.lexists(name) else name


def _job_of(stock: Stock, metal: str, target_um: float, assumed: list[str]) -> Job:
    if stock.length is None or stock.width is None:
        raise BadInput(WHICH)
    kind = None if stock.kind is None else stock_named(stock.kind)
    length_mm, width_mm = map(parse_length_mm, (stock.length, stock.width))
    if min(length_mm, width_mm) <= 0:
        message = "length and width must be more than 0"
        raise BadInput(message)
    if stock.flatness is not None:
        out_um = parse_length_um(stock.flatness)
        if out_um <= 0:
            message = f"the flatness '{stock.flatness}' must be more than 0"
            raise BadInput(message)
        flatness = (out_um, out_um, out_um)
    elif kind is not None:
        flatness = kind.flatness_at(length_mm)
        assumed.append("how flat such stock comes is common practice, no source")
    else:
        raise BadInput(WHICH)
    assumed.append("its shape is not known: hollow, twisted and crowned are all tried")
    return job_of_stock(
        Face(length_mm=length_mm, width_mm=width_mm),
        metal_named(metal),
        target_um,
        flatness_um=flatness,
        skin_um=0.0 if kind is None else kind.skin_um,
    )
