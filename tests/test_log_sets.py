"""Reading sets in the log: what was typed comes back as from a file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from lapping.errors import BadInput
from lapping.history import Strokes
from lapping.kept import Gauge
from lapping.log.bench import add_named
from lapping.log.entering import start_set, take_up
from lapping.log.entries import keep, take_back
from lapping.log.examine import troubles
from lapping.log.files import import_files
from lapping.log.look_back import newest_sets, readings_held
from lapping.log.opening import Log
from lapping.log.planes import face_without_a_plane, faces
from lapping.log.sets import (
    as_readings,
    open_sets,
    readings_of,
    state_of,
    the_set,
)
from lapping.readings import DialReading, FeelerReading
from lapping.readings_file.reading import read_file
from tests.files_as_typed import EDGE_GAPS, EDGE_LEAVES, LEVEL, SQUARE, WINDING
from tests.made_logs import (
    COLUMNS,
    DIAL,
    ROWS,
    SOLE,
    Clock,
    bench,
    bramble,
    dial_set,
    everything,
)

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = sorted((ROOT / "sample_measurements").glob("*.csv"))
BLOCK = """\
# a remark of no use
# method: dial
# face: sole
# length: 250 mm
# width: 60 mm
# unit: mm
# sense: low-positive
across\\along;10;125,5;240;
5;0,01;;-0,02
55;0;0,005;0,01
"""
TYPED = {
    "gaps": EDGE_GAPS,
    "leaves": EDGE_LEAVES,
    "level": LEVEL,
    "winding": WINDING,
    "square": SQUARE,
    "block": BLOCK,
}


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Log]:
    with bench(tmp_path / "log.lapping") as opened:
        yield opened


@pytest.mark.parametrize(
    "path", [p for p in SAMPLES if "nettle" not in p.name], ids=lambda path: path.name
)
def test_a_sample_comes_back_from_the_log_as_from_its_file(
    log: Log, path: Path
) -> None:
    (entry,) = import_files(log, [path])
    assert as_readings(log, entry) == read_file(path)
    assert state_of(log, entry.root) == "finished"
    assert entry.fact.original == path.read_text(encoding="utf-8")
    assert troubles(log) == []


@pytest.mark.parametrize("name", TYPED)
def test_every_kind_of_file_comes_back(log: Log, tmp_path: Path, name: str) -> None:
    path = tmp_path / "face.csv"
    path.write_text(TYPED[name], encoding="utf-8")
    (entry,) = import_files(log, [path])
    assert as_readings(log, entry) == read_file(path)
    assert troubles(log) == []


def test_units_said_beside_a_file_are_kept(log: Log, tmp_path: Path) -> None:
    path = tmp_path / "face.csv"
    path.write_text(BLOCK.replace("# unit: mm\n", ""), encoding="utf-8")
    (entry,) = import_files(log, [path], units="thou")
    assert as_readings(log, entry) == read_file(path, units="thou")


def test_one_bad_file_keeps_all_out(log: Log, tmp_path: Path) -> None:
    good, bad = tmp_path / "good.csv", tmp_path / "bad.csv"
    good.write_text(EDGE_GAPS, encoding="utf-8")
    bad.write_text(EDGE_GAPS.replace("0.03", "much"), encoding="utf-8")
    face = bramble(log)
    before = everything(log)
    with pytest.raises(BadInput, match=r"bad.csv, line 9.*\n.*missing.csv"):
        import_files(log, [good, bad, tmp_path / "missing.csv"])
    with pytest.raises(BadInput, match=r"planer_table.csv: its face .* is not Bramble"):
        import_files(
            log, [good, ROOT / "sample_measurements" / "planer_table.csv"], face=face
        )
    assert everything(log) == before


def test_a_typed_set_reads_as_the_same_file_would(log: Log, tmp_path: Path) -> None:
    begun = dial_set(log, bramble(log))
    path = tmp_path / "typed.csv"
    header = (("method", "dial"), *SOLE, *DIAL)
    lines = [f"# {key}: {value}" for key, value in header]
    lines += [",".join(row) for row in (COLUMNS, *ROWS)]
    path.write_text("\n".join(lines), encoding="utf-8")
    from_file, from_log = read_file(path), begun.finish()
    for name in ("method", "face", "unit", "step_um", "sense", "target_um"):
        assert getattr(from_file, name) == getattr(from_log, name)
    assert [one.entered_as for one in from_log.readings] == ["0", "-12", "4", "2"]
    assert from_log.source == f"Bramble/sole, set {begun.number}"


def test_a_reading_is_kept_at_once_and_found_by_another(
    log: Log, tmp_path: Path
) -> None:
    begun = dial_set(log, bramble(log), [])
    for count, row in enumerate(ROWS, start=1):
        begun.add(row)
        with bench(tmp_path / "log.lapping") as other:
            assert readings_held(other, begun.number) == count


def test_a_reading_that_is_refused_leaves_nothing(log: Log) -> None:
    begun = dial_set(log, bramble(log))
    before = everything(log)
    for row, said in (
        (("5", "5", "deep"), "'deep' is not a number"),
        (("5", "5", ""), "reading is blank"),
        (("500", "5", "1"), "off the face"),
        (("5", "5"), "2 cells under 3 columns"),
        (("5", "5", "30mm"), "beyond ±20 mm"),
    ):
        with pytest.raises(BadInput, match=said):
            begun.add(row)
    assert everything(log) == before


def test_a_reading_can_be_corrected_taken_back_and_had_again(log: Log) -> None:
    begun = dial_set(log, bramble(log))
    first = begun.readings()[1]
    second = begun.replace(first, ("125", "30", "-1.5"))

    def values() -> list[float]:
        found = begun.as_readings().readings
        return [one.value_um for one in found if isinstance(one, DialReading)]

    assert values() == [0, -1.5, 4, 2]
    begun.take_back(second)
    assert values() == [0, -12, 4, 2]
    # Not to the correction again: the two would give way to each other for ever.
    begun.take_back(begun.readings()[1])
    assert values() == [0, 4, 2]
    begun.bring_back(second)
    assert values() == [0, -1.5, 4, 2]
    begun.take_back(begun.readings()[2])
    assert values() == [0, -1.5, 2]
    begun.bring_back(first)
    assert values() == [0, -12, 2]
    assert troubles(log) == []


def test_skipping_and_reading_a_place_after_all(log: Log) -> None:
    face = bramble(log)
    places = tuple(row[:2] for row in ROWS)
    begun = start_set(log, face, "dial", COLUMNS, headers=DIAL, places=places)
    begun.add(ROWS[0], place=0)
    skipped = begun.skip(1, note="chip in the way")
    assert readings_held(log, begun.number) == 1
    again = take_up(log, begun.number)
    assert again.entry.fact.places == places
    assert [one.fact.skipped for one in again.readings()] == [False, True]
    again.replace(skipped, ROWS[1])
    assert [one.fact.place for one in again.readings()] == [0, 1]
    assert [one.fact.skipped for one in again.readings()] == [False, False]


def test_the_leaf_that_stops_is_known_from_the_set(log: Log) -> None:
    settings = (("unit", "mm"), ("leaves", "0.05, 0.1, 0.2"))
    leaves = add_named(log, Gauge(name="leaves", method="feeler", settings=settings))
    columns = ("along", "across", "goes", "stops")
    begun = start_set(log, bramble(log), "feeler", columns, gauge=leaves)
    kept = begun.add({"along": "5", "across": "0", "goes": "0.05"})
    assert isinstance(kept.fact.understood, FeelerReading)
    assert kept.fact.understood.stops_um == 100
    assert begun.entry.fact.gauge == leaves.root


def test_a_set_that_shows_nothing_stays_open(log: Log) -> None:
    face = bramble(log)
    begun = dial_set(log, face, ROWS[:2])
    with pytest.raises(BadInput, match="readings at 2 places cannot show a plane"):
        begun.finish()
    assert [one.root for one in open_sets(log, face)] == [begun.number]
    begun.add(ROWS[2])
    with pytest.raises(BadInput, match="on one line"):
        begun.finish()
    begun.add(ROWS[3])
    begun.finish()
    assert open_sets(log) == []
    take_up(log, begun.number)
    assert [one.root for one in open_sets(log)] == [begun.number]
    begun.set_aside()
    assert open_sets(log) == []
    assert state_of(log, begun.number) == "set aside"


def test_the_newest_open_set_comes_first(log: Log) -> None:
    face = bramble(log)
    numbers = [dial_set(log, face, []).number for _ in range(3)]
    assert [one.root for one in open_sets(log)] == numbers[::-1]
    assert open_sets(log, bramble(log, "Teasel")) == []


def test_one_place_of_a_line_is_read_once_a_seating(log: Log) -> None:
    columns = ("line", "along", "across", "reading", "seat")
    begun = start_set(
        log, bramble(log), "straightedge", columns, headers=(("unit", "mm"),)
    )
    first = begun.add(("left", "10", "5", "0.02", "a"))
    with pytest.raises(BadInput, match=r"line 'left' was read .*\(0.02\)"):
        begun.add(("left", "10", "5", "0.03", "a"))
    begun.add(("left", "10", "5", "0.03", "b"))
    begun.replace(first, ("left", "10", "5", "0.04", "a"))
    assert len(begun.readings()) == 2


@pytest.mark.parametrize(
    ("columns", "headers", "said"),
    [
        (("along", "reading"), DIAL, "the column 'across' is missing"),
        (COLUMNS, (("unit", "um"),), "which way the dial counts"),
        (COLUMNS, (*DIAL, ("sense", "up")), "'up' is not known"),
    ],
)
def test_a_set_that_could_not_be_read_is_not_begun(
    log: Log,
    columns: tuple[str, ...],
    headers: tuple[tuple[str, str], ...],
    said: str,
) -> None:
    face = bramble(log)
    before = everything(log)
    with pytest.raises(BadInput, match=said):
        start_set(log, face, "dial", columns, headers=headers)
    assert everything(log) == before
    with pytest.raises(BadInput, match="there is no set 77"):
        the_set(log, 77)
    with pytest.raises(BadInput, match="there is no set 1 "):
        the_set(log, 1)
    with pytest.raises(BadInput, match="there is no set 1000"):
        the_set(log, 10**30)


def test_a_face_is_checked_by_what_was_read_since_the_last_strokes(
    tmp_path: Path,
) -> None:
    clock = Clock()
    with bench(tmp_path / "log.lapping", clock) as log:
        face = bramble(log)
        with pytest.raises(BadInput, match="no finished reading set is in the log"):
            newest_sets(log, face)
        old = dial_set(log, face)
        old.finish()
        clock.forward(24)
        log.session = None
        first = dial_set(log, face)
        first.finish()
        second = dial_set(log, face)
        assert [one.root for one in newest_sets(log, face)] == [first.number]
        second.finish()
        both = [first.number, second.number]
        assert [one.root for one in newest_sets(log, face)] == both
        keep(log, Strokes(face=face.root, grade="P240", count=10))
        assert [one.root for one in newest_sets(log, face)] == both
        third = dial_set(log, face)
        third.finish()
        assert [one.root for one in newest_sets(log, face)] == [third.number]


def test_a_loose_face_is_the_one_of_its_outline(log: Log) -> None:
    sample = ROOT / "sample_measurements" / "clover_passes.csv"
    (first,) = import_files(log, [sample])
    with pytest.raises(BadInput, match=f"already .entry {first.root}, sole-165x50mm"):
        import_files(log, [sample])
    take_back(log, first.root)
    import_files(log, [sample])
    assert [one.fact.name for one in faces(log)] == ["sole-165x50mm"]
    face = faces(log)[0]
    assert face == face_without_a_plane(log, face.fact.settings)
    assert len(readings_of(log, newest_sets(log, face)[0].root)) == 22
