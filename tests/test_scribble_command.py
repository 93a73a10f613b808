"""`lapping scribble` as it is typed, on the drawn sample photos."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from lapping.face import Face
from lapping.photo import look as look_at
from lapping.photo import reading
from lapping.photo.corners import parse_corners

ROOT = Path(__file__).resolve().parents[1]
SAMPLES = ROOT / "sample_measurements"
AFTER, BEFORE = SAMPLES / "tansy_after.jpg", SAMPLES / "tansy_before.jpg"
SIZE = ("--length", "245mm", "--width", "62mm")
MOUTH = ("--mouth", "80 mm to 86 mm, across 5.5 mm to 56.5 mm")
TRUE_AFTER = "214.9,912.6 143.5,626.3 1365.8,286.4 1455.5,646.2"
TRUE_BEFORE = "155.7,867.2 89.0,567.0 1438.3,353.9 1475.5,752.9"
TRUE_PERCENT = 31.5
"""What was drawn (tests/reference/make_photos.py)."""


def lapping(*words: str | Path, ok: int = 0) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [sys.executable, "-m", "lapping", *map(str, words)],
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == ok, done.stderr
    return done


def asked(*words: str | Path) -> dict:
    """Ask for JSON."""
    found = json.loads(lapping("scribble", *words, "--json").stdout)
    assert isinstance(found, dict)
    return found


def off_mm(found: list[list[float]], true: str) -> float:
    """Say how far the worst corner is off, on the face."""
    drawn = np.array([pair.split(",") for pair in true.split()], float)
    long_px = np.linalg.norm(drawn[0] - drawn[3])
    return float(np.linalg.norm(np.array(found) - drawn, axis=1).max() / long_px * 245)


def test_plain_ink_is_not_called_faint() -> None:
    """Black on iron; without the mouth's place its slot widens the scatter."""
    face = Face(length_mm=245, width_mm=62)
    for before in (None, BEFORE):
        seen = look_at.look(AFTER, face, before=before, toe="left")
        assert seen.contact.warnings == ()


