"""One who knows all: true heights, every rate, and when to stop.

The same plane, papers and strength; the hand presses evenly, proud heads are filed and
a bad lap is changed before the first stroke. A sheet goes when it cuts less than half
of what it did, the coarsest paper works until the face is truly within its target, and
each finer one takes off the scratches of the one before where it bears and no more.
Sessions are as long as those of the job, on every paper: who works in sessions of a
size stops at the end of one.
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

    ``shaping`` and ``finishing`` are up to the very stroke, at which nobody stops who
    has sessions of a size; ``sessions`` and ``finishing_sessions`` in whole sessions.
    """

    shaping: int | None
    finishing: int
    sessions: int | None
    finishing_sessions: int


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
        return Ideal(shaping=None, finishing=0, sessions=None, finishing_sessions=0)
    shaped, finishing = bench.strokes, 0
    for fine in papers[1:]:
        rough = ROUGH * shop.make.scratch_um(fine)
        bench.renew(fine)
        seen = False
        while not seen and bench.strokes < MOST:
            for strokes in _parts(shop.habit):
                _some(bench, fine, strokes)
                finishing += 0 if seen else strokes
                seen = seen or bench.scratch_left_um() <= rough
    return Ideal(
        shaping=bench.reached,
        finishing=finishing,
        sessions=shaped,
        finishing_sessions=bench.strokes - shaped,
    )


def _parts(habit: int) -> list[int]:
    """Part a session, so that the stroke that was enough is known."""
    return [min(SHORT, habit - done) for done in range(0, habit, SHORT)]


def _some(bench: Bench, grade: Grade, strokes: int) -> None:
    if bench.sheet.cuts < HALF:
        bench.renew(grade)
    bench.rub(strokes, grade)
    # Every session begins with a plane that has cooled.
    bench.wait(90.0)
