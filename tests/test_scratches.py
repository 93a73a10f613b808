"""The last grit's scratches: how much of them is left, on surfaces of known share."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from skimage import data

from lapping.directions import between_deg, direction_words, parse_direction_deg
from lapping.errors import BadInput
from lapping.log.photos import kept_at, photos_of
from lapping.log.planes import the_face
from lapping.photo.reading import read_photo
from lapping.photo.ridges import grain
from lapping.photo.scratches import (
    GONE_SHARE,
    NO_CLOSEUP,
    SMEARED,
    UNCLEAR,
    ScratchCheck,
    Toe,
    check_scratches,
)
from tests.made_logs import bench, bramble
from tests.made_photos import packed
from tests.made_surfaces import Ground, coded, photo
from tests.said import Run

SAMPLES = Path(__file__).resolve().parents[1] / "sample_measurements"
TOES: tuple[Toe, ...] = ("up", "right", "down", "left")


def check(ground: Ground) -> ScratchCheck:
    return check_scratches(photo(ground), ground.last_deg, ground.this_deg)


def share_of(found: ScratchCheck) -> float:
    assert found.share is not None
    return found.share


# Pictures that are known elsewhere.


@pytest.mark.parametrize(
    ("name", "coherence", "angle"),
    [("brick", 0.6105, -1.190), ("grass", 0.0294, None), ("gravel", 0.0532, None)],
)
def test_one_way_or_no_way(name: str, coherence: float, angle: float | None) -> None:
    """Coherence of the structure tensor at 1 px of skimage's own pictures.

    The figures were computed with scipy's Gaussian and numpy's gradient.
    """
    picture = getattr(data, name)()
    found, way = grain(picture)
    assert found == pytest.approx(coherence, abs=0.001)
    if angle is not None:
        assert way == pytest.approx(angle % 180, abs=0.01)
    for quarter in range(1, 4):
        # np.rot90 turns against the clock, and so the lines.
        again, turned = grain(np.ascontiguousarray(np.rot90(picture, quarter)))
        assert again == pytest.approx(found, rel=1e-4)
        assert between_deg(turned, way - 90 * quarter) < 0.01


@pytest.mark.parametrize("name", ["grass", "gravel"])
@pytest.mark.parametrize("ways", [(90, 0), (0, 90), (30, 120), (10, 50)])
def test_what_has_no_direction_is_not_judged(name: str, ways: tuple[int, int]) -> None:
    found = check_scratches(getattr(data, name)(), *ways)
    assert found.verdict == "cannot tell"
    assert found.share is None
    assert UNCLEAR in found.warnings


def test_lines_of_brick_are_seen() -> None:
    """Coherence 0.61 with lines upright: most of the energy is along."""
    picture = data.brick()
    found = check_scratches(picture, previous_deg=0, this_deg=90)
    assert found.verdict == "still there"
    assert share_of(found) > 0.7
    found = check_scratches(picture, previous_deg=45, this_deg=90)
    assert found.strongest_deg == pytest.approx(178.8, abs=0.1)
    assert "most lines run along, which is neither direction said" in found.warnings[0]


# Surfaces of known share; none of their seeds was used to settle anything.

CONDITIONS: tuple[dict[str, Any], ...] = (
    {}, {"quality": 60}, {"noise": 8.0}, {"falloff": 0.9, "contrast": 0.05},
    {"scatter_deg": 9.0}, {"scatter_deg": 1.0, "scratches": 120}, {"dirt": 12},
    {"last_px": 6.0}, {"blur_px": 1.5}, {"shiny": True}, {"size": (450, 640)},
    {"size": (1000, 1300), "scratches": 600}, {"last_deg": 45.0},
    {"last_deg": 20.0, "this_deg": 110.0}, {"last_deg": 30.0, "scatter_deg": 6.0},
    {"last_deg": 150.0, "quality": 70},
)  # fmt: skip
SHARES = (0.0, 0.04, 0.3, 0.7)
GROUNDS = [
    Ground(**how, share=SHARES[(at + more) % 4], seed=900 + 2 * at + more)
    for at, how in enumerate(CONDITIONS)
    for more in (0, 1)
]


def test_the_share_is_found_within_its_range() -> None:
    found = [check(ground) for ground in GROUNDS]
    off = np.array([share_of(f) - g.share for f, g in zip(found, GROUNDS, strict=True)])
    held = [
        f.low is not None and f.high is not None and f.low <= g.share <= f.high
        for f, g in zip(found, GROUNDS, strict=True)
    ]
    # 95 % of 32 is 30.4; fewer than 28 would be chance in 2 of 100 such trials.
    assert sum(held) >= 28
    assert np.sqrt((off**2).mean()) < 0.05
    for f, g in zip(found, GROUNDS, strict=True):
        wrong = "still there" if g.share < GONE_SHARE else "gone"
        assert f.verdict != wrong, g
    # Far from the border nothing is left open.
    clear = [f for f, g in zip(found, GROUNDS, strict=True) if g.share in {0.0, 0.7}]
    assert sum(f.verdict != "cannot tell" for f in clear) >= len(clear) - 1


def test_only_the_last_grit_or_only_this_one() -> None:
    assert check(Ground(share=1.0, seed=951)).verdict == "still there"
    assert share_of(check(Ground(share=1.0, seed=952))) > 0.95
    found = check(Ground(share=0.0, seed=953))
    assert found.verdict == "gone"
    assert share_of(found) < 0.03
    # Asked the other way round, the same photo says the rest.
    swapped = check_scratches(photo(Ground(seed=954)), 0, 90)
    assert share_of(swapped) == pytest.approx(1 - share_of(check(Ground(seed=954))))


def test_the_toe_says_which_way_is_along() -> None:
    picture = photo(Ground(seed=955, size=(640, 640), last_deg=60))
    shares = [
        share_of(check_scratches(turned(picture, k), 60, 0, toe=toe))
        for k, toe in enumerate(TOES)
    ]
    np.testing.assert_allclose(shares, shares[0], atol=0.01)
    strongest = check_scratches(picture, 60, 0, toe="right")
    assert strongest.share is None or abs(strongest.share - shares[0]) > 0.1


def turned(picture: NDArray[np.uint8], quarters: int) -> NDArray[np.uint8]:
    """Turn with the clock: the toe goes from up to right to down to left."""
    return np.ascontiguousarray(np.rot90(picture, -quarters))


def test_dirt_and_uneven_light_change_little() -> None:
    clean = Ground(seed=956, falloff=0.0)
    usual = share_of(check(clean))
    for how in ({"dirt": 25}, {"falloff": 1.1}):
        assert share_of(check(replace(clean, **how))) == pytest.approx(usual, abs=0.04)


def test_blocks_with_dirt_are_left_out() -> None:
    """Counted in, such dirt makes the range a third of the whole."""
    found = [
        check(Ground(seed=970 + k, share=0.2, contrast=0.04, dirt=30)) for k in range(4)
    ]
    wide = [f.high - f.low for f in found if f.high is not None and f.low is not None]
    assert len(wide) == 4
    assert np.mean(wide) < 0.25
    off = np.array([share_of(f) for f in found]) - 0.2
    assert np.sqrt((off**2).mean()) < 0.05


def test_close_directions_do_not_spill_into_each_other() -> None:
    for apart, scatter in ((25.0, 6.0), (35.0, 10.0)):
        ground = Ground(seed=975, share=0.0, last_deg=apart, scatter_deg=scatter)
        assert share_of(check(ground)) < 0.03
        found = check(replace(ground, share=0.3))
        assert found.verdict == "still there"
        assert share_of(found) == pytest.approx(0.3, abs=0.1)


@pytest.mark.parametrize("quality", [15, 40, 75])
def test_the_blocks_of_jpeg_are_no_scratches(quality: int) -> None:
    """Noise without direction: the borders of the blocks run along and across."""
    rng = np.random.default_rng(957)
    noise = cv2.GaussianBlur(rng.normal(0, 60, (600, 800)), (0, 0), 2.5) + 128
    grey = noise.clip(0, 255).astype(np.uint8)
    picture = coded(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR), quality)
    for ways in ((90, 0), (0, 45), (45, 90), (30, 120)):
        assert check_scratches(picture, *ways).verdict == "cannot tell"


def test_strong_jpeg_moves_the_share_little() -> None:
    """At quality 40 fine slanted lines begin to go, before those along and across."""
    ground = Ground(seed=958, share=0.2, last_deg=45, quality=95)
    fine = share_of(check(ground))
    for quality in (75, 40):
        found = share_of(check(replace(ground, quality=quality)))
        assert found == pytest.approx(fine, abs=0.04)


# What is refused or left open.


def test_a_photo_that_cannot_be_judged() -> None:
    picture = photo(Ground(seed=959))
    for bad, said in (
        (cv2.GaussianBlur(picture, (0, 0), 4), "too blurred"),
        (picture[:380], "at least 384 each way"),
        (np.full_like(picture, 255), "blown out or black"),
        (np.zeros_like(picture), "blown out or black"),
    ):
        with pytest.raises(BadInput, match=said):
            check_scratches(np.ascontiguousarray(bad), 90, 0)
    for empty in (np.full_like(picture, 128), cv2.GaussianBlur(picture, (0, 0), 9)):
        found = check_scratches(empty, 90, 0)
        assert (found.verdict, found.share) == ("cannot tell", None)


@pytest.mark.parametrize("name", ["camera", "coffee", "rocket", "astronaut"])
def test_a_photo_of_anything_else_is_no_closeup(name: str) -> None:
    """Pictures that scikit-image brings along, none of ground metal."""
    found = check_scratches(getattr(data, name)(), 90, 0)
    assert (found.verdict, found.share, found.closeup) == ("cannot tell", None, False)
    assert found.warnings == (NO_CLOSEUP,)


@pytest.mark.parametrize("name", ["tansy_after", "tansy_before"])
def test_a_photo_of_the_whole_face_is_no_closeup(name: str) -> None:
    photo = read_photo(SAMPLES / f"{name}.jpg").pixels
    assert not check_scratches(photo, 90, 0).closeup


def test_made_surfaces_are_closeups() -> None:
    assert all(check(ground).closeup for ground in GROUNDS)


def test_a_phone_that_moved_is_noticed() -> None:
    moved = check(Ground(seed=960, share=0.3, smear_px=7))
    assert moved.verdict == "cannot tell"
    assert SMEARED in moved.warnings
    still = check(Ground(seed=960, share=0.3, last_px=8, this_px=1))
    assert SMEARED not in still.warnings


@pytest.mark.parametrize("ways", [(0, 0), (0, 19), (175, 10), (90, 71)])
def test_directions_too_close_are_refused(ways: tuple[int, int]) -> None:
    with pytest.raises(BadInput, match="less than 20° apart"):
        check_scratches(np.full((600, 600, 3), 128, np.uint8), *ways)


# Directions as they are said.


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("along", 0), ("Across ", 90), ("45deg", 45), ("-30 deg", 150), ("−30°", 150),
        ("180deg", 0), ("22.5 degrees", 22.5), ("+10deg", 10), ("270deg", 90),
    ],
)  # fmt: skip
def test_directions_are_read(text: str, degrees: float) -> None:
    assert parse_direction_deg(text) == degrees


@pytest.mark.parametrize("text", ["", "45", "diagonal", "nandeg", "north", "45rad"])
def test_other_directions_are_refused(text: str) -> None:
    with pytest.raises(BadInput, match="write along, across, or an angle from along"):
        parse_direction_deg(text)


@given(st.integers(0, 179))
def test_directions_said_are_read_again(degrees: int) -> None:
    said = direction_words(degrees).removesuffix(" to along")
    assert parse_direction_deg(said) == degrees


@given(st.floats(-720, 720), st.floats(-720, 720))
def test_two_lines_are_at_most_square_to_each_other(one: float, other: float) -> None:
    apart = between_deg(one, other)
    assert 0 <= apart <= 90
    assert between_deg(other, one) == pytest.approx(apart, abs=1e-9)
    assert between_deg(one + 90, other) == pytest.approx(90 - apart, abs=1e-9)


# The command.

WAYS = ("--previous-direction", "across", "--this-direction", "along", "--toe", "up")


@pytest.fixture
def closeup(tmp_path: Path) -> Path:
    path = tmp_path / "closeup.jpg"
    path.write_bytes(packed(photo(Ground(seed=961, share=0.35, size=(600, 800)))))
    return path


def test_the_verdict_comes_first(run: Run, closeup: Path, tmp_path: Path) -> None:
    said = run("scratches", str(closeup), *WAYS)
    assert (said.code, said.err) == (0, "")
    first, *more = said.out.splitlines()
    assert first.startswith("Scratches of the last grit: still there, 3")
    assert first.endswith(")")
    assert "runs across, as the last grit did" in " ".join(" ".join(more).split())
    clean = tmp_path / "clean.png"
    clean.write_bytes(packed(photo(Ground(seed=962, share=0.0)), "PNG"))
    out = run("scratches", str(clean), *WAYS).out
    assert out.startswith("Scratches of the last grit: gone, ")
    assert "the light from another side" in " ".join(out.split())


def test_the_answer_for_another_program(run: Run, closeup: Path) -> None:
    found = json.loads(run("scratches", str(closeup), *WAYS, "--json").out)
    assert found["verdict"] == "still there"
    low, high = found["interval_percent"]
    assert low < found["share_percent"] < high
    assert (found["previous_deg"], found["this_deg"], found["toe"]) == (90, 0, "up")
    other = json.loads(
        run("scratches", str(closeup), *WAYS, "--toe", "left", "--json").out
    )
    assert other["share_percent"] == pytest.approx(100 - found["share_percent"], abs=1)


def test_a_photo_is_kept_with_its_face(run: Run, closeup: Path, tmp_path: Path) -> None:
    path = tmp_path / "bench.lapping"
    with bench(path) as log:
        bramble(log)
    said = run("scratches", str(closeup), *WAYS, "--face", "Bramble/sole")
    assert said.out == run("scratches", str(closeup), *WAYS).out
    assert said.err == f"log: {path}\n3  Bramble/sole: photo kept\n"
    with bench(path) as log:
        (entry,) = photos_of(log, the_face(log, "Bramble/sole"), "scratches")
        assert kept_at(log, entry).read_bytes() == closeup.read_bytes()
    fact = entry.fact
    assert (fact.previous_direction, fact.this_direction) == ("across", "along")
    assert fact.toe == "up"


def test_a_photo_is_kept_once(run: Run, closeup: Path, tmp_path: Path) -> None:
    path = tmp_path / "bench.lapping"
    with bench(path) as log:
        bramble(log)
    asked = ("scratches", str(closeup), "--face", "Bramble/sole", *WAYS)
    run(*asked)
    assert "3  Bramble/sole: photo kept already\n" in run(*asked).err
    # What is said otherwise now corrects what was said.
    said = run(*asked[:4], *WAYS[:5], "down").err
    assert "4  Bramble/sole: photo kept already\n" in said
    with bench(path) as log:
        (entry,) = photos_of(log, the_face(log, "Bramble/sole"))
    assert (entry.root, entry.fact.toe) == (3, "down")


def test_what_is_no_closeup_is_not_kept(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "bench.lapping"
    with bench(path) as log:
        bramble(log)
    said = run(
        "scratches", str(SAMPLES / "tansy_after.jpg"), *WAYS, "--face", "Bramble/sole"
    )
    assert said.code == 0
    assert said.out.startswith("Scratches of the last grit: cannot tell, no close-up\n")
    assert "some 30 mm of bare metal" in " ".join(said.out.split())
    assert "not kept" in said.err
    with bench(path) as log:
        assert photos_of(log, the_face(log, "Bramble/sole")) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "say how the strokes ran"),
        (("--previous-direction", "across"), "say how the strokes ran"),
        ((*WAYS, "--toe", "north"), "--toe must be up, right, down, left"),
        (WAYS[:4], "say where the toe lies in the photo: --toe up, right"),
        (("--previous-direction", "x", *WAYS[2:]), "'x' cannot be read"),
        (("--previous-direction", "10deg", *WAYS[2:]), "closeup.jpg: the directions"),
        ((*WAYS, "--face", "Teasel/sole"), "there is no face 'Teasel/sole'"),
    ],
)
def test_nothing_half_understood_is_kept(
    run: Run, closeup: Path, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    with bench(tmp_path / "bench.lapping") as log:
        bramble(log)
    if "--face" not in words:
        words = (*words, "--face", "Bramble/sole")
    refused = run("scratches", str(closeup), *words)
    assert (refused.code, refused.out) == (2, "")
    assert said in refused.err
    closeup.write_bytes(closeup.read_bytes()[:5000])
    refused = run("scratches", str(closeup), *WAYS, "--face", "Bramble/sole")
    assert refused.code == 2
    assert "cut off" in refused.err
    with bench(tmp_path / "bench.lapping") as log:
        assert photos_of(log, the_face(log, "Bramble/sole")) == []
