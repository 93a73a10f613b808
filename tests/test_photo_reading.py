"""Photos from files: upright, whole, the right way round, or refused in a sentence."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import sys
import tempfile
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from PIL import Image, ImageOps

from lapping.errors import BadInput
from lapping.photo import reading
from lapping.photo.decoding import _heard
from lapping.photo.reading import picture_of, read_both, read_photo
from lapping.photo.turned import Picture, turn_of
from tests.made_photos import (
    dotted,
    exif,
    found_dot,
    jpeg_of_size,
    packed,
    png_of_size,
    scan_start,
    textured,
    with_chunk,
)

ODD = (323, 241)
DOTS = np.array([(40.0, 50.0), (250.25, 60.5), (60.75, 180.0), (281.5, 201.25)])
# Where the first row and column of a stored picture belong, as people see it: Exif 2.32
# (CIPA DC-008), tag Orientation; x' and y' of a dot stored at x, y in w × h.
SEEN = {
    1: lambda x, y, w, h: (x, y),
    2: lambda x, y, w, h: (w - 1 - x, y),
    3: lambda x, y, w, h: (w - 1 - x, h - 1 - y),
    4: lambda x, y, w, h: (x, h - 1 - y),
    5: lambda x, y, w, h: (y, x),
    6: lambda x, y, w, h: (h - 1 - y, x),
    7: lambda x, y, w, h: (h - 1 - y, w - 1 - x),
    8: lambda x, y, w, h: (y, w - 1 - x),
}


def by_pillow(data: bytes) -> NDArray[np.uint8]:
    """Decode with Pillow, upright: the outside opinion. BGR."""
    with Image.open(io.BytesIO(data)) as image:
        seen = ImageOps.exif_transpose(image).convert("RGB")
        return np.asarray(seen)[..., ::-1]


def refused(data: bytes) -> str:
    with pytest.raises(BadInput) as bad:
        picture_of(data)
    (sentence,) = bad.value.mistakes
    return sentence


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_orientation_is_turned_upright(kind: str, orientation: int) -> None:
    data = packed(textured(*ODD), kind, exif=exif(orientation))
    whole, small = (picture_of(data, fewer=fewer) for fewer in (1, 2))
    expected = by_pillow(data)
    # Decoders of JPEG may differ by a step or two.
    assert np.abs(whole.pixels.astype(int) - expected).max() <= (
        3 if kind == "JPEG" else 0
    )
    sizes = ODD if orientation < 5 else ODD[::-1]
    for found in (whole, small):
        assert (found.width_px, found.height_px) == sizes
    assert small.pixels.shape[:2] == tuple(-(-n // 2) for n in sizes[::-1])
    assert (whole.reduced, small.reduced) == (1, 2)
    assert not whole.pixels.flags.writeable


@pytest.mark.parametrize("fewer", [2, 4])
@pytest.mark.parametrize("size", [ODD, (324, 241), (323, 242), (324, 242)])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_smaller_picture_knows_where_its_pixels_are(
    orientation: int, size: tuple[int, int], fewer: int
) -> None:
    data = packed(dotted(*size, DOTS), exif=exif(orientation))
    picture = picture_of(data, fewer=fewer)
    for x, y in DOTS:
        seen = np.array(SEEN[orientation](x, y, *size))
        (near,) = picture.to_pixels(seen[None])
        found = picture.to_full(found_dot(picture.pixels, near, 9.0))
        # Half a pixel of the full picture is what a forgotten shift would cost.
        np.testing.assert_allclose(found, seen, atol=0.06)
    np.testing.assert_allclose(picture.to_pixels(picture.to_full(DOTS)), DOTS)


@pytest.mark.parametrize("size", [ODD, (324, 242)])
def test_a_png_at_half_size_is_shifted_the_same(size: tuple[int, int]) -> None:
    for orientation in (1, 3, 6):
        data = packed(dotted(*size, DOTS), "PNG", exif=exif(orientation))
        picture = picture_of(data, fewer=2)
        for x, y in DOTS:
            seen = np.array(SEEN[orientation](x, y, *size))
            (near,) = picture.to_pixels(seen[None])
            found = picture.to_full(found_dot(picture.pixels, near, 9.0))
            np.testing.assert_allclose(found, seen, atol=0.06)


def test_only_large_pictures_are_halved_unasked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    data = packed(textured(*ODD))
    assert picture_of(data).reduced == 1
    monkeypatch.setattr(reading, "HALVED_ABOVE_PX", ODD[0] * ODD[1] - 1)
    assert picture_of(data).reduced == 2
    assert picture_of(data, fewer=1).reduced == 1
    assert picture_of(data, enough_px=max(ODD) / 4).reduced == 4
    assert picture_of(data, enough_px=max(ODD) / 4 + 1).reduced == 2


def test_two_photos_read_at_once_are_those_read_alone(tmp_path: Path) -> None:
    one, other = tmp_path / "one.jpg", tmp_path / "other.jpg"
    one.write_bytes(packed(textured(*ODD)))
    other.write_bytes(packed(textured(*ODD)[:, ::-1]))
    for path, found in zip((one, other), read_both(one, other), strict=True):
        np.testing.assert_array_equal(found.pixels, read_photo(path).pixels)
    # Whichever is cut off, the sentence names it.
    for bad in (one, other):
        whole = bad.read_bytes()
        bad.write_bytes(whole[: len(whole) // 2] + b"\xff\xd9")
        with pytest.raises(BadInput, match=f"{bad.name}: .*(cut off|damaged)"):
            read_both(one, other)
        bad.write_bytes(whole)


def test_an_orientation_that_is_none_turns_nothing() -> None:
    data = exif(6).tobytes().removeprefix(b"Exif\0\0")
    assert turn_of(data) == (True, True, False)
    for spoilt in (
        b"",
        b"XX" + data[2:],
        data[:9],
        data[:4] + b"\xff" * 4,
        exif(9).tobytes()[6:],
    ):
        assert turn_of(spoilt) == (False, False, False)
    # As a long number, which some programs write.
    entry = struct.pack("<HHIHHHII", 0x4949, 42, 8, 1, 0x0112, 4, 1, 8)
    assert turn_of(entry) == (True, False, True)


# What a picture may be.


def test_kinds_that_are_read_as_pillow_reads_them() -> None:
    rgb = textured(*ODD)
    image = Image.fromarray(rgb)
    palette = image.quantize(64)
    for data, off in (
        (packed(rgb, progressive=True), 3),
        (packed(rgb, subsampling=2), 12),
        (packed(rgb, "JPEG", restart_marker_blocks=4), 3),
        (packed(palette, "PNG"), 0),
        (packed(image.convert("L"), "PNG"), 0),
        (packed(image.convert("L")), 1),
        (packed(image.convert("1"), "PNG"), 0),
        (packed(image.convert("RGBA"), "PNG"), 0),
        # Printing colours, as Pillow turns them back.
        (packed(image.convert("CMYK")), 4),
    ):
        found = picture_of(data).pixels.astype(int)
        assert np.abs(found - by_pillow(data)).max() <= off


def test_sixteen_bits_become_eight(tmp_path: Path) -> None:
    deep = np.arange(0, 65536, 13, dtype=np.uint16)[:4800].reshape(60, 80)
    image = np.stack([deep, deep[::-1], deep[:, ::-1]], axis=-1)
    for channels in (image, np.dstack([image, np.full_like(deep, 65535)])):
        cv2.imwrite(str(tmp_path / "deep.png"), channels)
        found = read_photo(tmp_path / "deep.png").pixels
        assert found.dtype == np.uint8
        assert np.abs(found - image / 257).max() <= 1


def test_a_picture_without_colour_says_so() -> None:
    rgb = textured(*ODD)
    grey = Image.fromarray(rgb).convert("L")
    assert not picture_of(packed(rgb)).grey
    for data in (packed(grey), packed(grey, "PNG"), packed(grey.convert("RGB"))):
        found = picture_of(data)
        assert found.grey
        assert found.pixels.shape == (ODD[1], ODD[0], 3)


def test_what_is_see_through_is_refused() -> None:
    rgb = textured(*ODD)
    hole = np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)])
    assert not picture_of(packed(hole, "PNG")).grey
    hole[10:20, 10:20, 3] = 0
    key = Image.fromarray(rgb).convert("L")
    for data in (packed(hole, "PNG"), packed(key, "PNG", transparency=128)):
        assert "see-through" in refused(data)


def test_what_phones_append_is_left_alone() -> None:
    """A second picture or a film behind the first one's end, as phones write them."""
    rgb, other = textured(*ODD), textured(64, 48, seed=2)
    images = {"save_all": True, "append_images": [Image.fromarray(other)]}
    for data in (
        packed(rgb, "MPO", quality=95, **images),
        packed(rgb) + b"\0\0\0\x18ftypmp42" + os.urandom(5000),
        packed(rgb) + packed(other)[:700],
        packed(rgb)[:-2] + b"\0\0\0\0" + b"\xff\xd9",
    ):
        found = picture_of(data)
        assert (found.width_px, found.height_px) == ODD
        assert np.abs(found.pixels.astype(int) - rgb[..., ::-1]).mean() < 4


