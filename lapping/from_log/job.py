"""Gather the history of one face from the log."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from lapping.errors import BadInput
from lapping.from_log.gauged import mouths, squares, thicknesses
from lapping.from_log.laps import Laps
from lapping.from_log.looks import Looks, Remarks, time_of
from lapping.from_log.readings import target_kept
from lapping.grits import Grit, parse_grit
from lapping.history import Entry, Photo, Plane, Strokes
from lapping.kept import Paper
from lapping.log.bench import all_named
from lapping.log.entries import held, now_holding
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, face_label, faces, read_settings
from lapping.remarks import understand
from lapping.removal.job import (
    STROKES_PER_MINUTE,
    Job,
    Look,
    Run,
)
from lapping.removal.next_run import FIRST_GRIT
from lapping.warmth import METALS, Metal, metal_named

IRON = METALS["cast iron"]


def job_of(
    log: Log,
    face: FaceEntry,
    *,
    newest: int | None = None,
    strokes: Sequence[Entry[Strokes]] | None = None,
) -> Job:
    """Give all that the log says of a face and of its plane.

    What cannot be used is left out with a sentence in the job's warnings. Of the looks
    only the ``newest`` so many are read, all of them where that is None. ``strokes``
    are all in the log, for who has them already.
    """
    gathered = _Gathered(log, face)
    plane = gathered.plane
    shape = read_settings(face.fact.settings)
    runs = gathered.runs(held(log, Strokes) if strokes is None else strokes)
    found = Looks(log, face, runs, gathered.remarks, newest)
    looks = found.looks
    label = face_label(log, face)
    target = target_kept(log, face)
    if target is None:
        own = (s.target_um for look in looks for s in look.sets)
        target = min((um for um in own if um is not None), default=None)
    sides = [face] if plane is None else faces(log, plane)
    told = gathered.told
    sole = face.fact.name == "sole"
    return Job(
        label=label,
        face=shape,
        metal=gathered.metal(),
        target_um=target,
        looks=tuple(looks),
        runs=tuple(runs),
        squares=tuple(squares(log, sides)),
        mouths=tuple(mouths(log, gathered.plane, told) if sole else ()),
        thicknesses=tuple(thicknesses(told)),
        told=tuple(told),
        photos=tuple(one.root for one in held(log, Photo, "face = ?", face.root)),
        papers=tuple(gathered.papers()),
        bed_deg=None if plane is None else plane.fact.bed_deg,
        front_deg=None if plane is None else plane.fact.front_deg,
        weight_g=None if plane is None else plane.fact.weight_g,
        warnings=tuple(
            dict.fromkeys(
                (
                    *gathered.warnings,
                    *found.warnings,
                    *gathered.laps.warnings,
                    *_backward(runs, looks),
                )
            )
        ),
    )


class _Gathered:
    """A face's entries as they are gathered, with what could not be used."""

    def __init__(self, log: Log, face: FaceEntry) -> None:
        self.log, self.face = log, face
        self.warnings: list[str] = []
        self.plane: Entry[Plane] | None = None
        if face.fact.plane is not None:
            self.plane = now_holding(log, Plane, face.fact.plane)
        self.laps = Laps(log)
        self.remarks = Remarks(log)
        self.told = [
            (note.root, understand(note.fact.text))
            for root in (face.root, *([] if self.plane is None else [self.plane.root]))
            for note in self.remarks.about(root)
        ]

    def metal(self) -> Metal:
        """Give the plane's metal; cast iron where it is not known."""
        said = "cast iron" if self.plane is None else self.plane.fact.metal
        try:
            return metal_named(said)
        except BadInput as trouble:
            self.warnings.append(f"{trouble}; taken for cast iron")
            return IRON

    def runs(self, made: Sequence[Entry[Strokes]]) -> list[Run]:
        """Give the runs on this face; sheets age by the runs on all other faces too."""
        found: list[Run] = []
        ages: dict[Grit, tuple[float, bool]] = {}
        for entry in made:
            fact = entry.fact
            mine = fact.face == self.face.root
            try:
                grit = parse_grit(fact.grade)
            except BadInput as trouble:
                if not mine:
                    continue
                # They were made all the same, and what was read before is not so now.
                grit = found[-1].grit if found else parse_grit(FIRST_GRIT)
                self.warnings.append(
                    f"strokes {entry.root} are counted as if on {grit.name}: {trouble}"
                )
            strokes = (
                float(fact.count)
                if fact.count is not None
                else (fact.minutes or 0.0) * STROKES_PER_MINUTE
            )
            age, surely = ages.get(grit, (0.0, False))
            if fact.fresh_sheet:
                age, surely = 0.0, True
            ages[grit] = (age + strokes, surely)
            if mine:
                found.append(
                    Run(
                        number=entry.root,
                        grit=grit,
                        strokes=strokes,
                        sheet_age=age,
                        aged_surely=surely,
                        fresh=fact.fresh_sheet,
                        at=time_of(entry.entered_at),
                        load_kg=fact.load_kg,
                        hand=fact.hand,
                        direction=fact.direction,
                        lap=self.laps.get(fact.lap),
                        remark=self.remarks.all_of(entry.root, fact.note),
                    )
                )
        return found

    def papers(self) -> list[Grit]:
        """Give the papers on hand whose grain is known."""
        found = []
        for entry in all_named(self.log, Paper):
            try:
                found.append(parse_grit(entry.fact.grade))
            except BadInput as trouble:
                self.warnings.append(f"the paper {entry.fact.name}: {trouble}")
        return list(dict.fromkeys(found))


def _backward(runs: Sequence[Run], looks: Sequence[Look]) -> list[str]:
    """Say which entry has an earlier time than the one before it."""
    timed = [(run.number, run.at) for run in runs if run.at is not None]
    timed += [(look.number, look.at) for look in looks if look.at is not None]
    return [
        f"entry {later} is of {then:%Y-%m-%d %H:%M} and comes after entry {before} of "
        f"{now:%Y-%m-%d %H:%M}: the order of the numbers counts, and heat is reckoned "
        "from the times"
        for (before, now), (later, then) in pairwise(sorted(timed))
        if then < now
    ][:1]
