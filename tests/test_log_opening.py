"""Opening a log where something is wrong: a sentence, and nothing half written."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
import textwrap
from pathlib import Path

import pytest

from lapping.errors import BadInput, LogFromTheFuture, LogRefused
from lapping.history import Plane
from lapping.kept import Strokes
from lapping.log import opening
from lapping.log.bench import strokes_of
from lapping.log.entries import keep
from lapping.log.examine import troubles
from lapping.log.location import where_is_the_log
from lapping.log.opening import open_log, writing
from lapping.log.planes import add_plane, planes, the_face, the_plane
from lapping.log.schema import APPLICATION_ID, VERSION
from lapping.log.sets import as_readings, sets_of
from tests.made_logs import bench, bramble, dial_set, everything

HERE = Path(__file__).resolve().parent


def first_version(path: Path) -> Path:
    """Make a log as the first lapping left it."""
    db = sqlite3.connect(path)
    db.executescript((HERE / "logs" / "version_1.sql").read_text(encoding="utf-8"))
    db.close()
    return path


def in_another(path: Path, code: str) -> subprocess.CompletedProcess[str]:
    """Run code in another process, with the log's path as PATH."""
    head = f"""
        from pathlib import Path
        from lapping.errors import LappingError
        from lapping.log.opening import open_log
        from tests.made_logs import *
        PATH = Path({str(path)!r})
    """
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(head) + textwrap.dedent(code)],
        capture_output=True,
        encoding="utf-8",
        cwd=HERE.parent,
        timeout=120,
    )


@pytest.mark.parametrize(
    ("option", "variable", "found"),
    [
        (None, None, None),
        ("a.lapping", "b.lapping", "a.lapping"),
        (None, "b.lapping", "b.lapping"),
    ],
)
def test_the_option_comes_before_the_variable(
    option: str | None, variable: str | None, found: str | None
) -> None:
    environ = {} if variable is None else {"LAPPING_LOG": variable}
    path = where_is_the_log(option, environ)
    assert path == (None if found is None else Path(found))


@pytest.mark.parametrize("text", ["", "  ", "a\0b"])
def test_a_path_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match=r"--log names no file"):
        where_is_the_log(text, {})
    with pytest.raises(BadInput, match="LAPPING_LOG names no file"):
        where_is_the_log(None, {"LAPPING_LOG": text})


