"""Gather the looks at one face from the log, and what was said of them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from lapping.errors import LappingError
from lapping.history import Entry, Note
from lapping.log.entries import held
from lapping.log.opening import Log
from lapping.log.planes import FaceEntry
from lapping.log.sets import SetEntry, as_readings, sets_of, state_of, times_of
from lapping.readings import ReadingSet
from lapping.remarks import Remark, understand
from lapping.removal.job import COOLING_MINUTES, Look, Run


class Remarks:
    """All remarks in a log, asked for once: a history has hundreds of entries."""

    def __init__(self, log: Log) -> None:
        """Read them."""
        self._about: dict[int, list[Entry[Note]]] = {}
        for note in held(log, Note):
            self._about.setdefault(note.fact.about, []).append(note)

    def about(self, root: int) -> Sequence[Entry[Note]]:
        """Give the remarks about an entry."""
        return self._about.get(root, ())

    def all_of(self, *about: int | str | None) -> Remark:
        """Put together what was said of some entries, and a text of its own."""
        texts = [one for one in about if isinstance(one, str)]
        for root in about:
            if isinstance(root, int):
                texts += [note.fact.text for note in self.about(root)]
        return understand("; ".join(texts))


class Looks:
    """Finished sets, those with no strokes between and one session as one look.

    What was read warm and what was read after cooling are two looks. Only the
    ``newest`` so many are read, all where that is None; ``warnings`` says what sets
    could not be.
    """

    def __init__(
        self,
        log: Log,
        face: FaceEntry,
        runs: Sequence[Run],
        remarks: Remarks,
        newest: int | None = None,
    ) -> None:
        """Gather them; ``runs`` are all those on the face."""
        self._log, self._runs = log, runs
        self._times: dict[int, datetime | None] = {}
        self.warnings: list[str] = []
        # From the newest back, the groups and the sets in each.
        groups: list[list[tuple[SetEntry, ReadingSet]]] = []
        for entry in reversed(sets_of(log, face)):
            read = self._read(entry)
            if read is None or read.method == "square":
                continue
            if groups and self._goes_with(entry, groups[-1][-1][0]):
                groups[-1].append((entry, read))
            elif len(groups) == newest:
                break
            else:
                groups.append([(entry, read)])
        self.warnings.reverse()
        self.looks = tuple(
            Look(
                number=group[0][0].root,
                # The same file brought in twice is one set of readings all the same.
                sets=tuple(dict.fromkeys(read for _, read in group)),
                at=self._read_at(group[0][0]),
                entered_at=time_of(group[0][0].entered_at),
                remark=remarks.all_of(*(entry.root for entry, _ in group)),
            )
            for group in (one[::-1] for one in reversed(groups))
        )

    def _read(self, entry: SetEntry) -> ReadingSet | None:
        if state_of(self._log, entry.root) != "finished":
            return None
        try:
            return as_readings(self._log, entry)
        except LappingError as trouble:
            self.warnings.append(f"set {entry.root} was left out: {trouble}")
            return None

    def _goes_with(self, one: SetEntry, other: SetEntry) -> bool:
        if one.session != other.session:
            return False
        if any(one.root < run.number < other.root for run in self._runs):
            return False
        last = [
            run.at for run in self._runs if run.number < one.root and run.at is not None
        ]
        first, second = self._read_at(one), self._read_at(other)
        if not last or first is None or second is None:
            return True
        cool = last[-1] + timedelta(minutes=COOLING_MINUTES)
        return (first < cool) == (second < cool)

    def _read_at(self, entry: SetEntry) -> datetime | None:
        """Give when the first place was read; a file says nothing of that."""
        if entry.fact.source is not None:
            return None
        if entry.root not in self._times:
            times = map(time_of, times_of(self._log, entry.root))
            known = [time for time in times if time is not None]
            first = min(known, default=time_of(entry.entered_at))
            self._times[entry.root] = first
        return self._times[entry.root]


def time_of(text: str) -> datetime | None:
    """Read the time of an entry; None where it is none."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return None
    return at if at.tzinfo is not None else at.astimezone()
