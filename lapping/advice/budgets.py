"""What a plane can spare: opening of the mouth, thickness, and square sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lapping.removal.job import Job, Squared
from lapping.removal.learnt import Removal, opens_by
from lapping.signs.sign import Sign

MOUTH_SHARE, MOUTH_MM = 0.5, 0.3
"""A mouth may open by this share of what it was, or by so much where that was not
said. Common practice tells only that a fine mouth matters; the figures are ours."""
THIN_MM = 3.0
"""A body is thin under this. Common practice, no source."""
SURE, TWICE = 3.0, 2.2
NEARER = ", and brings it nearer to square; go on so until it is"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spent:
    """Metal taken off so far and still to come, as mean depth in µm.

    ``opened_mm`` is by how much the mouth opened and ``will_open_mm`` by how much it
    will; None where the angle of its bed is not known. ``mouth_mm`` and
    ``thickness_mm`` are what will be left, None where never read.
    """

    so_far_um: float
    to_come_um: float
    opened_mm: float | None
    will_open_mm: float | None
    mouth_mm: float | None
    thickness_mm: float | None


def spent(job: Job, known: Removal, to_come_um: float) -> Spent:
    """Add up what came off in all stages, and what that does to mouth and body."""
    so_far = 0.0
    for run in job.runs:
        so_far += known.prior(run) * run.strokes * _share(known, run.sheet_age)
    opens = None if job.bed_deg is None else opens_by(job.bed_deg, job.front_deg or 90)
    after_mouth = _later(job, known, job.mouths[-1].number) if job.mouths else 0.0
    after_body = (
        _later(job, known, job.thicknesses[-1].number) if job.thicknesses else 0.0
    )
    return Spent(
        so_far_um=so_far,
        to_come_um=to_come_um,
        opened_mm=None if opens is None else opens * so_far / 1000,
        will_open_mm=None if opens is None else opens * to_come_um / 1000,
        mouth_mm=(
            None
            if opens is None or not job.mouths
            else job.mouths[-1].mm + opens * (after_mouth + to_come_um) / 1000
        ),
        thickness_mm=(
            None
            if not job.thicknesses
            else job.thicknesses[-1].mm - (after_body + to_come_um) / 1000
        ),
    )


def budget_signs(job: Job, known: Spent) -> list[Sign]:
    """Say that the mouth opens too far or the body gets thin by what is to come."""
    found = []
    if known.opened_mm is not None and known.will_open_mm is not None:
        total = known.opened_mm + known.will_open_mm
        first = job.mouths[0].mm if job.mouths else None
        most = MOUTH_MM if first is None else MOUTH_SHARE * first
        if total > most:
            found.append(
                Sign(
                    name="mouth opening",
                    says=(
                        f"the mouth opened by about {known.opened_mm:.2f} mm so far "
                        f"and will by {known.will_open_mm:.2f} more"
                        + ("" if first is None else f", from {first:g} mm at first")
                    ),
                    um=1000 * total,
                )
            )
    if known.thickness_mm is not None and known.thickness_mm < THIN_MM:
        found.append(
            Sign(
                name="body thin",
                says=(
                    f"{known.thickness_mm:.1f} mm of the body will be left when this "
                    f"is done, and under {THIN_MM:g} is thin"
                ),
                um=1000 * known.thickness_mm,
            )
        )
    return found


def square_signs(job: Job) -> list[Sign]:
    """Say which side goes out of square as the face is lapped: pressure on one side."""
    found = []
    for side in dict.fromkeys(one.side for one in job.squares):
        read = [one for one in job.squares if one.side == side]
        worst = _moved(job, read)
        if worst is None:
            continue
        moved, u = worst
        way = "opens" if moved > 0 else "closes"
        now, unit = read[-1].found.um, job.shown_in
        found.append(
            Sign(
                name="out of square",
                says=(
                    f"the angle at the {side} {way}: {unit.said(abs(moved), 2 * u)} "
                    f"over {read[-1].found.over_mm:g} mm since it was first read, now "
                    f"{'+' if now > 0 else ''}{unit.bare(now)}: more comes off one "
                    f"edge than off the other{'' if now * moved > 0 else NEARER}"
                ),
                um=abs(moved),
                where=(_press(job, side, moved),),
            )
        )
    return found


def still_leans(job: Job) -> bool:
    """Say whether a side went further out of square in the last strokes before it.

    Not one after which strokes were made, perhaps in another way already, nor one that
    comes nearer to square.
    """
    for side in dict.fromkeys(one.side for one in job.squares):
        read = [one for one in job.squares if one.side == side]
        found = _moved(job, read)
        if found is None or job.runs_between(read[-1].number):
            continue
        before = [one for one in read if job.runs_between(one.number, read[-1].number)]
        now = read[-1].found.um
        lately = now - before[-1].found.um
        # Who brings a side to square presses on one edge on purpose.
        away = now * found[0] > 0
        if away and lately * np.sign(found[0]) > found[1] / 2**0.5:
            return True
    return False


def _moved(job: Job, read: Sequence[Squared]) -> tuple[float, float] | None:
    """Give how far a side moved since it was first tried, and the u of that.

    None unless that is sure: by itself, or as the one before it says so as well.
    """
    if len(read) < 2 or not job.runs_between(read[0].number, read[-1].number):
        return None
    moves = [one.found.um - read[0].found.um for one in read[1:]]
    u = [float(np.hypot(one.found.u_um, read[0].found.u_um)) for one in read[1:]]
    sure = [move / each for move, each in zip(moves, u, strict=True)]
    twice = len(sure) > 1 and min(sure[-1] * np.sign(sure[-2]), abs(sure[-2])) > TWICE
    return (moves[-1], u[-1]) if abs(sure[-1]) > SURE or twice else None


def _press(job: Job, side: str, moved: float) -> str:
    """Give the edge that must come down more to bring the angle back.

    Where an angle through the metal opens, more came off at this side's edge than at
    the other one. Of a side that is lapped itself, more came off at its sole edge.
    """
    if job.face.kind == "side":
        return "the top edge" if moved > 0 else "the sole edge"
    return f"the edge away from the {side}" if moved > 0 else f"the edge at the {side}"


def _later(job: Job, known: Removal, number: int) -> float:
    return sum(
        known.prior(run) * run.strokes * _share(known, run.sheet_age)
        for run in job.runs
        if run.number > number
    )


def _share(known: Removal, age: float) -> float:
    weight = known.held.weight
    bench, worn = (float(weight @ known.held.mean[:, i]) for i in (0, 1))
    return float(np.exp(bench - max(worn, 0.0) * age / 100))