# What is refused.


def files_of_other_kinds() -> dict[str, bytes]:
    image = Image.fromarray(textured(64, 48))
    more = {"save_all": True, "append_images": [Image.fromarray(textured(64, 48, 2))]}
    return {
        "this is a GIF": packed(image, "GIF"),
        "GIF, .* may move": packed(image, "GIF", **more),
        "this PNG moves": packed(image, "PNG", **more),
        "this is a WebP picture": packed(image, "WEBP"),
        "this WebP picture moves": packed(image, "WEBP", **more),
        "this is a TIFF or a camera's raw file": packed(image, "TIFF"),
        "this is a BMP picture": packed(image, "BMP"),
        "HEIC picture.*phone's camera save JPEG": b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
        "HEIC": b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic" + bytes(90),
        "AVIF picture": b"\0\0\0\x1cftypmif1\0\0\0\0avif" + bytes(90),
        "holds moving pictures": b"\0\0\0\x18ftypmp42\0\0\0\0isom" + bytes(90),
        "this is no picture": b"along,across,reading\n5,5,0\n",
    }


@pytest.mark.parametrize(("said", "data"), files_of_other_kinds().items())
def test_other_kinds_are_named(said: str, data: bytes, tmp_path: Path) -> None:
    import re

    # The name says nothing: a phone's HEIC is often renamed.
    path = tmp_path / "sole.jpg"
    path.write_bytes(data)
    with pytest.raises(BadInput, match=rf"^{re.escape(str(path))}: .*JPEG") as bad:
        read_photo(path)
    assert re.search(said, str(bad.value))
    assert len(bad.value.mistakes) == 1


