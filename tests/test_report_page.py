"""The report: valid, by itself, readable for all, and its figures those of `check`."""

from __future__ import annotations

import base64
import io
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest
from matplotlib.figure import Figure
from PIL import Image

from lapping.advice.case import look_at
from lapping.api import report as words_of
from lapping.errors import LogRefused, TooFewReadings
from lapping.from_log.job import job_of
from lapping.from_log.report import report_html
from lapping.html.document import STYLE
from lapping.html.lengths import Lengths
from lapping.kept import Plane, Strokes
from lapping.log.entries import keep
from lapping.log.files import import_files
from lapping.log.opening import Log
from lapping.log.photos import keep_photo, photo_folder
from lapping.log.planes import (
    FaceEntry,
    add_face,
    add_plane,
    faces,
    make_face,
    the_face,
    the_plane,
)
from tests.made_logs import Clock, bench
from tests.made_sessions import evenings
from tests.said import Run

SAMPLES = Path(__file__).resolve().parents[1] / "sample_measurements"
NAME = 'Bramble <b>"&$a^$'
TANSY = (
    ("face", "sole"),
    ("length", "245mm"),
    ("width", "62mm"),
    ("mouth", "80 mm to 86 mm, across 5.5 mm to 56.5 mm"),
)


def photo_with_gps(folder: Path) -> Path:
    """Give a photo that says in EXIF where it was taken, as a phone does."""
    path = folder / "after.jpg"
    exif = Image.Exif()
    exif[0x010E] = "kitchen table"
    exif.get_ifd(0x8825)[2] = (48.0, 51.0, 29.0)
    with Image.open(SAMPLES / "tansy_after.jpg") as taken:
        taken.save(path, exif=exif)
    assert b"kitchen table" in path.read_bytes()
    return path


@pytest.fixture(scope="module")
def log(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Log]:
    folder = tmp_path_factory.mktemp("bench")
    clock = Clock()
    with bench(folder / "bench.lapping", clock) as opened:
        face = evenings(opened, clock, 3, name=NAME, settings=TANSY)
        before = keep_photo(
            opened, face, SAMPLES / "tansy_before.jpg", shows="before", toe="left"
        )
        keep_photo(
            opened,
            face,
            photo_with_gps(folder),
            shows="after",
            before=before,
            toe="left",
        )
        evenings(opened, clock, 2, name="Sorrel")
        yield opened


@pytest.fixture(scope="module")
def unphotographed(log: Log) -> FaceEntry:
    return the_face(log, "Sorrel/sole")


@pytest.fixture(scope="module")
def face(log: Log) -> FaceEntry:
    return the_face(log, f"{NAME}/sole")


@pytest.fixture(scope="module")
def page(log: Log, face: FaceEntry) -> str:
    return report_html(log, face)


@pytest.fixture(scope="module")
def tree(page: str) -> Element:
    # Raises at the first mistake that the HTML standard knows.
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    parsed = parser.parse(page)
    assert isinstance(parsed, Element)
    return parsed


def text_of(one: Element) -> str:
    return " ".join("".join(one.itertext()).split())


def rows_of(tree: Element, caption: str) -> dict[str, list[str]]:
    """Give the rows of the table whose caption holds these words."""
    for table in tree.iter("table"):
        said = table.find("caption")
        if said is not None and caption in text_of(said):
            return {
                text_of(row[0]): [text_of(cell) for cell in row[1:]]
                for row in table.iter("tr")
            }
    raise AssertionError(caption)


def test_it_is_valid_html_in_a_language(tree: Element) -> None:
    assert tree.get("lang") == "en"
    title = tree.find("head/title")
    assert title is not None
    assert text_of(title) == f"{NAME}/sole: how flat, how sure"


def test_nothing_is_fetched_and_no_id_comes_twice(page: str) -> None:
    links = re.findall(r'(?:src|href)="([^"]*)"|url\(([^)]*)\)|(@import)', page)
    for link in links:
        assert "".join(link).startswith(("#", "data:image/")), link
    ids = re.findall(r'\bid="([^"]*)"', page)
    assert len(ids) == len(set(ids))
    for target in re.findall(r'url\(#([^)]+)\)|href="#([^"]+)"', page):
        assert "".join(target) in ids


