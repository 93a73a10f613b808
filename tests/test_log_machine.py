"""Whatever is recorded, corrected, taken back, exported and imported, in any order.

The log is held against a plain list of versions for every entry.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import replace as changed
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    invariant,
    rule,
)

from lapping.errors import BadInput
from lapping.history import LoggedReading, Note
from lapping.kept import Plane, Strokes
from lapping.log.entering import OpenSet, take_up
from lapping.log.entries import bring_back, held, keep, past, replace, take_back
from lapping.log.examine import troubles
from lapping.log.exchange import export_log, import_folder
from lapping.log.opening import Log
from lapping.log.planes import add_plane
from tests.made_logs import Clock, bench, bramble, dial_set

SAID = st.text(
    st.characters(exclude_categories=["Cs"], exclude_characters="\0"), min_size=1
)
MINUTES = st.floats(0, 1440, exclude_min=True)
TYPED = st.one_of(
    st.integers(-500, 500).map(str),
    st.sampled_from(["1.5", "-0.5", "2thou", "0.05mm", "+3", "−7", "1e-2"]),
)
NAMES = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Z"]), min_size=1, max_size=30
)


class LogMachine(RuleBasedStateMachine):
    """A log with its model: for each first entry, the content of all its versions."""

    roots = Bundle("roots")

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.clock = Clock()
        self.logs = 0
        self.model: dict[int, list[object]] = {}
        self.names: set[str] = set()
        self.stack = ExitStack()
        self.open()
        face = bramble(self.log)
        self.face = face.root
        self.set: OpenSet = dial_set(self.log, face, [])

    def open(self) -> None:
        path = self.folder / f"{self.logs}.lapping"
        self.log: Log = self.stack.enter_context(bench(path, self.clock))

    def teardown(self) -> None:
        self.stack.close()
        shutil.rmtree(self.folder)

    def last(self, root: int) -> int:
        return past(self.log, root)[-1].id

    @rule(target=roots, grade=st.sampled_from(["P80", "P240", "15um"]), minutes=MINUTES)
    def record_strokes(self, grade: str, minutes: float) -> int:
        fact = Strokes(face=self.face, grade=grade, minutes=minutes)
        root = keep(self.log, fact).root
        self.model[root] = [fact]
        return root

    @rule(target=roots, about=roots, text=SAID)
    def remark(self, about: int, text: str) -> int:
        fact = Note(about=about, text=text)
        root = keep(self.log, fact).root
        self.model[root] = [fact]
        return root

    @rule(target=roots, typed=TYPED, along=st.integers(0, 250))
    def read(self, typed: str, along: int) -> int:
        entry = self.set.add((str(along), "30", typed))
        self.model[entry.root] = [entry.fact]
        assert entry.fact.cells == (str(along), "30", typed)
        return entry.root

    @rule(typed=st.sampled_from(["", "x", "1,5", "9in", "1 2"]))
    def misread(self, typed: str) -> None:
        with pytest.raises(BadInput):
            self.set.add(("5", "30", typed))

    @rule(name=NAMES)
    def set_up(self, name: str) -> None:
        if name in self.names | {"Bramble"}:
            with pytest.raises(BadInput, match="already"):
                add_plane(self.log, Plane(name=name))
            return
        add_plane(self.log, Plane(name=name))
        self.names.add(name)

    @rule(root=roots, minutes=MINUTES, typed=TYPED, text=SAID)
    def correct(self, root: int, minutes: float, typed: str, text: str) -> None:
        now = self.model[root][-1]
        if now is None:
            return
        if isinstance(now, LoggedReading):
            assert now.cells is not None
            (entry,) = [one for one in self.set.readings() if one.root == root]
            new = self.set.replace(entry, (*now.cells[:2], typed)).fact
            self.model[root].append(new)
            return
        if isinstance(now, Strokes):
            fact: Strokes | Note = changed(now, minutes=minutes)
        else:
            assert isinstance(now, Note)
            fact = changed(now, text=text)
        replace(self.log, self.last(root), fact)
        self.model[root].append(fact)

    @rule(root=roots)
    def take_it_back(self, root: int) -> None:
        take_back(self.log, self.last(root))
        versions = self.model[root]
        # Back to what came before it was first said, or two would go to and fro.
        first = versions.index(versions[-1])
        versions.append(versions[first - 1] if first else None)

    @rule(root=roots, data=st.data())
    def bring_it_back(self, root: int, data: st.DataObject) -> None:
        versions = self.model[root]
        which = data.draw(st.integers(0, len(versions) - 1))
        entry = past(self.log, root)[which].id
        if which == len(versions) - 1:
            with pytest.raises(BadInput, match="holds as it is"):
                bring_back(self.log, entry)
            return
        bring_back(self.log, entry)
        versions.append(versions[which])

    @rule(hours=st.floats(-1000, 1000))
    def time_passes(self, hours: float) -> None:
        self.clock.forward(hours)

    @rule()
    def close_and_open(self) -> None:
        self.stack.close()
        self.open()
        self.set = take_up(self.log, self.set.number)

    @rule()
    def export_and_go_on_in_the_copy(self) -> None:
        folder = self.folder / f"copy{self.logs}"
        export_log(self.log, folder)
        self.stack.close()
        self.logs += 1
        self.open()
        import_folder(self.log, folder)
        assert import_folder(self.log, folder) == 0
        self.set = take_up(self.log, self.set.number)

    @invariant()
    def what_holds_is_what_was_said_last(self) -> None:
        kinds: Sequence[type] = (Strokes, Note, LoggedReading)
        found = {one.root: one.fact for kind in kinds for one in held(self.log, kind)}
        model = {root: v[-1] for root, v in self.model.items() if v[-1] is not None}
        assert found == model

    @invariant()
    def nothing_said_was_lost(self) -> None:
        for root, versions in self.model.items():
            assert [one.fact for one in past(self.log, root)] == versions

    @invariant()
    def the_log_is_whole(self) -> None:
        assert troubles(self.log) == []


LogMachine.TestCase.settings = settings(
    max_examples=15,
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
TestLog = LogMachine.TestCase