def test_what_is_no_file_of_ours(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "empty.jpg").touch()
    os.mkfifo(tmp_path / "pipe.jpg")
    (tmp_path / "large.jpg").write_bytes(packed(textured(64, 48)))
    monkeypatch.setattr(reading, "MOST_BYTES", 100)
    for name, said in (
        ("none.jpg", "there is no such file"),
        ("empty.jpg", "the file is empty"),
        ("", "this is a folder"),
        ("pipe.jpg", "not an ordinary file"),
        ("large.jpg", "is too large for a photo"),
        ("a\0b.jpg", "cannot be read"),
        ("n" * 300, "cannot be read"),
    ):
        with pytest.raises(BadInput, match=said):
            read_photo(tmp_path / name)


KINDS = {
    "baseline": {},
    "halved colours": {"subsampling": 2},
    "progressive": {"progressive": True},
    "restarts": {"restart_marker_blocks": 3},
}


@pytest.mark.parametrize("fewer", [1, 2, 4])
@pytest.mark.parametrize("kind", KINDS)
def test_a_jpeg_cut_off_is_found(kind: str, *, fewer: int) -> None:
    data = packed(textured(*ODD), **KINDS[kind])
    start = scan_start(data)
    rng = np.random.default_rng(5)
    for share in (0.02, 0.3, 0.5, 0.8, 0.97):
        cut = data[: start + int(share * (len(data) - start))].rstrip(b"\xff")
        # Junk with 0xFF in it, as a disk gives that was pulled out.
        for glued in (
            b"",
            b"\xff\xd9",
            rng.bytes(3000) + b"\xff\xd9",
            bytes(40) + b"\xff\xd9",
        ):
            with pytest.raises(BadInput, match=r"cut off|is damaged|unusual kind"):
                picture_of(cut + glued, fewer=fewer)
    # As long as it was, the rest zeros.
    cut = data[: (start + len(data)) // 2]
    with pytest.raises(BadInput, match=r"cut off|damaged"):
        picture_of(cut + bytes(len(data) - len(cut) - 2) + b"\xff\xd9", fewer=fewer)
    for at in range(3, start, 7):
        with pytest.raises(BadInput, match=r"cut off|damaged"):
            picture_of(data[:at], fewer=fewer)


def test_a_png_cut_off_or_changed_is_found() -> None:
    data = packed(textured(*ODD), "PNG")
    for share in (0.001, 0.01, 0.5, 0.9, 0.9999):
        assert "cut off" in refused(data[: int(share * len(data))])
    for at in (20, 50, len(data) // 2, len(data) - 30):
        spoilt = bytearray(data)
        spoilt[at] ^= 0x10
        assert "damaged" in refused(bytes(spoilt))
    # Every checksum right and half of the rows missing.
    assert refused(png_of_size(data, ODD[0], 2 * ODD[1])) == refused(
        b"\xff\xd8\xff\xc0\0\2"
    )


def test_a_size_beyond_belief_is_refused_unopened() -> None:
    png, jpeg = packed(textured(64, 48), "PNG"), packed(textured(64, 48))
    for size, said in (
        ((30_001, 10), "at most 100 megapixels and 30000 a side"),
        ((20_000, 20_000), "at most 100 megapixels"),
        ((0, 48), "damaged"),
    ):
        assert said in refused(png_of_size(png, *size))
        assert said in refused(jpeg_of_size(jpeg, *size))
    # Within the limits, and yet more than this file can hold or the memory should.
    assert "cut off" in refused(png_of_size(png, 6000, 6000))
    passes = packed(textured(64, 48), progressive=True)
    assert "MB to unpack" in refused(jpeg_of_size(passes, 9999, 9999))
    with pytest.raises(BadInput, match="MB to unpack"):
        picture_of(jpeg_of_size(jpeg, 9999, 9999), fewer=1)


def test_jpegs_that_no_camera_writes() -> None:
    data = packed(textured(64, 48))
    frame = data.index(b"\xff\xc0")
    arithmetic = data[: frame + 1] + b"\xc9" + data[frame + 2 :]
    twelve = data[: frame + 4] + b"\x0c" + data[frame + 5 :]
    for spoilt in (arithmetic, twelve):
        assert "unusual kind of JPEG" in refused(spoilt)
    twice = data[:frame] + data[frame : frame + 19] + data[frame:]
    comments = data[:2] + b"\xff\xfe\x00\x02" * 20_000 + data[2:]
    scan = data.index(b"\xff\xda")
    scans = data[:scan] + data[scan:-2] * 50 + b"\xff\xd9"
    for spoilt in (twice, comments, scans):
        assert "damaged" in refused(spoilt)
    # A pass of a progressive picture left out: nothing warns of it.
    passes = packed(textured(*ODD), progressive=True)
    starts = [at for at in range(len(passes)) if passes[at : at + 2] == b"\xff\xda"]
    assert len(starts) > 5
    assert "cut off" in refused(passes[: starts[-1]] + b"\xff\xd9")


def test_the_decoder_is_not_heard(capfd: pytest.CaptureFixture[str]) -> None:
    data = packed(textured(*ODD))
    refused(data[: len(data) // 2] + b"\xff\xd9")
    refused(png_of_size(packed(textured(*ODD), "PNG"), ODD[0], 2 * ODD[1]))
    picture_of(with_chunk(packed(textured(*ODD), "PNG"), b"iCCP", b"x\0\0nothing"))
    assert capfd.readouterr() == ("", "")


def test_what_others_say_meanwhile_is_given_back(
    capfd: pytest.CaptureFixture[str],
) -> None:
    said: list[str] = []
    with _heard(said):
        os.write(2, b"log: bench.lapping\nCorrupt JPEG data: premature end\n")
    assert capfd.readouterr().err == "log: bench.lapping\n"
    assert said == ["Corrupt JPEG data: premature end"]


def test_a_program_without_standard_error_reads_too(tmp_path: Path) -> None:
    data = packed(textured(*ODD))
    (tmp_path / "whole.jpg").write_bytes(data)
    (tmp_path / "cut.jpg").write_bytes(data[: len(data) // 2] + b"\xff\xd9")
    code = (
        "import os, sys\nfrom pathlib import Path\n"
        "from lapping.photo.reading import read_photo\n"
        "os.close(2)\n"
        "print(read_photo(Path('whole.jpg')).width_px)\n"
        "try:\n    read_photo(Path('cut.jpg'))\n"
        "except Exception as refused:\n    print(refused)\n"
        "sys.stdout.flush()\n"
        "os._exit(0)\n"
    )
    ran = in_another(code, tmp_path)
    assert ran.stdout.splitlines()[0] == str(ODD[0])
    assert "cut off" in ran.stdout.splitlines()[1]


# Whatever the file holds.

SEEDS = (
    packed(textured(64, 48), exif=exif(6)),
    packed(textured(64, 48), progressive=True),
    packed(textured(64, 48), subsampling=2, restart_marker_blocks=2),
    packed(Image.fromarray(textured(64, 48)).convert("CMYK")),
    packed(textured(64, 48), "PNG", exif=exif(3)),
    packed(Image.fromarray(textured(64, 48)).convert("RGBA"), "PNG"),
    packed(Image.fromarray(textured(64, 48)).quantize(16), "PNG"),
)
CHANGE = st.tuples(
    st.sampled_from(["set", "cut", "drop", "repeat", "head"]),
    st.floats(0, 1),
    st.binary(min_size=1, max_size=8),
)


def spoil(data: bytes, changes: list[tuple[str, float, bytes]]) -> bytes:
    for kind, share, put in changes:
        # Headers are short and matter most.
        reach = min(len(data), 700) if kind == "head" else len(data)
        at = int(share * reach)
        if kind in {"set", "head"}:
            data = data[:at] + put + data[at + len(put) :]
        elif kind == "cut":
            data = data[:at] + put
        elif kind == "drop":
            data = data[:at] + data[at + 10 * len(put) :]
        else:
            data = data[:at] + data[at : at + 50 * len(put)] + data[at:]
    return data


@settings(max_examples=300, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(SEEDS), st.lists(CHANGE, max_size=4), st.sampled_from((1, 2, 4)))
def test_any_file_is_a_picture_or_a_sentence(
    seed: bytes, changes: list[tuple[str, float, bytes]], fewer: int
) -> None:
    data = spoil(seed, changes)
    found: Picture | BadInput
    try:
        found = picture_of(data, fewer=fewer)
    except BadInput as bad:
        found = bad
    if isinstance(found, BadInput):
        (sentence,) = found.mistakes
        assert sentence
    else:
        assert found.pixels.dtype == np.uint8
        assert found.pixels.shape[2] == 3


def in_another(code: str, folder: Path) -> subprocess.CompletedProcess[str]:
    root = Path(__file__).resolve().parents[1]
    return subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        encoding="utf-8",
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(root), "OPENBLAS_NUM_THREADS": "1"},
        timeout=120,
    )


MEASURE = """
import os, resource, sys
from pathlib import Path
from lapping.errors import BadInput
from lapping.photo.reading import read_photo
for path in sorted(Path(".").iterdir()):
    # A PNG is unpacked whole whatever is asked for.
    for fewer in (None, 1) if path.suffix == ".jpg" else (1,):
        child = os.fork()
        if child:
            assert os.waitpid(child, 0)[1] == 0
            continue
        try:
            read_photo(path, fewer=fewer)
        except BadInput:
            pass
        os._exit(0)
most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
# In bytes on a Mac, in KiB elsewhere.
print(most / (2**20 if sys.platform == "darwin" else 2**10))
"""


def test_no_small_file_takes_much_memory() -> None:
    png, jpeg = packed(textured(64, 48), "PNG"), packed(textured(64, 48))
    passes = packed(textured(64, 48), progressive=True)
    _, plain = cv2.imencode(".png", np.full((6000, 6000, 3), 255, np.uint8))
    white = plain.tobytes()
    files = {
        "marks.jpg": b"\xff\xd8" + b"\xff" * 20_000_000,
        "comments.jpg": b"\xff\xd8\xff" + b"\xfe\0\2\xff" * 5_000_000,
        "chunks.png": png[:33] + with_chunk(b"", b"teXt", b"", 0) * 300_000,
        "turned.png": with_chunk(white, b"eXIf", exif(6).tobytes()[6:]),
        "huge.png": png_of_size(white, 30_000, 3_300),
        "huge.jpg": jpeg_of_size(jpeg, 9_900, 9_900),
        "passes.jpg": jpeg_of_size(passes, 7_000, 9_000),
    }
    with tempfile.TemporaryDirectory() as folder:
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        ran = in_another(MEASURE, Path(folder))
    assert ran.stderr == ""
    assert float(ran.stdout) < 300
