"""What the log knows for a plan beside readings: metal, papers, the last strokes."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

from lapping.cli.log_place import log_path
from lapping.errors import BadInput
from lapping.grits import Grit, parse_grit
from lapping.kept import Lap, Paper, Plane
from lapping.log.bench import all_named, strokes_of
from lapping.log.entries import now_holding
from lapping.log.opening import Log, open_log
from lapping.log.planes import FaceEntry, find_face
from lapping.planning.job_ahead import Job
from lapping.wear.rate_prior import Rate


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the log knows; all of it empty where there is no log or no such face.

    ``last`` is the paper of the last strokes, ``target`` as typed.
    """

    metal: str | None = None
    papers: tuple[str, ...] = ()
    last: str | None = None
    lubricant: str | None = None
    lap_kind: str = ""
    target: str | None = None

    @property
    def scratched_by(self) -> Grit | None:
        """Give the grade of the last strokes, None if its grain is not known here."""
        return None if self.last is None else _or_none(self.last)

    @property
    def grits(self) -> tuple[Grit, ...]:
        """Give the papers on hand whose grain is known."""
        found = [_or_none(grade) for grade in self.papers]
        return tuple(dict.fromkeys(grit for grit in found if grit is not None))


def _or_none(grade: str) -> Grit | None:
    # What a log kept may be of a grade that is in no table.
    try:
        return parse_grit(grade)
    except BadInput:
        return None


def learnt_rates(
    names: Sequence[str], log: str | None, job: Job, papers: Sequence[Grit]
) -> dict[Grit, Rate] | None:
    """Give the rates that the log tells of these papers; None where it tells none."""
    path = log_path(log)
    if not os.path.exists(path):
        return None
    from lapping.from_log.bench_rates import rates_learnt
    from lapping.removal.job import Job as FaceJob

    with open_log(path, read_only=True) as opened:
        stock = FaceJob(label="stock", face=job.face, metal=job.metal)
        return rates_learnt(opened, _face(opened, names), stock, papers)


def _face(opened: Log, names: Sequence[str]) -> FaceEntry | None:
    """Give the one face of the log that is named, None for files and for more."""
    if len(names) != 1 or os.path.lexists(names[0]):
        return None
    return find_face(opened, names[0])


def known_of(names: Sequence[str], log: str | None) -> Known:
    """Give the papers on hand, and what is known of the one face named, if it is one.

    What is there as a file is that file, whatever the log has of the same name.
    """
    path = log_path(log)
    if not os.path.exists(path):
        return Known()
    with open_log(path, read_only=True) as opened:
        papers = tuple(one.fact.grade for one in all_named(opened, Paper))
        face = _face(opened, names)
        if face is None:
            return Known(papers=papers)
        plane = None
        if face.fact.plane is not None:
            plane = now_holding(opened, Plane, face.fact.plane)
        runs = strokes_of(opened, face.root)
        last = runs[-1].fact if runs else None
        lap = None
        if last is not None and last.lap is not None:
            lap = now_holding(opened, Lap, last.lap)
        return Known(
            metal=None if plane is None else plane.fact.metal,
            papers=papers,
            last=None if last is None else last.grade,
            lubricant=None if last is None else last.lubricant,
            lap_kind="" if lap is None else lap.fact.kind,
            target=face.fact.target,
        )
