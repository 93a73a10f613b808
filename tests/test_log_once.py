"""What was sent twice counts once, in a log that is copied too."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from lapping.errors import BadInput
from lapping.kept import Strokes
from lapping.log.bench import strokes_of
from lapping.log.entries import add
from lapping.log.examine import troubles
from lapping.log.exchange import export_log, import_folder
from lapping.log.once import once
from lapping.log.opening import Log, open_log
from tests.made_logs import bench, bramble, dial_set, everything


def sends(log: Log, face: int, key: str) -> int:
    """Keep strokes under a key; give the entry that has them."""
    with once(log, key) as before:
        if before is not None:
            return before
        return add(log, Strokes(face=face, grade="P240", count=50)).id


def sends_and_fails(log: Log, face: int, key: str) -> None:
    """Keep strokes under a key, and find something wrong before the end."""
    with once(log, key):
        add(log, Strokes(face=face, grade="P240", count=50))
        message = "something was wrong after all"
        raise BadInput(message)


def test_a_key_is_kept_by_the_first_entry_under_it(tmp_path: Path) -> None:
    with bench(tmp_path / "log.lapping") as log:
        face = bramble(log)
        with once(log, "one") as before:
            assert before is None
            dial_set(log, face)
        with once(log, "one") as before:
            assert before == 3
        assert sends(log, face.root, "two") == sends(log, face.root, "two")
        assert len(strokes_of(log, face.root)) == 1
        # What came by no phone has no key, however much of it there is.
        keys = [key for (key,) in log.db.execute("SELECT sent_as FROM entry")]
        assert [key for key in keys if key is not None] == ["one", "two"]


def test_what_failed_may_be_sent_again(tmp_path: Path) -> None:
    with bench(tmp_path / "log.lapping") as log:
        face = bramble(log)
        with pytest.raises(BadInput, match="after all"):
            sends_and_fails(log, face.root, "one")
        assert strokes_of(log, face.root) == []
        assert sends(log, face.root, "one") == 3
        assert log.sending is None


@pytest.mark.parametrize("key", ["", "a" * 101, "ä", "a\n"])
def test_what_is_no_key_is_refused(tmp_path: Path, key: str) -> None:
    with (
        bench(tmp_path / "log.lapping") as log,
        pytest.raises(BadInput, match="load the page again"),
        once(log, key),
    ):
        pass


def test_two_at_the_same_moment_are_one(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        face = bramble(log).root
    found: list[int] = []
    together = threading.Barrier(6)

    def sender() -> None:
        with open_log(path) as log:
            together.wait()
            found.append(sends(log, face, "one"))

    threads = [threading.Thread(target=sender) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 6
    assert len(set(found)) == 1
    with open_log(path) as log:
        assert len(strokes_of(log, face)) == 1
        assert troubles(log) == []


def test_a_copy_knows_what_was_sent(tmp_path: Path) -> None:
    with bench(tmp_path / "log.lapping") as log, bench(tmp_path / "copy") as copy:
        face = bramble(log).root
        sends(log, face, "one")
        export_log(log, tmp_path / "folder")
        import_folder(copy, tmp_path / "folder")
        assert everything(copy) == everything(log)
        assert sends(copy, face, "one") == 3
        assert len(strokes_of(copy, face)) == 1