def test_a_new_log_says_what_it_is(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        bramble(log)
        assert log.db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
        assert log.db.execute("PRAGMA synchronous").fetchone() == (2,)
        assert log.db.execute("PRAGMA foreign_keys").fetchone() == (1,)
        assert log.db.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
        assert log.db.execute("PRAGMA user_version").fetchone() == (VERSION,)
    assert [p.name for p in tmp_path.iterdir()] == ["log.lapping"]


def test_there_is_none_to_read(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    with (
        pytest.raises(LogRefused, match=r"there is no log at .* yet"),
        open_log(path, read_only=True),
    ):
        pass
    assert not path.exists()


def test_a_folder_that_is_not_there_and_one_that_is_no_file(tmp_path: Path) -> None:
    for path, said in (
        (tmp_path / "none" / "log.lapping", "there is no folder .*none; make it"),
        (tmp_path, "is a folder; name a file in it"),
        (Path("/proc/log.lapping"), "cannot be opened or made there"),
    ):
        with pytest.raises(LogRefused, match=said), open_log(path):
            pass
    assert list(tmp_path.iterdir()) == []


def test_a_foreign_file_is_left_alone(tmp_path: Path) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_text("Bramble: paper is dead\n" * 50, encoding="utf-8")
    other = tmp_path / "other.db"
    db = sqlite3.connect(other)
    db.execute("CREATE TABLE recipe (name TEXT)")
    db.close()
    for path, said in (
        (notes, "is no log of lapping but some other file"),
        (other, "is a database of another program"),
    ):
        before = path.read_bytes()
        for read_only in (False, True):
            with (
                pytest.raises(LogRefused, match=said),
                open_log(path, read_only=read_only),
            ):
                pass
        assert path.read_bytes() == before


def test_an_empty_file_becomes_a_log(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    path.touch()
    with bench(path) as log:
        bramble(log)
        assert troubles(log) == []


@pytest.mark.parametrize("share", [0.0005, 0.01, 0.3, 0.6, 0.99])
def test_a_file_cut_off_is_refused(tmp_path: Path, share: float) -> None:
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        dial_set(log, bramble(log))
    content = path.read_bytes()
    cut = content[: max(20, int(len(content) * share))]
    path.write_bytes(cut)
    for read_only in (False, True):
        with (
            pytest.raises(LogRefused, match="cut off: a part of the log is missing"),
            open_log(path, read_only=read_only),
        ):
            pass
    assert path.read_bytes() == cut


def test_damage_inside_is_found(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        dial_set(log, bramble(log))
        (page,) = log.db.execute(
            "SELECT rootpage FROM sqlite_schema WHERE name = 'reading'"
        ).fetchone()
        (size,) = log.db.execute("PRAGMA page_size").fetchone()
    content = bytearray(path.read_bytes())
    content[(page - 1) * size : page * size] = b"\x55" * size
    path.write_bytes(content)
    with bench(path) as log:
        with pytest.raises(LogRefused, match="the log is damaged"), writing(log):
            log.db.execute("SELECT * FROM reading").fetchall()
        assert "the file is damaged" in troubles(log)[0]


@pytest.mark.parametrize("read_only", [False, True])
def test_a_newer_log_is_refused_and_left_alone(tmp_path: Path, read_only: bool) -> None:
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        bramble(log)
        log.db.execute(f"PRAGMA user_version = {VERSION + 1}")
    before = path.read_bytes()
    said = f"made by a newer lapping .version {VERSION + 1}.*update lapping"
    with (
        pytest.raises(LogFromTheFuture, match=said),
        open_log(path, read_only=read_only),
    ):
        pass
    assert path.read_bytes() == before


def test_a_first_log_is_brought_up_to_date_with_a_copy_first(tmp_path: Path) -> None:
    path = first_version(tmp_path / "log.lapping")
    with (
        pytest.raises(LogRefused, match="made by an older lapping"),
        open_log(path, read_only=True),
    ):
        pass
    old = sqlite3.connect(path)
    rows = {t: old.execute(f"SELECT * FROM {t}").fetchall() for t in ("entry", "plane")}
    old.close()
    with bench(path) as log:
        assert log.backup == tmp_path / "log.lapping.before-version-2.1"
        assert log.db.execute("PRAGMA user_version").fetchone() == (VERSION,)
        assert log.db.execute("SELECT * FROM entry").fetchall() == [
            (*row, None) for row in rows["entry"]
        ]
        plane = the_plane(log, "Bramble").fact
        assert (plane.bed_deg, plane.weight_g) == (45, None)
        face = the_face(log, "Bramble/sole")
        (entry,) = sets_of(log, face)
        assert [one.entered_as for one in as_readings(log, entry).readings] == [
            "0", "-12", "4", "2",
        ]  # fmt: skip
        assert strokes_of(log, face.root)[0].fact == Strokes(
            face=2, grade="P240", count=100, load="light", lubricant="dry",
            fresh_sheet=True,
        )  # fmt: skip
        assert troubles(log) == []
        backup = log.backup
        add_plane(log, Plane(name="Teasel", weight_g=1800))
    copy = sqlite3.connect(backup)
    assert copy.execute("PRAGMA user_version").fetchone() == (1,)
    assert copy.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    assert copy.execute("SELECT * FROM plane").fetchall() == rows["plane"]
    copy.close()
    with bench(path) as log:
        assert log.backup is None
        assert [one.fact.weight_g for one in planes(log)] == [None, 1800]


def test_a_migration_that_fails_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = first_version(tmp_path / "log.lapping")
    steps = (
        *opening.MIGRATIONS[:1],
        (*opening.MIGRATIONS[1], "CREATE TABLE entry (a)"),
    )
    monkeypatch.setattr(opening, "MIGRATIONS", steps)
    with pytest.raises(sqlite3.OperationalError, match="already exists"), bench(path):
        pass
    db = sqlite3.connect(path)
    assert db.execute("PRAGMA user_version").fetchone() == (1,)
    assert len(db.execute("PRAGMA table_info(plane)").fetchall()) == 8
    db.close()
    monkeypatch.undo()
    with bench(path) as log:
        assert log.backup == tmp_path / "log.lapping.before-version-2.2"


LIMITED = """
    import resource, signal
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    count = 0
    with bench(PATH) as log:
        begun = take_up_first(log)
        resource.setrlimit(resource.RLIMIT_FSIZE, (LIMIT, LIMIT))
        try:
            while True:
                begun.add(("5", "5", str(count % 50)))
                count += 1
                print(count, flush=True)
        except LappingError as refused:
            print(refused, flush=True)
"""
TAKE_UP = """
    from lapping.log.entering import take_up
    from lapping.log.sets import open_sets
    def take_up_first(log):
        return take_up(log, open_sets(log)[0].root)
"""


def test_a_full_disk_is_said_and_nothing_is_half_written(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        dial_set(log, bramble(log), [])
    limit = path.stat().st_size + 100_000
    ran = in_another(path, TAKE_UP + f"    LIMIT = {limit}\n" + LIMITED)
    *counts, said = ran.stdout.splitlines()
    assert ran.stderr == ""
    assert "the disk" in said
    assert "nothing was written" in said
    with bench(path) as log:
        (kept,) = log.db.execute("SELECT count(*) FROM reading").fetchone()
        assert kept == int(counts[-1]) > 5
        assert troubles(log) == []
        dial_set(log, the_face(log, "Bramble/sole"))


def test_a_log_that_may_only_be_read(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        bramble(log)
        before = everything(log)
    content = path.read_bytes()
    os.chmod(path, 0o444)
    os.chmod(tmp_path, 0o555)
    for folder in tmp_path.parents:
        if folder.stat().st_uid == os.getuid() and folder != Path(
            tempfile.gettempdir()
        ):
            os.chmod(folder, folder.stat().st_mode | 0o055)
    code = """
        import os
        from lapping.log.planes import planes
        # Nobody may not be allowed to read the sources, so all is loaded before.
        make_face("sole", SOLE)
        if os.getuid() == 0:
            os.setgid(65534)
            os.setuid(65534)
        with open_log(PATH, read_only=True) as log:
            print([one.fact.name for one in planes(log)])
        try:
            with open_log(PATH) as log:
                bramble(log, "Teasel")
        except LappingError as refused:
            print(refused)
    """
    try:
        ran = in_another(path, code)
    finally:
        os.chmod(tmp_path, 0o755)
        os.chmod(path, 0o644)
    assert ran.stderr == ""
    names, said = ran.stdout.splitlines()
    assert names == "['Bramble']"
    assert "the log" in said
    assert path.read_bytes() == content
    with bench(path) as log:
        assert everything(log) == before


def test_a_log_that_another_keeps_to_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.lapping"
    monkeypatch.setattr(opening, "WAIT_SECONDS", 0.05)
    with bench(path) as log, bench(path) as other:
        bramble(log)
        with writing(log):
            with pytest.raises(LogRefused, match="another program has been writing"):
                bramble(other, "Teasel")
            assert len(planes(other)) == 1
        bramble(other, "Teasel")
        assert len(planes(log)) == 2


ENTER = """
    import sys
    with bench(PATH) as log:
        face = bramble(log, sys.argv[1])
        begun = dial_set(log, face, [])
        for number in range(40):
            begun.add((str(5 + number), "5", str(number)))
"""


def test_two_who_begin_and_enter_at_once(tmp_path: Path) -> None:
    path = tmp_path / "log.lapping"
    code = textwrap.dedent(f"""
        from pathlib import Path
        from tests.made_logs import *
        PATH = Path({str(path)!r})
    """) + textwrap.dedent(ENTER)
    running = [
        subprocess.Popen(
            [sys.executable, "-c", code, name],
            cwd=HERE.parent,
            stderr=subprocess.PIPE,
            encoding="utf-8",
        )
        for name in ("Bramble", "Teasel", "Sorrel")
    ]
    for one in running:
        assert one.communicate(timeout=120)[1] == ""
        assert one.returncode == 0
    with bench(path) as log:
        assert {one.fact.name for one in planes(log)} == {"Bramble", "Teasel", "Sorrel"}
        for name in ("Bramble", "Teasel", "Sorrel"):
            (entry,) = sets_of(log, the_face(log, f"{name}/sole"))
            typed = log.db.execute(
                'SELECT cells FROM reading WHERE "set" = ? ORDER BY id', (entry.root,)
            ).fetchall()
            assert [t for (t,) in typed] == [
                f'["{5 + n}", "5", "{n}"]' for n in range(40)
            ]
        assert troubles(log) == []


def test_text_that_is_none_is_refused(tmp_path: Path) -> None:
    with bench(tmp_path / "log.lapping") as log:
        face = bramble(log).root
        before = everything(log)
        with pytest.raises(BadInput, match="no text"):
            keep(log, Strokes(face=face, grade="P240", count=1, load="\ud800"))
        assert everything(log) == before


def test_a_look_does_not_end_the_locks_of_the_same_process(tmp_path: Path) -> None:
    """Another program that closes the log last would tidy it up under a server."""
    path = tmp_path / "log.lapping"
    with bench(path) as log:
        bramble(log)
        for read_only in (True, False):
            with open_log(path, read_only=read_only):
                pass
            ran = in_another(
                path, "with bench(PATH) as log: log.db.execute('SELECT 1')"
            )
            assert ran.returncode == 0, ran.stderr
            # What was written ahead is still there to be read by both.
            assert path.with_name("log.lapping-wal").exists()
        dial_set(log, the_face(log, "Bramble/sole"))
        assert troubles(log) == []