def test_a_large_photo_is_read_no_finer_than_the_face_needs(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Held to two megapixels here, which is quicker than drawing twelve."""
    face = Face(length_mm=245, width_mm=62)
    corners = parse_corners(TRUE_AFTER)
    monkeypatch.setattr(reading, "HALVED_ABOVE_PX", 1_000_000)
    usual = look_at.look(AFTER, face, corners_px=corners)
    assert usual.after.picture.reduced == 2
    # A quarter would do if the face filled the picture as it does not.
    monkeypatch.setattr(look_at, "ENOUGH", 1.0)
    again = look_at.look(AFTER, face, corners_px=corners)
    assert again.after.picture.reduced == 2
    monkeypatch.setattr(look_at, "TOO_FEW", 0.5)
    small = look_at.look(AFTER, face, corners_px=corners)
    assert small.after.picture.reduced == 4
    assert again.contact.contact_percent == usual.contact.contact_percent
    np.testing.assert_array_equal(small.corners_px, corners)


def test_corners_that_speak_against_the_toe_are_refused() -> None:
    said = lapping(
        "scribble", AFTER, *SIZE, "--corners", TRUE_AFTER, "--toe", "right", ok=2
    ).stderr
    assert "by the corners given the toe lies left in the photo" in said
    assert said.count("\n") == 1


def test_two_photos_give_contact_in_the_face_s_frame() -> None:
    found = asked(AFTER, "--before", BEFORE, *SIZE, *MOUTH, "--toe", "left")
    doubt = 2 * found["contact_u_percent"]
    assert found["contact_percent"] == pytest.approx(TRUE_PERCENT, abs=doubt)
    assert doubt < 9
    assert off_mm(found["corners_px"], TRUE_AFTER) < 1.5
    assert set(found) >= {
        "contact_percent",
        "unknown_percent",
        "corners_px",
        "cells",
        "zones",
        "high_spots",
        "warnings",
    }
    rubbed = np.array(found["cells"]["rubbed"], float)
    assert rubbed.shape == (24, 6)
    # Toe-right and heel-left were drawn to bear, the other corners not.
    assert np.nanmean(rubbed[:4, 4:]) > 0.7
    assert np.nanmean(rubbed[-4:, :2]) > 0.7
    assert np.nanmean(rubbed[:4, :2]) < 0.2
    assert np.nanmean(rubbed[-4:, 4:]) < 0.2
    assert set(found["zones"]) == {"toe", "mouth", "heel", "edges"}


def test_the_toe_is_told_by_the_mouth_where_it_is_in_sight() -> None:
    found = asked(AFTER, *SIZE, *MOUTH)
    assert off_mm(found["corners_px"], TRUE_AFTER) < 1.5
    turned = asked(AFTER, *SIZE, "--toe", "right")
    np.testing.assert_allclose(
        np.roll(turned["corners_px"], 2, axis=0), found["corners_px"], atol=5
    )


def test_a_toe_that_the_mouth_contradicts_is_refused(tmp_path: Path) -> None:
    for mouth in (MOUTH, ("--mouth", "80 mm to 86 mm")):
        wrong = lapping("scribble", AFTER, *SIZE, *mouth, "--toe", "right", ok=2)
        assert "say --toe left if it does" in wrong.stderr
        assert "159 to 165 mm" in wrong.stderr
    right = asked(AFTER, *SIZE, *MOUTH, "--toe", "left")
    assert not any("--toe" in one for one in right["warnings"])
    log = ("--log", tmp_path / "bench.lapping")
    lapping("plane", "Tansy", *SIZE, *MOUTH, *log)
    lapping("scribble", AFTER, "--face", "Tansy/sole", "--toe", "right", *log, ok=2)
    assert "photo" not in lapping("log", "show", "Tansy/sole", *log).stdout


def test_a_slot_at_the_other_end_is_doubted_and_advice_says_so(tmp_path: Path) -> None:
    log = ("--log", tmp_path / "bench.lapping")
    lapping("plane", "Tansy", *SIZE, *log)
    said = lapping(
        "scribble", AFTER, "--face", "Tansy/sole", "--toe", "right", *log
    ).stdout.split("\n\n")[1]
    assert said.startswith("Mind       A dark slot is plainly seen nearer to the end")
    advice = " ".join(lapping("advice", "Tansy/sole", *log).stdout.split())
    assert "the toe lies left (--toe left)" in advice


@pytest.mark.parametrize(
    ("after", "before", "sentence"),
    [
        (BEFORE, AFTER, "the two photos look swapped"),
        (AFTER, AFTER, "both photos are the same picture"),
    ],
)
def test_a_pair_that_is_none_is_refused_and_not_kept(
    tmp_path: Path, after: Path, before: Path, sentence: str
) -> None:
    log = ("--log", tmp_path / "bench.lapping")
    lapping("plane", "Tansy", *SIZE, *log)
    done = lapping(
        "scribble", after, "--before", before, "--face", "Tansy/sole", "--toe", "left",
        *log, ok=2,
    )  # fmt: skip
    (said,) = done.stderr.splitlines()[1:]
    assert said.startswith(f"{after}: {sentence}")
    assert done.stdout == ""
    assert "photo" not in lapping("log", "show", "Tansy/sole", *log).stdout


def test_corners_given_are_used_as_they_are() -> None:
    found = asked(AFTER, *SIZE, "--corners", TRUE_AFTER)
    assert off_mm(found["corners_px"], TRUE_AFTER) == 0
    assert found["corners_found"] == "given"


def test_the_words_lead_with_how_much_bears_and_how_sure() -> None:
    said = lapping(
        "scribble", AFTER, "--before", BEFORE, *SIZE, "--corners", TRUE_AFTER,
        "--before-corners", TRUE_BEFORE,
    ).stdout  # fmt: skip
    assert said.startswith("Bears 3")
    assert " ± " in said.splitlines()[0]
    assert "heel-left corner" in said
    assert "Flatness not measured" in said


def test_photos_are_kept_with_their_face_and_come_back(tmp_path: Path) -> None:
    log = ("--log", tmp_path / "bench.lapping")
    lapping("plane", "Tansy", *SIZE, *MOUTH, *log)
    done = lapping(
        "scribble", AFTER, "--before", BEFORE, "--face", "Tansy/sole", "--toe", "left",
        *log,
    )  # fmt: skip
    assert "Tansy/sole: photo kept" in done.stderr
    assert "photo" in lapping("log", "show", "Tansy/sole", *log).stdout
    kept = list((tmp_path / "bench.lapping.photos").iterdir())
    assert {p.read_bytes() for p in kept} == {AFTER.read_bytes(), BEFORE.read_bytes()}
    again = lapping(
        "scribble", AFTER, "--before", BEFORE, "--face", "Tansy/sole", *log
    ).stderr
    assert "4  Tansy/sole: photo kept already, the one from before as 3" in again
    assert lapping("log", "show", "Tansy/sole", *log).stdout.count("photo") == 2


def test_a_photo_that_cannot_be_told_is_not_kept(tmp_path: Path) -> None:
    log = ("--log", tmp_path / "bench.lapping")
    lapping("plane", "Tansy", *SIZE, *log)
    plain = tmp_path / "plain.jpg"
    Image.new("RGB", (800, 600), (120, 120, 120)).save(plain)
    said = lapping("scribble", plain, "--face", "Tansy/sole", *log, ok=2).stderr
    assert "plain.jpg" in said
    assert "--corners" in said
    assert "photo" not in lapping("log", "show", "Tansy/sole", *log).stdout


def test_a_folder_goes_through_all_its_photos(tmp_path: Path) -> None:
    shutil.copy(AFTER, tmp_path / "monday_after.jpg")
    shutil.copy(BEFORE, tmp_path / "monday_before.jpg")
    (tmp_path / "broken.jpg").write_bytes(AFTER.read_bytes()[:20000])
    # A picture of an earlier answer is no photo.
    lapping(
        "scribble", AFTER, *SIZE, "--corners", TRUE_AFTER, "--picture",
        tmp_path / "found.png",
    )  # fmt: skip
    done = lapping("scribble", tmp_path, *SIZE, "--toe", "left", "--json")
    found = json.loads(done.stdout)
    assert [one["file"] for one in found] == ["broken.jpg", "monday_after.jpg"]
    assert "refused" in found[0]
    assert found[1]["baseline"] == "before photo"
    assert found[1]["contact_percent"] == pytest.approx(TRUE_PERCENT, abs=9)
    refusal, count = done.stderr.splitlines()
    assert refusal.count("broken.jpg") == 1
    assert count == "1 of 2 photos answered for"


def test_a_line_of_a_folder_has_its_doubt(tmp_path: Path) -> None:
    shutil.copy(AFTER, tmp_path)
    (line,) = lapping("scribble", tmp_path, *SIZE, "--toe", "left").stdout.splitlines()
    assert line.startswith("tansy_after.jpg: Bears 3")
    assert " ± " in line


def test_a_folder_without_an_answer_is_refused(tmp_path: Path) -> None:
    assert "no photo" in lapping("scribble", tmp_path, *SIZE, ok=2).stderr
    (tmp_path / "broken.jpg").write_bytes(AFTER.read_bytes()[:20000])
    done = lapping("scribble", tmp_path, *SIZE, ok=2)
    assert done.stdout == ""
    assert done.stderr.count("broken.jpg") == 1
    done = lapping("scribble", tmp_path, *SIZE, "--readings", "some.csv", ok=2)
    assert "compare readings with one photo" in done.stderr


def test_the_picture_carries_no_camera_and_no_place(tmp_path: Path) -> None:
    tagged = tmp_path / "tagged.jpg"
    with Image.open(AFTER) as photo:
        marks = photo.getexif()
        marks[0x010F] = "a camera"
        photo.save(tagged, exif=marks, quality=90)
    out = tmp_path / "found.png"
    lapping("scribble", tagged, *SIZE, "--corners", TRUE_AFTER, "--picture", out)
    with Image.open(out) as drawn:
        assert not drawn.getexif()
        assert drawn.width == 1200
    assert b"a camera" not in out.read_bytes()


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ((AFTER,), "--length 250mm --width 60mm"),
        ((AFTER, "--length", "245", "--width", "62mm"), "no unit"),
        ((AFTER, *SIZE, "--toe", "north"), "left, right, up, down"),
        ((AFTER, *SIZE, "--corners", "1,1 2,2 3,3"), "four are needed"),
        ((SAMPLES / "nothing.jpg", *SIZE), "no such file"),
        ((ROOT / "README.md", *SIZE), "README.md"),
        (
            (AFTER, *SIZE, "--corners", TRUE_AFTER, "--picture", "x.gif"),
            "must end in",
        ),
    ],
)
def test_bad_input_is_one_sentence(words: tuple[str | Path, ...], part: str) -> None:
    said = lapping("scribble", *words, ok=2).stderr
    assert part in said
    assert "Traceback" not in said


def test_ink_is_compared_with_readings(tmp_path: Path) -> None:
    """Readings of the drawn twist, and the same entered heel for toe."""
    rows = []
    for along in (6, 45, 75, 92, 130, 170, 205, 239):
        for across in (5, 31, 57):
            u, v = 2 * along / 245 - 1, 2 * across / 62 - 1
            rows.append((along, across, round(-60 * u * v)))
    head = (
        "# method: dial\n# face: sole\n# length: 245 mm\n# width: 62 mm\n"
        "# unit: um\n# sense: high-positive\n"
        "# repeatability: 3 um\nalong,across,reading\n"
    )
    for name, place in (("right", float), ("flipped", lambda a: 245 - a)):
        body = "\n".join(f"{place(a):g},{c},{h}" for a, c, h in rows)
        (tmp_path / f"{name}.csv").write_text(head + body)
    common = (AFTER, "--before", BEFORE, *SIZE, "--toe", "left")
    right = asked(*common, "--readings", tmp_path / "right.csv")
    flipped = asked(*common, "--readings", tmp_path / "flipped.csv")
    assert not any("fits better" in one for one in right["warnings"])
    assert any("heel for toe" in w and "better" in w for w in flipped["warnings"])
    assert any("the gauge puts it" in one for one in flipped["warnings"])
