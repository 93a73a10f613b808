"""One who knows all: true heights, every rate, and when to stop.

The same plane, papers and strength; the hand presses evenly, proud heads are filed and
a bad lap is changed before the first stroke. A sheet goes when it cuts less than half
of what it did, the coarsest paper works until the face is truly within its target, and
each finer one takes off the scratches of the one before where it bears and no more.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from tests.campaign.bench import Bench
from tests.campaign.person import quiet
from tests.campaign.surroundings import Grade
from tests.campaign.workshop import Workshop

HALF = 0.5
MOST = 20_000
ROUGH = 1.2
"""Scratches deeper than this share of the paper's own are those of a coarser one."""
SHORT = 20
"""Strokes between two looks; a look costs one who knows all nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ideal:
    """Strokes until truly within, and those after it for the finish; None if never.

    ``sessions`` are those until truly within in whole sessions, ``shaping`` up to the
    very stroke, at which nobody stops who has sessions of a size.
    """

    shaping: int | None
    finishing: int
    sessions: int | None


def ideal(shop: Workshop, finest: str | None = None) -> Ideal:
    """Count the strokes of one who knows all, up to the paper named or the finest."""
    bench = Bench(replace(shop, turns=False))
    quiet(bench)
    papers = list(shop.papers)
    if finest is not None:
        papers = papers[: [grade.name for grade in papers].index(finest) + 1]
    while bench.reached is None and bench.strokes < MOST:
        _some(bench, papers[0], shop.habit)
    if bench.reached is None:
        return Ideal(shaping=None, finishing=0, sessions=None)
    sessions, finishing = bench.strokes, 0
    for fine in papers[1:]:
        depth = shop.make.scratch_um(fine)
        bench.renew(fine)
        while finishing < MOST:
            _some(bench, fine, SHORT)
            finishing += SHORT
            if bench.scratch_left_um() <= ROUGH * depth:
                break
    return Ideal(shaping=bench.reached, finishing=finishing, sessions=sessions)


def _some(bench: Bench, grade: Grade, strokes: int) -> None:
    if bench.sheet.cuts < HALF:
        bench.renew(grade)
    bench.rub(strokes, grade)
    # Every session begins with a plane that has cooled.
    bench.wait(90.0)