def test_headings_go_down_one_by_one_and_pictures_are_told(tree: Element) -> None:
    body = tree.find("body")
    assert body is not None
    levels = [int(one.tag[1]) for one in body.iter() if re.fullmatch(r"h\d", one.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(low <= high + 1 for high, low in pairwise(levels))
    images = list(body.iter("img"))
    assert images
    assert all(len(one.get("alt", "")) > 20 for one in images)
    drawn = [one for one in body.iter() if one.tag.endswith("svg")]
    assert len(drawn) >= 4
    for one in drawn:
        assert one.get("role") == "img"
        assert len(one.get("aria-label", "")) > 20
    for table in body.iter("table"):
        assert table.find("caption") is not None
        assert all(cell.get("scope") in {"col", "row"} for cell in table.iter("th"))


def test_text_stands_out_from_its_ground() -> None:
    """At least 7 to 1, level AAA of WCAG 2.2 (success criterion 1.4.6)."""
    grounds = {"#fff", "#ececec"}
    colours = set(re.findall(r"(?<!-)\bcolor: (#\w+)", STYLE))
    assert colours >= {"#1a1a1a", "#444"}
    for colour in colours:
        for ground in grounds:
            light, dark = luminance(ground), luminance(colour)
            assert (light + 0.05) / (dark + 0.05) >= 7


def luminance(colour: str) -> float:
    """Give the relative luminance that WCAG 2.2 defines."""
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    linear = [
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in parts
    ]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def test_the_figures_are_those_of_the_answer(
    log: Log, face: FaceEntry, tree: Element
) -> None:
    answer = look_at(job_of(log, face)).answer
    assert answer is not None
    assert answer.least_squares is not None
    rows = rows_of(tree, "ISO 12781")
    head = next(iter(rows.values()))
    assert head == ["Name in the standard", "µm", "thou"]
    name, um, thou = rows["Highest place over it"]
    assert name.startswith("FLTp")
    assert float(um) == pytest.approx(answer.least_squares.peak_um, rel=0.05)
    assert float(thou) == pytest.approx(float(um) / 25.4, abs=0.06)
    likely = answer.likely.likely_um
    assert likely is not None
    assert f"likely {likely:.0f} µm (" in words_of(answer) + text_of(tree)
    assert f"likely {likely:.0f} µm (" in text_of(tree)
    twist = next(cells for words, cells in rows.items() if words.startswith("Twist"))
    found = answer.form.twist
    assert found is not None
    size, doubt = map(float, twist[1].split(" ± "))
    assert size == pytest.approx(abs(found.um), abs=doubt / 2)
    assert doubt == pytest.approx(2 * found.u_um, rel=0.1)


def test_every_time_is_in_the_history(tree: Element) -> None:
    rows = rows_of(tree, "Every time it was looked at")
    assert len(rows) == 1 + 3
    assert next(iter(rows.values()))[-1] == "Bears"
    assert list(rows.values())[-1][-1].endswith(" %")


def test_inches_come_first_where_they_are_asked_for(
    log: Log, unphotographed: FaceEntry
) -> None:
    text = report_html(log, unphotographed, units="thou")
    assert "Sole 9.84 × 2.36 in (250 × 60 mm)" in text
    assert re.search(r"likely [\d.]+ thou \([\d.]+ µm\)", text)
    lengths = Lengths(first="thou")
    # 0.001 in is 25.4 µm exactly (international inch, 1959).
    assert lengths.said(25.4, 12.7) == "1.0 ± 0.5 thou (25 ± 13 µm)"
    assert lengths.ends(0.0, None) == ("at least 0", "at least 0")


def test_photos_are_small_and_do_not_say_where_they_were_taken(page: str) -> None:
    assert len(page.encode()) < 1_500_000
    (coded,) = re.findall(r'src="data:image/jpeg;base64,([^"]*)"', page)
    content = base64.b64decode(coded)
    assert b"Exif" not in content
    assert b"kitchen" not in content
    with Image.open(io.BytesIO(content)) as shown:
        assert dict(shown.getexif()) == {}
        assert max(shown.size) <= 2500
    # The photo and the straight view of it have colours beside those of the map.
    assert "The photo with the face found in it" in page


def test_names_are_text(page: str) -> None:
    assert "<b>" not in page
    assert "<h1>Bramble &lt;b&gt;&quot;&amp;$a^$/sole</h1>" in page


def test_the_page_is_the_same_twice(log: Log, unphotographed: FaceEntry) -> None:
    assert report_html(log, unphotographed) == report_html(log, unphotographed)


def test_an_exported_folder_has_a_report_too(run: Run, tmp_path: Path) -> None:
    assert run("log", "import", str(SAMPLES / "bramble_side.csv")).code == 0
    assert run("log", "export", "kept").code == 0
    ran = run("report", "kept")
    assert ran.code == 0, ran.err
    assert (tmp_path / "side-200x42mm_report.html").is_file()
    # Written anew, because it is ours.
    assert run("report", "kept").code == 0


def test_the_map_stands_beside_a_photo_of_the_same_time_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    beside: list[object] = []

    def drawn(seen: object, found: object) -> Figure:
        beside.append(found)
        return Figure()

    monkeypatch.setattr("lapping.html.bears.contact_picture", drawn)
    clock = Clock()
    with bench(tmp_path / "bench.lapping", clock) as opened:
        face = evenings(opened, clock, 1, settings=TANSY)
        after = SAMPLES / "tansy_after.jpg"
        keep_photo(opened, face, after, shows="after", toe="left")
        report_html(opened, face)
        keep(opened, Strokes(face=face.root, grade="P240", count=50))
        other = tmp_path / "other.jpg"
        other.write_bytes(after.read_bytes() + b" ")
        keep_photo(opened, face, other, shows="after", toe="left")
        report_html(opened, face)
    assert [found is not None for found in beside] == [True, False]


def test_a_missing_photo_is_said_and_not_left_out(log: Log, face: FaceEntry) -> None:
    gone = max(photo_folder(log.path).iterdir(), key=lambda p: p.stat().st_size)
    moved = gone.rename(gone.with_suffix(".away"))
    try:
        with pytest.raises(LogRefused, match="missing or damaged"):
            report_html(log, face)
    finally:
        moved.rename(gone)


def test_a_face_that_was_not_read_is_refused(log: Log) -> None:
    plane = add_plane(log, Plane(name="Nettle"))
    add_face(log, make_face("sole", TANSY), plane)
    assert the_plane(log, "Nettle")
    with pytest.raises(TooFewReadings, match="no heights were read yet"):
        report_html(log, the_face(log, "Nettle/sole"))


@pytest.mark.parametrize(
    ("sample", "label", "said"),
    [
        ("bramble_side.csv", "side-200x42mm", "sole edge"),
        ("planer_table.csv", "lap-900x300mm", "Lap 900 × 300 mm"),
        ("yarrow_no_diagonals.csv", "sole-450x64mm", "no upper limit known"),
        ("bracken_leaves.csv", "sole-560x72mm", "What the leaves prove"),
    ],
)
def test_any_face_and_gauge_has_a_valid_page(
    run: Run, tmp_path: Path, sample: str, label: str, said: str
) -> None:
    assert run("log", "import", str(SAMPLES / sample)).code == 0
    ran = run("report", label)
    assert ran.code == 0, ran.err
    path = tmp_path / f"{label}_report.html"
    assert str(path.name) in ran.out
    text = path.read_text("utf-8")
    html5lib.HTMLParser(strict=True).parse(text)
    assert said in text


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (("Nettle/sole",), "there is no face 'Nettle/sole'"),
        (("side-200x42mm", "-o", "report.doc"), "must end in .html or .htm"),
        (("side-200x42mm", "-o", "none/report.html"), "there is no folder none"),
        (("side-200x42mm", "-o", "mine.html"), "already there and not from lapping"),
        (("side-200x42mm", "--units", "cm"), "write um or thou"),
        (("side-200x42mm", "-o", f"{'x' * 300}.html"), "cannot be"),
    ],
)
def test_what_cannot_be_written_is_one_sentence_and_no_file(
    run: Run, tmp_path: Path, options: tuple[str, ...], sentence: str
) -> None:
    assert run("log", "import", str(SAMPLES / "bramble_side.csv")).code == 0
    (tmp_path / "mine.html").write_text("<p>a letter</p>", "utf-8")
    there = files_in(tmp_path)
    ran = run("report", *options)
    assert ran.code == 2
    lines = [line for line in ran.err.splitlines() if not line.startswith("log: ")]
    assert len(lines) == 1
    assert sentence in lines[0]
    assert files_in(tmp_path) == there
    assert (tmp_path / "mine.html").read_text("utf-8") == "<p>a letter</p>"


def files_in(folder: Path) -> set[str]:
    """Give what is in a folder beside what SQLite leaves beside an open log."""
    names = {path.name for path in folder.iterdir()}
    return {name for name in names if not name.endswith(("-shm", "-wal"))}


def test_a_file_is_named_and_not_the_way_to_it(tmp_path: Path) -> None:
    with bench(tmp_path / "bench.lapping") as log:
        import_files(log, [SAMPLES / "bramble_side.csv"])
        (face,) = faces(log)
        page = report_html(log, face)
    assert "bramble_side.csv" in page
    assert str(SAMPLES) not in page
