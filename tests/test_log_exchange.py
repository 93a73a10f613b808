"""A log as a folder and back: every fact the same, or nothing and a sentence."""

from __future__ import annotations

import csv
import hashlib
import json
import shutil
from pathlib import Path

import pytest

from lapping.errors import BadInput, LogFromTheFuture, LogRefused
from lapping.kept import Strokes
from lapping.log.bench import add_note
from lapping.log.entries import keep, take_back
from lapping.log.examine import missing_photos, troubles
from lapping.log.exchange import export_log, import_folder
from lapping.log.files import import_files
from lapping.log.opening import Log
from lapping.log.photos import keep_photo, photo_folder, photos_of
from lapping.log.planes import the_face
from lapping.log.schema import VERSION
from lapping.log.sets import as_readings, sets_of
from tests.made_logs import ROWS, TABLES, bench, bramble, dial_set, everything
from tests.test_log_planes import HARD_NAMES

SAMPLE = Path(__file__).resolve().parents[1] / "sample_measurements"


def full(log: Log, folder: Path) -> None:
    """Put something of everything into a log."""
    for name in HARD_NAMES:
        bramble(log, name.strip())
    face = bramble(log)
    strokes = keep(
        log, Strokes(face=face.root, grade="P240", minutes=0.1 + 0.2, load='"firm",\n')
    )
    add_note(log, strokes, "first line\r\nsecond; 'third'\ttab \u2028 \u202e end")
    begun = dial_set(log, face)
    begun.replace(begun.readings()[0], ("5", "5", "1e-3"))
    begun.take_back(begun.readings()[2])
    begun.skip(3, note="0")
    take_back(log, keep(log, Strokes(face=face.root, grade="P400", count=1)).id)
    import_files(log, [SAMPLE / "bramble_side.csv", SAMPLE / "teasel_twist.csv"])
    photo = folder / "sole.JPG"
    photo.write_bytes(b"\xff\xd8 an invented photo")
    keep_photo(log, face, photo)
    keep_photo(log, face, photo, note="again")
    before = keep_photo(
        log, face, photo, shows="before", corners='"1,2 3,4', toe="left"
    )
    keep_photo(log, face, photo, shows="after", before=before, toe="up")
    keep_photo(
        log, face, photo, shows="scratches", previous_direction="across",
        this_direction="30 deg, or so", toe="right",
    )  # fmt: skip


def test_every_fact_comes_back(tmp_path: Path) -> None:
    with bench(tmp_path / "one.lapping") as log:
        full(log, tmp_path)
        before = everything(log)
        count = export_log(log, tmp_path / "copy")
        assert count == len(before["entry"])
        assert everything(log) == before
    with bench(tmp_path / "two.lapping") as log:
        assert import_folder(log, tmp_path / "copy") == count
        assert everything(log) == before
        assert troubles(log) == missing_photos(log) == []
        face = the_face(log, "Bramble/sole")
        for entry in sets_of(log, face):
            assert len(as_readings(log, entry).readings) == len(ROWS) - 1
        assert len(photos_of(log, face)) == 5
        export_log(log, tmp_path / "again")
    for path in sorted((tmp_path / "copy").rglob("*")):
        twin = tmp_path / "again" / path.relative_to(tmp_path / "copy")
        assert path.is_dir() or path.read_bytes() == twin.read_bytes()


