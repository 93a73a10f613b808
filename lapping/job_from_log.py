"""Gather the history of one face from the log."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from lapping.errors import BadInput, LappingError
from lapping.gauged_from_log import mouths, squares, thicknesses
from lapping.grits import Grit, parse_grit
from lapping.history import Entry, Photo, Plane, Strokes
from lapping.job import (
    COOLING_MINUTES,
    STROKES_PER_MINUTE,
    Job,
    Look,
    Run,
)
from lapping.kept import Paper
from lapping.laps_from_log import Laps
from lapping.log.bench import all_named, notes_about
from lapping.log.entries import held, now_holding
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry, face_label, faces, read_settings
from lapping.log.sets import SetEntry, as_readings, readings_of, sets_of, state_of
from lapping.next_run import FIRST_GRIT
from lapping.readings import ReadingSet
from lapping.remarks import Remark, understand
from lapping.units import parse_target_um
from lapping.warmth import METALS, Metal, metal_named

IRON = METALS["cast iron"]


def job_of(log: Log, face: FaceEntry) -> Job:
    """Give all that the log says of a face and of its plane.

    What cannot be used is left out with a sentence in the job's warnings.
    """
    gathered = _Gathered(log, face)
    plane = gathered.plane
    shape = read_settings(face.fact.settings)
    runs = gathered.runs()
    looks = gathered.looks(runs)
    label = face_label(log, face)
    target = _target(label, face, looks)
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
                (*gathered.warnings, *gathered.laps.warnings, *_backward(runs, looks))
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
        self.told = [
            (note.root, understand(note.fact.text))
            for root in (face.root, *([] if self.plane is None else [self.plane.root]))
            for note in notes_about(log, root)
        ]

    def metal(self) -> Metal:
        """Give the plane's metal; cast iron where it is not known."""
        said = "cast iron" if self.plane is None else self.plane.fact.metal
        try:
            return metal_named(said)
        except BadInput as trouble:
            self.warnings.append(f"{trouble}; taken for cast iron")
            return IRON

    def runs(self) -> list[Run]:
        """Give the runs on this face; sheets age by the runs on all other faces too."""
        found: list[Run] = []
        ages: dict[Grit, tuple[float, bool]] = {}
        for entry in held(self.log, Strokes):
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
                        at=_time(entry.entered_at),
                        load_kg=fact.load_kg,
                        hand=fact.hand,
                        direction=fact.direction,
                        lap=self.laps.get(fact.lap),
                        remark=self._remark(entry.root, fact.note),
                    )
                )
        return found

    def looks(self, runs: Sequence[Run]) -> list[Look]:
        """Give finished sets, those with no strokes between and one session as one.

        What was read warm and what was read after cooling are two looks.
        """
        groups: list[list[tuple[SetEntry, ReadingSet]]] = []
        for entry in sets_of(self.log, self.face):
            read = self._read(entry)
            if read is None or read.method == "square":
                continue
            if groups and self._goes_with(groups[-1][-1][0], entry, runs):
                groups[-1].append((entry, read))
            else:
                groups.append([(entry, read)])
        return [
            Look(
                number=group[0][0].root,
                # The same file brought in twice is one set of readings all the same.
                sets=tuple(dict.fromkeys(read for _, read in group)),
                at=self._read_at(group[0][0]),
                entered_at=_time(group[0][0].entered_at),
                remark=self._remark(*(entry.root for entry, _ in group)),
            )
            for group in groups
        ]

    def papers(self) -> list[Grit]:
        """Give the papers on hand whose grain is known."""
        found = []
        for entry in all_named(self.log, Paper):
            try:
                found.append(parse_grit(entry.fact.grade))
            except BadInput as trouble:
                self.warnings.append(f"the paper {entry.fact.name}: {trouble}")
        return list(dict.fromkeys(found))

    def _read(self, entry: SetEntry) -> ReadingSet | None:
        if state_of(self.log, entry.root) != "finished":
            return None
        try:
            return as_readings(self.log, entry)
        except LappingError as trouble:
            self.warnings.append(f"set {entry.root} was left out: {trouble}")
            return None

    def _goes_with(self, one: SetEntry, other: SetEntry, runs: Sequence[Run]) -> bool:
        if one.session != other.session:
            return False
        if any(one.root < run.number < other.root for run in runs):
            return False
        last = [run.at for run in runs if run.number < one.root and run.at is not None]
        first, second = self._read_at(one), self._read_at(other)
        if not last or first is None or second is None:
            return True
        cool = last[-1] + timedelta(minutes=COOLING_MINUTES)
        return (first < cool) == (second < cool)

    def _read_at(self, entry: SetEntry) -> datetime | None:
        """Give when the first place was read; a file says nothing of that."""
        if entry.fact.source is not None:
            return None
        readings = readings_of(self.log, entry.root)
        times = [_time(one.entered_at) for one in readings]
        known = [time for time in times if time is not None]
        return min(known, default=_time(entry.entered_at))

    def _remark(self, *about: int | str | None) -> Remark:
        """Put together what was said of some entries, and a text of its own."""
        texts = [one for one in about if isinstance(one, str)]
        for root in about:
            if isinstance(root, int):
                texts += [note.fact.text for note in notes_about(self.log, root)]
        return understand("; ".join(texts))


def _target(label: str, face: FaceEntry, looks: Sequence[Look]) -> float | None:
    if face.fact.target is not None:
        try:
            return parse_target_um(face.fact.target)
        except BadInput as trouble:
            message = f"the target of {label}: {trouble}"
            raise BadInput(message) from trouble
    said = [s.target_um for look in looks for s in look.sets if s.target_um is not None]
    return min(said, default=None)


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


def _time(text: str) -> datetime | None:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    return at if at.tzinfo is not None else at.astimezone()
