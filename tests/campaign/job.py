"""One job from the first reading to the last, and the record of it."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from tests.campaign.answers import Advice, Advisor, understand
from tests.campaign.bench import Bench, Rubbed
from tests.campaign.effects import Effects
from tests.campaign.person import Person
from tests.campaign.truth import Truth
from tests.campaign.workshop import Workshop

SEE = "look for scratches"
"""The sign, as documented, that sends a person to look before anything else."""
MOST_LOOKS = 110
"""After so many answers a person has had enough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One reading and the answer to it, beside the truth.

    ``strokes`` counts all before it; ``effects`` are what troubles do now in µm;
    ``seconds`` is how long the answer took.
    """

    strokes: int
    rubbed: Rubbed | None
    truth: Truth
    effects: dict[str, float]
    advice: Advice
    u_um: float
    seconds: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How a job went. ``reached`` is the stroke at which it was first truly within.

    ``end`` is "done", "gave up", "ran out" or "refused", with the reason in ``why``.
    """

    shop: Workshop
    looks: tuple[Look, ...]
    end: str
    why: str
    strokes: int
    reached: int | None
    truth: Truth
    scratch_um: float

    @property
    def finest(self) -> str:
        """Give the finest paper that was used, or the first on hand."""
        used = {look.rubbed.grade for look in self.looks if look.rubbed is not None}
        names = [grade.name for grade in self.shop.papers if grade.name in used]
        return names[-1] if names else self.shop.papers[0].name

    @property
    def finest_scratch_um(self) -> float:
        """Give how deep the scratches of the finest paper used are."""
        grade = next(one for one in self.shop.papers if one.name == self.finest)
        return round(self.shop.make.scratch_um(grade), 2)

    def plain(self) -> dict[str, Any]:
        """Give it for a line of JSON."""
        shop = self.shop
        return {
            "number": shop.number,
            "seed": shop.seed,
            "kind": shop.kind,
            "target_um": shop.target_um,
            "u_um": round(shop.gauge.u_um, 2),
            "square_u_um": None if shop.square is None else shop.square.u_um,
            "end": self.end,
            "why": self.why,
            "strokes": self.strokes,
            "reached": self.reached,
            "truth": self.truth.plain(),
            "scratch_um": round(self.scratch_um, 2),
            "finest": self.finest,
            "finest_scratch_um": self.finest_scratch_um,
            "looks": [
                {
                    "strokes": look.strokes,
                    "rubbed": None if look.rubbed is None else asdict(look.rubbed),
                    "truth": look.truth.plain(),
                    "effects": {k: round(v, 1) for k, v in look.effects.items()},
                    "advice": asdict(look.advice),
                    "seconds": round(look.seconds, 2),
                    "u_um": round(look.u_um, 2),
                }
                for look in self.looks
            ],
        }


def run(
    shop: Workshop,
    advisor: Advisor,
    folder: Path,
    *,
    most_looks: int = MOST_LOOKS,
    eyes: bool = True,
    each: Callable[[Bench, Look], None] | None = None,
) -> Outcome:
    """Run one job; the folder is written anew before every question.

    Who has ``eyes`` looks for scratches where that is advised, and asks again.
    ``each`` is called with the bench and every look.
    """
    bench = Bench(shop)
    person, effects = Person(bench), Effects(bench)
    looks: list[Look] = []
    rubbed: Rubbed | None = None
    sessions = 0
    finer, end, why = False, "ran out", f"{most_looks} answers"
    looked = False
    while len(looks) < most_looks:
        # A lap that was just mapped changes nothing in the face, nor does the eye.
        mapped = looks and looks[-1].advice.action == "check lap" and rubbed is None
        if not (mapped or looked):
            warm_um = bench.read(finer=finer)
            effects.read(rubbed, warm_um=warm_um, face=bench.truth())
            square = shop.square is not None and sessions % shop.square_every == 0
            if square and (rubbed is not None or not looks):
                effects.tried(bench.read_square())
            mouth = shop.mouth_every
            if mouth is not None and rubbed is not None and sessions % mouth == 0:
                bench.read_mouth()
        bench.book.write(folder)
        start = time.perf_counter()
        advice = understand(advisor(folder, bench.diary.label))
        look = Look(
            strokes=bench.strokes,
            rubbed=rubbed,
            truth=bench.truth(),
            effects=effects.now(),
            advice=advice,
            u_um=bench.gauge.u_um,
            seconds=time.perf_counter() - start,
        )
        looks.append(look)
        if each is not None:
            each(bench, look)
        looked = eyes and not looked and SEE in advice.signs
        if looked:
            bench.look_for_scratches()
            rubbed = None
            continue
        if advice.action == "done":
            end, why = "done", ""
            break
        bench.book.wait(5.0)
        bench.body.rest(5.0)
        rubbed = person.does(advice)
        sessions += rubbed is not None
        if person.gave_up is not None:
            end, why = "gave up", person.gave_up
            break
        again = advice.action == "measure"
        before = [one.advice.action for one in looks[-2:]]
        finer = again and (
            shop.better_gauge is None or before == ["measure", "measure"]
        )
    return Outcome(
        shop=shop,
        looks=tuple(looks),
        end=end,
        why=why,
        strokes=bench.strokes,
        reached=bench.reached,
        truth=bench.truth(),
        scratch_um=bench.scratch_left_um(),
    )