def test_the_folder_opens_in_a_spreadsheet(tmp_path: Path) -> None:
    with bench(tmp_path / "one.lapping") as log:
        full(log, tmp_path)
        export_log(log, tmp_path / "copy")
    with (tmp_path / "copy" / "strokes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["grade"] for row in rows] == ["P240", "P400"]
    assert rows[0]["minutes"] == "0.30000000000000004"
    said = json.loads((tmp_path / "copy" / "log.json").read_text(encoding="utf-8"))
    assert said["version"] == VERSION
    assert said["rows"]["strokes"] == 2
    (photo,) = (tmp_path / "copy" / "photos").iterdir()
    assert photo.stem == hashlib.sha256(photo.read_bytes()).hexdigest()


def test_a_copy_goes_on_where_the_log_stopped(tmp_path: Path) -> None:
    with bench(tmp_path / "one.lapping") as log:
        face = bramble(log)
        export_log(log, tmp_path / "early")
        keep(log, Strokes(face=face.root, grade="P240", count=1))
        export_log(log, tmp_path / "late")
        assert import_folder(log, tmp_path / "early") == 0
        now = everything(log)
    with bench(tmp_path / "two.lapping") as log:
        import_folder(log, tmp_path / "early")
        assert import_folder(log, tmp_path / "late") == 1
        assert everything(log) == now


def test_different_logs_are_not_mixed(tmp_path: Path) -> None:
    with bench(tmp_path / "one.lapping") as log:
        bramble(log)
        export_log(log, tmp_path / "copy")
    with bench(tmp_path / "two.lapping") as log:
        bramble(log, "Teasel")
        before = everything(log)
        with pytest.raises(BadInput, match="are different logs; import it into a new"):
            import_folder(log, tmp_path / "copy")
        assert everything(log) == before


def test_an_export_while_others_write_shows_one_moment(tmp_path: Path) -> None:
    path = tmp_path / "one.lapping"
    with bench(path) as log, bench(path) as other:
        face = bramble(log)
        log.db.execute("BEGIN")
        log.db.execute("SELECT count(*) FROM entry").fetchone()
        keep(other, Strokes(face=face.root, grade="P240", count=1))
        # Inside, because the export has begun; the writer did not wait for it.
        assert log.db.execute("SELECT count(*) FROM strokes").fetchone() == (0,)
        log.db.execute("ROLLBACK")
        export_log(log, tmp_path / "copy")
    with bench(tmp_path / "two.lapping") as log:
        assert import_folder(log, tmp_path / "copy") == 3


def test_a_folder_that_is_there_is_not_written_to(tmp_path: Path) -> None:
    (tmp_path / "copy").mkdir()
    with bench(tmp_path / "one.lapping") as log:
        bramble(log)
        with pytest.raises(BadInput, match="is already there"):
            export_log(log, tmp_path / "copy")
        with pytest.raises(BadInput, match=r"cannot be written .*nothing is left"):
            export_log(log, tmp_path / "none" / "copy")
    assert list((tmp_path / "copy").iterdir()) == []
    assert not list(tmp_path.glob(".export*"))


def test_a_missing_photo_stops_an_export(tmp_path: Path) -> None:
    with bench(tmp_path / "one.lapping") as log:
        full(log, tmp_path)
        (photo,) = photo_folder(log.path).iterdir()
        photo.unlink()
        assert len(missing_photos(log)) == 5
        with pytest.raises(BadInput, match="this photo is missing"):
            export_log(log, tmp_path / "copy")
    assert not (tmp_path / "copy").exists()
    assert not list(tmp_path.glob(".export*"))


def test_a_photo_is_checked_before_it_is_kept(tmp_path: Path) -> None:
    with bench(tmp_path / "one.lapping") as log:
        face = bramble(log)
        (tmp_path / "empty.png").touch()
        (tmp_path / "notes.txt").write_text("no photo", encoding="utf-8")
        for name, said in (
            ("empty.png", "the photo is empty"),
            ("notes.txt", "a photo must end in"),
            ("none.png", "cannot be read"),
        ):
            with pytest.raises(BadInput, match=said):
                keep_photo(log, face, tmp_path / name)
        assert photos_of(log, face) == []
        photo_folder(log.path).write_text("in the way", encoding="utf-8")
        (tmp_path / "sole.png").write_bytes(b"x")
        with pytest.raises(LogRefused, match="the photo cannot be kept"):
            keep_photo(log, face, tmp_path / "sole.png")
        assert photos_of(log, face) == []


def spoil_manifest(copy: Path) -> None:
    (copy / "log.json").write_text("{}", encoding="utf-8")


def newer(copy: Path) -> None:
    said = json.loads((copy / "log.json").read_text(encoding="utf-8"))
    said["version"] = VERSION + 1
    (copy / "log.json").write_text(json.dumps(said), encoding="utf-8")


def cut_table(copy: Path) -> None:
    lines = (copy / "reading.csv").read_bytes().splitlines(keepends=True)
    (copy / "reading.csv").write_bytes(b"".join(lines[:-1]))


def edit(table: str, old: str, new: str) -> object:
    def change(copy: Path) -> None:
        path = copy / f"{table}.csv"
        text = path.read_bytes().decode()
        assert old in text
        path.write_bytes(text.replace(old, new, 1).encode())

    return change


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (spoil_manifest, "is no exported log"),
        (newer, "exported by a newer lapping"),
        (cut_table, "rows and was exported with"),
        (lambda copy: (copy / "log.json").unlink(), "is no exported log"),
        (lambda copy: (copy / "gauge.csv").unlink(), "gauge.csv is missing"),
        (lambda copy: shutil.rmtree(copy / "photos"), "missing or damaged"),
        (edit("plane", "cast iron", ""), "NOT NULL|cannot"),
        (edit("strokes", "P240", "240"), "either of two grits"),
        (edit("reading", '""-12""', '""12""'), "would now be read as"),
        (edit("reading", '""method"": ""dial""', '""method"": ""eye""'), "understood"),
        (edit("entry", ",strokes,", ",plane,"), "has no content, or one"),
        (edit("face", "name", "title"), "are not those of a log"),
        (edit("face", "250.0", "wide"), "could not convert"),
        (edit("face", "250.0", "nan"), "nan is no number"),
        (edit("entry", "1,", 25 * "9" + ","), "is no number that a log can hold"),
        (edit("reading_set", '""unit"", ', '""unit"", ""is"", '), "headers is no list"),
        (edit("photo", ".jpg", "/../../x"), "cannot be named"),
        (edit("photo", ",scratches,", ",hands,"), "'shows' must be one of after, bef"),
        (edit("photo", ",before,,", ",after,,"), "no photo from before strokes on the"),
        (edit("session", "1,", "7,"), "names a number that no session has"),
    ],
)
def test_a_folder_that_was_spoilt_is_refused_whole(
    tmp_path: Path, spoil: object, said: str
) -> None:
    with bench(tmp_path / "one.lapping") as log:
        full(log, tmp_path)
        export_log(log, tmp_path / "copy")
    assert callable(spoil)
    spoil(tmp_path / "copy")
    with bench(tmp_path / "two.lapping") as log:
        with pytest.raises((BadInput, LogFromTheFuture), match=said):
            import_folder(log, tmp_path / "copy")
        assert not any(everything(log).values())
        assert set(everything(log)) == set(TABLES)


def test_a_folder_of_an_older_lapping_comes_in(tmp_path: Path) -> None:
    with bench(tmp_path / "one.lapping") as log:
        bramble(log)
        export_log(log, tmp_path / "copy")
        before = everything(log)
    plane = tmp_path / "copy" / "plane.csv"
    lines = plane.read_text(encoding="utf-8").splitlines()
    assert lines[0].endswith(",weight_g")
    older = "\n".join(line.rpartition(",")[0] for line in lines)
    plane.write_text(older, encoding="utf-8")
    said = json.loads((tmp_path / "copy" / "log.json").read_text(encoding="utf-8"))
    (tmp_path / "copy" / "log.json").write_text(json.dumps(said | {"version": 1}))
    with bench(tmp_path / "two.lapping") as log:
        import_folder(log, tmp_path / "copy")
        assert everything(log) == before
