"""Photos in the log: what they show and what was said of them, as typed."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lapping.errors import BadInput, LogRefused
from lapping.history import Photo
from lapping.log.entries import bring_back, replace, take_back
from lapping.log.examine import troubles
from lapping.log.opening import Log
from lapping.log.photos import keep_photo, kept_at, photo_before, photos_of
from lapping.log.planes import FaceEntry, the_face
from lapping.log.schema import MIGRATIONS, VERSION
from tests.made_logs import bench, bramble
from tests.said import Run
from tests.test_log_opening import first_version

CORNERS = "210,92 520,130 690,1130 60,1010"


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with bench(tmp_path / "bench.lapping") as opened:
        yield opened


@pytest.fixture
def sole(tmp_path: Path) -> Path:
    path = tmp_path / "sole.jpg"
    path.write_bytes(b"\xff\xd8 an invented photo")
    return path


def three(log: Log, face: FaceEntry, sole: Path) -> None:
    before = keep_photo(log, face, sole, shows="before", corners=CORNERS)
    keep_photo(log, face, sole, shows="after", before=before, toe="left", note="dull")
    keep_photo(
        log, face, sole, shows="scratches", toe="up", previous_direction="across",
        this_direction="45deg",
    )  # fmt: skip


def test_what_was_said_is_kept_as_typed(log: Log, sole: Path) -> None:
    face = bramble(log)
    three(log, face, sole)
    before, after, scratches = photos_of(log, face)
    assert photos_of(log, face, "after") == [after]
    assert before.fact.corners == CORNERS
    assert (after.fact.before, after.fact.toe) == (before.root, "left")
    assert scratches.fact.previous_direction == "across"
    assert scratches.fact.this_direction == "45deg"
    assert photo_before(log, after) == before
    assert photo_before(log, before) is None
    assert kept_at(log, after).read_bytes() == sole.read_bytes()
    assert troubles(log) == []


def test_the_one_before_may_be_taken_back_or_corrected(log: Log, sole: Path) -> None:
    face = bramble(log)
    three(log, face, sole)
    before, after, _ = photos_of(log, face)
    take_back(log, before.id)
    assert photo_before(log, after) is None
    bring_back(log, before.id)
    assert photo_before(log, after) is not None
    corrected = Photo(
        face=face.root, sha256=before.fact.sha256, ending=".jpg",
        size=before.fact.size, shows="before", toe="down",
    )  # fmt: skip
    (now,) = photos_of(log, face, "before")
    replace(log, now.id, corrected)
    found = photo_before(log, after)
    assert found is not None
    assert found.fact == corrected
    assert troubles(log) == []


def test_only_a_photo_from_before_on_the_same_face_goes_with_one(
    log: Log, sole: Path
) -> None:
    face, other = bramble(log), bramble(log, "Teasel")
    three(log, face, sole)
    before, after, scratches = photos_of(log, face)
    for one, on in ((after, face), (scratches, face), (before, other)):
        with pytest.raises(BadInput, match=f"entry {one.id} is no photo of this face"):
            keep_photo(log, on, sole, shows="after", before=one)
    assert len(photos_of(log, other)) == 0


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ({"shows": "hands"}, "'shows' must be one of after, before, scratches"),
        ({"toe": "north"}, "'toe' must be one of left, right, up, down"),
        ({"corners": ""}, "corners: nothing is said"),
        ({"before": 3}, "only a photo taken after strokes has one"),
        ({"shows": "before", "before": 3}, "only a photo taken after strokes has"),
        ({"shows": "after", "this_direction": "along"}, "of scratches only"),
        ({"previous_direction": "along"}, "of scratches only"),
    ],
)
def test_what_no_photo_can_have_said_of_it(said: dict[str, Any], sentence: str) -> None:
    with pytest.raises(BadInput, match=sentence):
        Photo(face=2, sha256="0" * 64, ending=".jpg", size=1, **said)


def test_a_photo_that_is_gone_is_said(log: Log, sole: Path) -> None:
    (entry,) = [keep_photo(log, bramble(log), sole)]
    kept_at(log, entry).write_bytes(b"another")
    with pytest.raises(LogRefused, match="this photo is missing or damaged"):
        kept_at(log, entry)


def test_photos_kept_before_are_still_there(tmp_path: Path) -> None:
    """A log of the second schema, with a photo as that kept it."""
    path = first_version(tmp_path / "old.lapping")
    db = sqlite3.connect(path, isolation_level=None)
    for step in MIGRATIONS[1]:
        db.execute(step)
    db.execute(
        "INSERT INTO entry VALUES (10, 10, NULL, 'photo', 0, 1, "
        "'2030-01-05T18:40:00+00:00')"
    )
    db.execute(
        "INSERT INTO photo VALUES (10, 2, ?, '.jpg', 7, 'a remark')", ("a" * 64,)
    )
    db.execute("PRAGMA user_version = 2")
    db.close()
    with bench(path) as log:
        assert log.backup == tmp_path / "old.lapping.before-version-3.1"
        assert log.db.execute("PRAGMA user_version").fetchone() == (VERSION,)
        (entry,) = photos_of(log, the_face(log, "Bramble/sole"))
        assert entry.fact == Photo(
            face=2, sha256="a" * 64, ending=".jpg", size=7, note="a remark"
        )
        assert troubles(log) == []


def test_the_file_itself_refuses_what_no_photo_shows(log: Log, sole: Path) -> None:
    keep_photo(log, bramble(log), sole)
    for column, value in (("shows", "hands"), ("toe", "north"), ("corners", "")):
        with pytest.raises(sqlite3.IntegrityError):
            log.db.execute(
                f"INSERT INTO photo (id, face, sha256, ending, size, {column}) "
                "VALUES (1, 2, ?, '.jpg', 1, ?)",
                ("b" * 64, value),
            )


def test_the_history_tells_of_photos_in_words(
    run: Run, tmp_path: Path, sole: Path
) -> None:
    with bench(tmp_path / "bench.lapping") as log:
        face = bramble(log)
        keep_photo(log, face, sole)
        three(log, face, sole)
    said = run("log", "show", "Bramble/sole")
    assert said.code == 0, said.err
    start = photos_start(said.out)
    assert [
        line.split("  ", 2)[2].replace(start, "HASH.jpg") for line in lines(said.out)
    ] == [
        "photo, HASH.jpg",
        f"photo before strokes, HASH.jpg, corners {CORNERS}",
        "photo after strokes, HASH.jpg, the one before them is 4, toe left, 'dull'",
        "photo of scratches, HASH.jpg, the last grit ran across, this one runs 45deg, "
        "toe up",
    ]
    assert "photo after strokes" in run("log", "show", "5").out


def lines(out: str) -> list[str]:
    return [line for line in out.splitlines() if "photo" in line]


def photos_start(out: str) -> str:
    return lines(out)[0].partition("photo, ")[2].strip()
