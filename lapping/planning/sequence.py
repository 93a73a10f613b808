"""Which papers in which order: the fewest strokes in all over the papers on hand.

The first paper takes off what the shape needs; every later one the scratches of the
one before, whose depth is a share of its grain. Each paper is a node and each step a
cost in strokes, so the best order is the shortest path from coarse to fine (Bellman,
On a routing problem, 1958). A step too large for the next paper is taken only where
the papers on hand leave no other way, and is named.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lapping.errors import BadInput
from lapping.grits import Grit, System, grits_of
from lapping.wear.rate_prior import NINE_IN_TEN, SHEET_STROKES, Rate

SCRATCH_SHARE = 0.1
"""Scratches are as deep as this share of the grain that made them. 0.1 to 0.5 is
common practice, no source; on a plane it is enough that they do not show."""
LARGE_STEP = 2.6
"""Grains of more than this ratio make a step too large: the next paper one or two sizes
finer, as P80, P120, P180 or P220, P320 (common practice, no source)."""
LEAST_UM = 0.01
"""Less than this left to take off is nothing to do."""

Range = tuple[float, float, float]
"""Few, likely and many; nine in ten lie between few and many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The strokes on one paper: what they take off in µm, and how many they are."""

    grit: Grit
    removes_um: float
    strokes: Range
    sheets: Range
    rate: Rate


@dataclass(frozen=True, slots=True, kw_only=True)
class LargeStep:
    """A step too large, and the grade that would make two even steps of it, if any."""

    coarse: Grit
    fine: Grit
    between: Grit | None

    @property
    def ratio(self) -> float:
        """Give how many times larger the grain of the coarse paper is."""
        return self.coarse.grain_um / self.fine.grain_um


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPlan:
    """The whole order of papers, empty where there is nothing to do."""

    steps: tuple[Step, ...]
    large_steps: tuple[LargeStep, ...]
    scratch_share: float

    @property
    def strokes(self) -> Range:
        """Give the strokes of all steps; they are fast or slow together."""
        return _summed([step.strokes for step in self.steps])

    @property
    def sheets(self) -> Range:
        """Give the sheets of all steps."""
        return _summed([step.sheets for step in self.steps])


def scratch_um(grit: Grit, share: float = SCRATCH_SHARE) -> float:
    """Give how deep the scratches of a paper are, in µm; ``share`` of its grain."""
    if not 0 < share <= 1:
        message = (
            f"the scratch depth must be more than 0 and at most 1 of the grain (got "
            f"{share:g}); 0.1 to 0.5 is common practice"
        )
        raise BadInput(message)
    return share * grit.grain_um


def order_papers(
    rates: Mapping[Grit, Rate],
    *,
    shape_um: float,
    shape_spread: float = 0.0,
    finish: Grit | None = None,
    scratched_by: Grit | None = None,
    scratch_share: float = SCRATCH_SHARE,
    sheet_strokes: float = SHEET_STROKES,
) -> PaperPlan:
    """Find the order of papers with the fewest likely strokes, without needless leaps.

    ``rates`` holds the papers on hand with their mean rates, sheets changed every
    ``sheet_strokes``. ``shape_um`` of mean depth has to come off for the shape, known
    to the log-spread ``shape_spread``. The last paper is ``finish``, or the finest on
    hand. ``scratched_by`` is what the face was rubbed on last; its scratches come off
    too unless the first paper is as coarse.

    BadInput without papers, or where ``finish`` is not among them.
    """
    papers = _sorted(rates)
    if finish is None:
        finish = papers[-1]
    if finish not in papers:
        names = ", ".join(grit.name for grit in papers)
        message = f"{finish.name} to finish on is not among the papers on hand: {names}"
        raise BadInput(message)
    if not 0 <= shape_um < math.inf:
        message = f"'shape_um' must be 0 or more (got {shape_um:g})"
        raise BadInput(message)
    papers = papers[: papers.index(finish) + 1]
    path = _shortest(papers, rates, shape_um, scratched_by, scratch_share)
    steps: list[Step] = []
    large: list[LargeStep] = []
    before = scratched_by
    for place, grit in enumerate(path):
        shape = shape_um if place == 0 else 0.0
        removes = shape + _scratches_um(before, grit, scratch_share)
        if before is not None and is_large_step(before, grit):
            large.append(_between(before, grit))
        if removes >= LEAST_UM:
            spread = math.hypot(rates[grit].spread, shape_spread * shape / removes)
            steps.append(_step(grit, removes, rates[grit], spread, sheet_strokes))
        before = grit
    return PaperPlan(
        steps=tuple(steps),
        large_steps=tuple(large),
        scratch_share=scratch_share,
    )


def is_large_step(coarse: Grit, fine: Grit) -> bool:
    """Say whether the finer paper would labour over the scratches of the coarser."""
    return coarse.grain_um / fine.grain_um > LARGE_STEP


def _scratches_um(before: Grit | None, grit: Grit, share: float) -> float:
    """Give what a paper has to take off of the scratches of the one before."""
    if before is None or not before.coarser_than(grit):
        return 0.0
    return scratch_um(before, share)


def _shortest(
    papers: Sequence[Grit],
    rates: Mapping[Grit, Rate],
    shape_um: float,
    scratched_by: Grit | None,
    share: float,
) -> tuple[Grit, ...]:
    """Give the papers of the best way to the last of them, coarse to fine."""
    best: dict[Grit, tuple[float, tuple[Grit, ...]]] = {}
    for grit in papers:
        rate = rates[grit].um_per_100
        ways: list[tuple[float, tuple[Grit, ...]]] = []
        if scratched_by is None or not _leaps_over(scratched_by, grit, papers):
            first_um = shape_um + _scratches_um(scratched_by, grit, share)
            ways.append((first_um / rate, (grit,)))
        for coarse, (cost, path) in best.items():
            if not _leaps_over(coarse, grit, papers):
                step = _scratches_um(coarse, grit, share) / rate
                ways.append((cost + step, (*path, grit)))
        best[grit] = min(ways, key=lambda way: way[0])
    return best[papers[-1]][1]


def _leaps_over(coarse: Grit, fine: Grit, papers: Sequence[Grit]) -> bool:
    """Say whether a step is too large and a paper on hand lies between."""
    return is_large_step(coarse, fine) and any(
        coarse.coarser_than(grit) and grit.coarser_than(fine) for grit in papers
    )


def _step(
    grit: Grit, removes_um: float, rate: Rate, spread: float, sheet_strokes: float
) -> Step:
    likely = removes_um / rate.um_per_100 * 100
    factor = math.exp(NINE_IN_TEN * spread)
    strokes = (likely / factor, likely, likely * factor)
    few, middle, many = (float(math.ceil(n / sheet_strokes)) for n in strokes)
    return Step(
        grit=grit,
        removes_um=removes_um,
        strokes=strokes,
        sheets=(few, middle, many),
        rate=rate,
    )


def _between(coarse: Grit, fine: Grit) -> LargeStep:
    """Name the grade between that makes two even steps of one too large."""
    system: System = "P" if fine.system == "film" else fine.system
    there = [
        grit
        for grit in grits_of(system)
        if coarse.coarser_than(grit) and grit.coarser_than(fine)
    ]
    even = math.sqrt(coarse.grain_um * fine.grain_um)
    nearest = min(there, key=lambda g: abs(math.log(g.grain_um / even)), default=None)
    return LargeStep(coarse=coarse, fine=fine, between=nearest)


def _sorted(rates: Mapping[Grit, Rate]) -> list[Grit]:
    if not rates:
        message = "no papers are on hand; say which, as P80,P120,P240"
        raise BadInput(message)
    for grit, rate in rates.items():
        if not 0 < rate.um_per_100 < math.inf:
            message = (
                f"{grit.name}: a rate must be more than 0 (got {rate.um_per_100:g})"
            )
            raise BadInput(message)
    return sorted(rates, key=lambda grit: -grit.grain_um)


def _summed(parts: Sequence[Range]) -> Range:
    return (
        sum((few for few, _, _ in parts), 0.0),
        sum((likely for _, likely, _ in parts), 0.0),
        sum((many for _, _, many in parts), 0.0),
    )
