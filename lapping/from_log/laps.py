"""What the log says of a lap: its stated flatness, and its map if it was read."""

from __future__ import annotations

from lapping.answer import Answer, answer
from lapping.errors import LappingError
from lapping.history import Entry, PlaneFace
from lapping.kept import Lap as LapFact
from lapping.log.entries import now_holding
from lapping.log.look_back import newest_sets
from lapping.log.opening import Log
from lapping.log.sets import as_readings
from lapping.removal.job import Lap


class Laps:
    """The laps of a log, each looked up once; ``warnings`` says what had no map."""

    def __init__(self, log: Log) -> None:
        """Begin with no lap looked up."""
        self.log = log
        self.warnings: list[str] = []
        self._known: dict[int, Lap | None] = {}

    def get(self, number: int | None) -> Lap | None:
        """Give the lap under the number of its first entry; None where not said."""
        if number is None:
            return None
        if number not in self._known:
            entry = now_holding(self.log, LapFact, number)
            self._known[number] = None if entry is None else self._read(entry)
        return self._known[number]

    def _read(self, entry: Entry[LapFact]) -> Lap:
        fact = entry.fact
        mapped = self._map(fact)
        return Lap(
            name=fact.name,
            flatness_um=fact.flatness_um,
            form=None if mapped is None else mapped.form,
            face=None if mapped is None else mapped.face,
        )

    def _map(self, fact: LapFact) -> Answer | None:
        """Answer for the lap's own face, if it was read."""
        if fact.face is None:
            return None
        face = now_holding(self.log, PlaneFace, fact.face)
        if face is None:
            return None
        try:
            sets = [as_readings(self.log, s) for s in newest_sets(self.log, face)]
            return answer(list(dict.fromkeys(sets)))
        except LappingError as trouble:
            self.warnings.append(f"the map of the lap {fact.name}: {trouble}")
            return None
