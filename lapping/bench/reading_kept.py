"""A set being read, as it stands on disk: looked up before every question."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from lapping.errors import BadInput
from lapping.face import Face
from lapping.history import LoggedReading
from lapping.log.bench import add_note
from lapping.log.entering import OpenSet
from lapping.log.entries import replace as replace_entry
from lapping.log.opening import Log
from lapping.log.sets import ReadingEntry
from lapping.patterns.walk import Pattern
from lapping.prompt.cells import answer_cells, plan_of, size_of
from lapping.prompt.doubt import Scale, doubt, scale_of
from lapping.prompt.line import State
from lapping.readings import Reading


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kept:
    """The readings of an open set by the planned place they belong to."""

    log: Log
    set: OpenSet
    face: Face
    plan: Pattern
    scale: Scale

    @property
    def columns(self) -> tuple[str, ...]:
        """Give the columns of the set."""
        return self.set.entry.fact.columns

    def at(self, place: int) -> list[ReadingEntry]:
        """Give what holds at a planned place, the oldest first."""
        return [one for one in self.set.readings() if one.fact.place == place]

    def states(self) -> list[State]:
        """Say of each place whether it is read, skipped or open."""
        states: list[State] = ["open"] * len(self.plan)
        for one in self.set.readings():
            place = one.fact.place
            if place is not None and states[place] != "read":
                states[place] = "skipped" if one.fact.skipped else "read"
        return states

    def last_read(self) -> int | None:
        """Give the place of the newest reading."""
        read = [one for one in self.set.readings() if not one.fact.skipped]
        return max(read, key=lambda one: one.id).fact.place if read else None

    def so_far(self) -> str:
        """Say how much is kept."""
        return f"{self.states().count('read')} of {len(self.plan)} readings are kept"

    def begun(self) -> str:
        """Say when the set was begun, by the clock in this shop."""
        at = datetime.fromisoformat(self.set.entry.entered_at).astimezone()
        return f"{at:%Y-%m-%d %H:%M}"

    def was(self, place: int) -> str:
        """Say what holds at a place, in the words it was typed in."""
        one = self.at(place)[-1].fact
        return "skipped" if one.understood is None else one.understood.entered_as

    def sizes_but(self, place: int) -> list[float]:
        """Give the sizes of all readings of other places."""
        return [
            size_of(one.fact.understood)
            for one in self.set.readings()
            if one.fact.understood is not None and one.fact.place != place
        ]

    def meant(self, place: int, text: str) -> tuple[tuple[str, ...], Reading]:
        """Give the cells that an answer fills and what they mean; nothing is kept."""
        where = self.set.entry.fact.places[place]
        cells = (*where, *answer_cells(self.columns, text))
        return cells, self.set.understand(cells)

    def doubt_of(self, place: int, reading: Reading, text: str) -> str | None:
        """Say why an answer should be looked at again, or None."""
        scale = self.scale
        said = doubt(
            size_of(reading) / scale.um,
            [one / scale.um for one in self.sizes_but(place)],
            step=scale.step,
            unit=scale.unit,
            bare="goes" not in self.columns and not any(c.isalpha() for c in text),
        )
        return said if said is None or said.endswith("?") else f"{said}."

    def bare(self, problem: BadInput) -> str:
        """Leave out file and line, which nobody has who reads place by place."""
        start = f"{self.set.source}, line 1: "
        said = "\n".join(one.removeprefix(start) for one in problem.mistakes)
        return said.replace(" in '# leaves:'", "")

    def keep(self, place: int, cells: Sequence[str], *, corrects: bool) -> None:
        """Put a reading on disk: a new one, or instead of what is there."""
        here = self.at(place)
        if here and corrects:
            self.set.replace(here[-1], cells)
        else:
            self.set.add(cells, place=place)

    def skip(self, place: int) -> None:
        """Keep that a place was passed over; readings there are kept below that."""
        here = self.at(place)
        for one in here:
            passed = LoggedReading(
                set=one.fact.set,
                line=one.fact.line,
                cells=None,
                understood=None,
                place=place,
            )
            if not one.fact.skipped:
                replace_entry(self.log, one.id, passed)
        if not here:
            self.set.skip(place)

    def note(self, text: str, place: int | None) -> str:
        """Keep a remark about the reading at a place, or about the set before any.

        Give what it was kept with, in words.
        """
        here = [] if place is None else self.at(place)
        add_note(self.log, here[-1] if here else self.set.entry, text)
        return self.plan[place].words if here and place is not None else "this set"


def kept_of(log: Log, open_set: OpenSet) -> Kept:
    """Give a set with its places planned again."""
    fact, header = open_set.entry.fact, open_set.header
    # Refused when the set was begun; this says so to the type checker.
    assert header.face is not None
    return Kept(
        log=log,
        set=open_set,
        face=header.face,
        plan=plan_of(header.face, fact.method, fact.places),
        scale=scale_of(header.unit, header.unit_um, header.resolution_um),
    )
