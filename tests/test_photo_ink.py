"""Ink told from metal: fields, levels and the two ways of saying how much is gone."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from scipy.interpolate import BSpline
from sklearn.mixture import GaussianMixture

from lapping.errors import BadInput
from lapping.face import Face
from lapping.photo.coats import tell_coat
from lapping.photo.contact import View, contact_of
from lapping.photo.fields import basis
from lapping.photo.ink import SQUARE, density, fit_levels, mean_of, one_level
from lapping.photo.kept import CELL, kept_ink
from lapping.photo.pairs import lay_over, over
from lapping.photo.samples import Samples, sample
from lapping.photo.thinning import brightened, exponent, thinned, without_brightening
from lapping.photo.worn import ink_left
from tests.photo_scenes import few_scenes, render

ROWS, COLUMNS = 60 * SQUARE, 24 * SQUARE


def striped(seed: int, step: tuple[float, float, float]) -> tuple[np.ndarray, ...]:
    """Draw stripes of ink on metal under light that falls off, in log brightness."""
    rng = np.random.default_rng(seed)
    down, over_ = np.mgrid[0 : 1 : ROWS * 1j, 0 : 1 : COLUMNS * 1j]
    ink = (np.sin(2 * np.pi * 15 * down + 3 * over_) > 0).astype(np.float32)
    light = 0.8 * down - 0.6 * (over_ - 0.3) ** 2
    colour = np.array([-0.5, -0.45, -0.4])[:, None, None]
    log = colour + light + np.array(step)[:, None, None] * ink
    noise = 0.05 * rng.standard_normal((1, ROWS, COLUMNS))
    noise = noise + 0.02 * rng.standard_normal((3, ROWS, COLUMNS))
    return (log + noise).astype(np.float32), ink, (colour + light).astype(np.float32)


def test_the_splines_are_the_uniform_cubic_b_splines_of_scipy() -> None:
    """scipy.interpolate.BSpline.design_matrix, uniform knots."""
    rows, spans = 40, 5
    ours = basis(rows, 8, rows / spans).down
    at = (np.arange(rows) + 0.5) / rows * spans
    knots = np.arange(-3, spans + 4, dtype=float)
    theirs = BSpline.design_matrix(at, knots, 3).toarray()
    np.testing.assert_allclose(ours, theirs, atol=1e-12)


def test_a_plane_is_fitted_exactly_and_goes_on_straight_where_nothing_is_seen() -> None:
    light = basis(30, 12, 6)
    down, across = np.mgrid[0:30, 0:12].astype(float)
    plane = np.stack([2 + 0.1 * down - 0.3 * across] * 3)
    weight = np.ones((30, 12))
    weight[18:] = 0
    np.testing.assert_allclose(light.fit(plane, weight, 30.0), plane, atol=1e-3)


@pytest.mark.parametrize(
    "step", [(-1.2, -1.2, -1.1), (0.2, -0.6, -0.9), (-0.9, -0.2, 0)]
)
def test_both_levels_are_found_under_uneven_light(
    step: tuple[float, float, float],
) -> None:
    log, ink, light = striped(1, step)
    seen = np.ones(ink.shape, np.float32)
    start = np.where(np.random.default_rng(2).random(ink.shape) < 0.8, ink, 1 - ink)
    found = fit_levels(log, seen, start, rounds=8)
    np.testing.assert_allclose(mean_of(found.step, seen), step, atol=0.02)
    assert np.abs(found.metal - light).max() < 0.08
    assert ((found.ink > 0.5) == (ink > 0.5)).mean() > 0.999
    assert found.apart > 6
    assert found.fit > one_level(log, seen)[1] + 0.5
    assert density(log, found)[ink > 0].mean() == pytest.approx(1, abs=0.02)
    assert density(log, found)[ink < 1].mean() == pytest.approx(0, abs=0.02)


def test_levels_agree_with_a_general_mixture_where_the_light_is_even() -> None:
    """sklearn.mixture.GaussianMixture, two components with covariances of their own."""
    log, ink, light = striped(3, (-0.8, -0.7, -0.3))
    even = log - light
    seen = np.ones(ink.shape, np.float32)
    found = fit_levels(even, seen, ink * 0.8 + 0.1, rounds=10)
    mixture = GaussianMixture(2, random_state=0).fit(even.reshape(3, -1).T)
    bare = int(np.argmax(mixture.means_.sum(axis=1)))
    step = mixture.means_[1 - bare] - mixture.means_[bare]
    np.testing.assert_allclose(mean_of(found.step, seen), step, atol=0.01)
    np.testing.assert_allclose(
        mean_of(found.metal, seen), mixture.means_[bare], atol=0.01
    )


@pytest.mark.parametrize("rough", ["even", "brushed", "blotched"])
def test_one_level_is_not_taken_for_two(rough: str) -> None:
    rng = np.random.default_rng(4)
    log, _, _ = striped(4, (0.0, 0.0, 0.0))
    grain = rng.standard_normal((ROWS, COLUMNS))
    if rough == "brushed":
        grain = cv2.GaussianBlur(grain, (0, 0), sigmaX=0.6, sigmaY=15)
    if rough == "blotched":
        grain = cv2.GaussianBlur(grain, (0, 0), 8)
    log = log + (0.2 * grain / grain.std()).astype(np.float32)
    assert tell_coat(as_samples(log)).kind == "metal"
    assert tell_coat(as_samples(log - 4)).kind == "ink"


def as_samples(log: np.ndarray) -> Samples:
    """Make samples of which all was seen."""
    seen = np.ones(log.shape[1:], np.float32)
    return Samples(log=log, seen=seen, metal=seen > 0, clipped=0.0, step_mm=0.6)


def test_half_covered_samples_are_half_inked() -> None:
    """By hand: with ink over half of a sample half of the light that ink takes is lost.

    The levels are those of brightness, so the mixing is done in brightness.
    """
    log, ink, _ = striped(5, (-1.5, -1.5, -1.5))
    seen = np.ones(ink.shape, np.float32)
    found = fit_levels(log, seen, ink, rounds=8)
    half = np.log((np.exp(found.metal) + np.exp(found.metal + found.step)) / 2)
    np.testing.assert_allclose(density(half, found), 0.5, atol=1e-5)


def test_gaps_between_full_lines_are_not_worn_and_a_wide_bare_place_is() -> None:
    step_mm = 0.6
    ink = np.zeros((200, 100), np.float32)
    for row in range(0, 200, 10):
        ink[row : row + 4] = 1
    ink[80:140, 20:80] = 0
    left, doubt = ink_left(ink, np.ones_like(ink), step_mm)
    assert left[:70].min() > 0.85
    assert left[95:125, 35:65].max() < 0.1
    assert doubt.min() >= 0.05
    assert doubt[110, 50] > doubt[0, 0]


def test_fading_lines_are_worn_as_far_as_they_have_faded() -> None:
    step_mm = 0.6
    ink = np.zeros((200, 120), np.float32)
    for row in range(0, 200, 9):
        ink[row : row + 4] = 1
    fade = np.clip((np.arange(120) - 30) / 60, 0, 1)
    left, _ = ink_left(ink * fade, np.ones_like(ink), step_mm)
    for column in (60, 75):
        assert left[40:160, column].mean() == pytest.approx(fade[column], abs=0.12)
    assert left[40:160, :20].mean() < 0.05
    assert left[40:160, 105:].mean() > 0.9


def test_no_line_at_all_is_all_worn() -> None:
    left, _ = ink_left(np.zeros((40, 40), np.float32), np.ones((40, 40)), 0.6)
    assert left.max() == 0


def compared(
    kept: np.ndarray, dims: tuple[float, float, float], *, film: bool, growth: float = 0
) -> tuple[np.ndarray, np.ndarray]:
    """Read drawn lines of which ``kept`` (cells) is left; give kept and true cells.

    Ink dims light by exp(-dims) where it is full: a film thins (Beer and Lambert) or
    breaks up, and metal rubbed bare is brighter by ``growth``.
    """
    rng = np.random.default_rng(6)
    rows, columns = (n * CELL for n in kept.shape)
    down, over_ = np.mgrid[0 : 1 : rows * 1j, 0 : 1 : columns * 1j]
    ink = (np.sin(2 * np.pi * 18 * down + 4 * over_) > -0.5).astype(float)
    left = kept.repeat(CELL, axis=0).repeat(CELL, axis=1)
    dim = np.array(dims)[:, None, None]
    brushed = 1 + 0.08 * rng.standard_normal((2, 1, rows, columns))
    before = np.exp(-dim * ink) * brushed[0]
    through = np.exp(-dim * ink * left) if film else 1 - left * (1 - np.exp(-dim * ink))
    light = (0.5 + 0.3 * down) * np.array([0.8, 1.0, 1.3])[:, None, None]
    after = light * through * (1 + growth * (1 - left)) * brushed[1]
    seen = np.ones((rows, columns), np.float32)
    found = kept_ink(
        cv2.blur(after.astype(np.float32).transpose(1, 2, 0), (3, 3)).transpose(
            2, 0, 1
        ),
        cv2.blur(before.astype(np.float32).transpose(1, 2, 0), (3, 3)).transpose(
            2, 0, 1
        ),
        seen,
        1 - np.exp(-np.array(dims)),
    )
    cells = [
        np.asarray(a).reshape(kept.shape[0], 4, kept.shape[1], 4).sum(axis=(1, 3))
        for a in (found.kept * found.was, found.was)
    ]
    return cells[0] / cells[1], kept


FADED = np.abs(np.linspace(-1.0, 1.0, 20))[:, None].repeat(6, axis=1)


def test_nothing_kept_and_all_kept_need_no_level_of_the_ink() -> None:
    for share in (0.0, 1.0):
        found, true = compared(np.full((20, 6), share), (1.5, 1.4, 1.6), film=False)
        np.testing.assert_allclose(found, true, atol=0.03)


@pytest.mark.parametrize("film", [False, True])
def test_coloured_ink_tells_whether_it_breaks_up_or_thins(film: bool) -> None:
    """By hand: a film by Beer and Lambert, and a share of the area kept whole."""
    found, true = compared(FADED, (2.2, 1.1, 0.6), film=film)
    # Taken for ink that breaks up, the film would be read 0.10 too little worn.
    assert np.abs(found - true).mean() < (0.05 if film else 0.03)


def test_metal_that_the_strokes_brighten_is_not_rubbed_ink() -> None:
    patchy = np.where(np.random.default_rng(3).random((20, 6)) > 0.5, 1.0, 0.4)
    found, true = compared(patchy, (1.6, 1.6, 1.6), film=False, growth=0.3)
    # Black ink does not say how it thins: the usual power errs by this much at half.
    assert np.abs(found - true)[true == 1].mean() < 0.04
    assert np.abs(found - true)[true < 1].mean() < 0.07


def test_ink_that_grows_in_a_part_of_the_face_is_noticed() -> None:
    """Swapped photos: a quarter of the ink was rubbed off, so there is more before."""
    lines = np.full((20 * CELL, 6 * CELL), 1.0, np.float32)
    lines[np.arange(20 * CELL) % 14 < 8] = 0.2
    rubbed = lines.copy()
    rubbed[: 5 * CELL] = 1.0
    one, two = (np.stack([a] * 3) for a in (lines, rubbed))
    seen = np.ones(lines.shape, np.float32)
    # By hand: cells with half of a full coat gain it in a quarter of the face.
    assert kept_ink(one, two, seen, np.ones(3)).gained > 0.05
    assert kept_ink(two, one, seen, np.ones(3)).gained == 0


def test_blown_out_gaps_are_metal_and_a_blown_out_spot_is_glare() -> None:
    face = Face(length_mm=100, width_mm=50)
    pixels = np.full((1000, 500, 3), 255, np.uint8)
    pixels[np.arange(1000) % 60 < 30] = 60
    corners = np.array([[0, 0], [499, 0], [499, 999], [0, 999]], np.float64)
    assert sample(pixels, corners, face).seen.min() == 1
    cv2.circle(pixels, (250, 500), 50, (255, 255, 255), -1)
    seen = sample(pixels, corners, face).seen
    rows, columns = seen.shape
    assert seen[rows // 2, columns // 2] == 0
    # The spot is 10 mm across and its halo 4 mm more all round.
    assert 1 - seen.mean() == pytest.approx(np.pi * 9**2 / 5000, abs=0.02)


def test_thinning_by_hand() -> None:
    """At power 1 the light taken is the ink; a thin film has taken 1 - exp(-D k)."""
    kept = np.array([0.0, 0.3, 1.0])
    np.testing.assert_allclose(thinned(kept, 0.2, 1.0), kept)
    full = np.exp(-2.0)
    taken = (1 - np.exp(-2.0 * kept)) / (1 - full)
    np.testing.assert_allclose(thinned(taken, float(full), 1e-6), kept, atol=1e-4)
    assert exponent([(taken, float(full))]) == pytest.approx(0.7)
    np.testing.assert_allclose(without_brightening(np.array([0.4 / 1.18]), 0.3), [0.4])
    flat = np.ones((5, 4))
    assert brightened(flat, flat) == 0


def test_a_scribble_is_laid_over_itself() -> None:
    rng = np.random.default_rng(8)
    rough = np.repeat(np.repeat(rng.random((50, 25)) > 0.5, 4, 0), 4, 1)
    before = rough.astype(np.float32)
    shift = np.array([[1.004, 0.006, 1.7], [-0.005, 0.997, -2.2]])
    after = over(before, shift)
    laid = lay_over(after, before, np.ones_like(after), 0.6)
    assert laid.alike > 0.9
    np.testing.assert_allclose(laid.shift[:, :2], shift[:, :2], atol=0.004)
    np.testing.assert_allclose(laid.shift[:, 2], shift[:, 2], atol=0.3)
    other = (rng.random(after.shape) > 0.5).astype(np.float32)
    assert lay_over(after, other, np.ones_like(after), 0.6).alike < 0.2


def test_a_heel_found_short_does_not_lead_to_the_next_line() -> None:
    """A zigzag is alike one line further on; half of it is rubbed off."""
    rows, columns = np.mgrid[:400, :100]
    lines = np.abs((rows + 0.1 * columns) % 10 - 5) < 1.5
    before = (lines & (rows % 37 > 6)).astype(np.float32)
    short = np.array([[1.0, 0.0, 0.0], [0.0, 1.0125, 0.0]])
    after = over(before, short)
    after[120:300, :60] = 0
    laid = lay_over(after, before, np.ones_like(after), 0.6)
    assert laid.alike > 0.8
    np.testing.assert_allclose(laid.shift[1] @ [50, 390, 1], 1.0125 * 390, atol=0.8)


@pytest.fixture(scope="module")
def shots() -> list[tuple]:
    """Draw the few small scenes once."""
    return [(scene, render(scene)) for scene in few_scenes()]


def test_contact_on_a_few_drawn_scenes(shots: list[tuple]) -> None:
    """`python -m tests.photo_study` measures the whole list, for docs/photos.md."""
    errors: dict[bool, list[float]] = {True: [], False: []}
    missed = {True: 0, False: 0}
    for scene, shot in shots:
        after = View(pixels=shot.after, corners_px=shot.after_corners_px)
        before = View(pixels=shot.before, corners_px=shot.before_corners_px)
        for pair in (True, False):
            found = contact_of(after, scene.face, before if pair else None)
            assert found.contact_percent is not None
            assert found.contact_u_percent is not None
            off = abs(found.contact_percent - shot.contact_percent)
            missed[pair] += off > 2 * found.contact_u_percent
            errors[pair].append(float(np.nanmedian(abs(found.rubbed - shot.rubbed))))
    assert np.median(errors[True]) <= 0.05
    assert np.median(errors[False]) <= 0.10
    # Of the ± that is said, a miss in six is what may happen on so few small ones.
    assert missed[True] <= 1
    assert missed[False] <= 1


def test_a_before_photo_the_other_way_round_is_turned(shots: list[tuple]) -> None:
    scene, shot = shots[0]
    after = View(pixels=shot.after, corners_px=shot.after_corners_px)
    before = View(pixels=shot.before, corners_px=shot.before_corners_px)
    right = contact_of(after, scene.face, before)
    turned = contact_of(after, scene.face, before.turned, may_be_turned=True)
    np.testing.assert_array_equal(turned.rubbed, right.rubbed)
    wrong = contact_of(after, scene.face, before.turned)
    assert any("do not match" in one for one in wrong.warnings)
    # Against another scribble nearly all would look rubbed; the photo alone tells more.
    np.testing.assert_array_equal(wrong.rubbed, contact_of(after, scene.face).rubbed)
    assert wrong.baseline == "estimated"


def test_the_same_photo_twice_and_photos_swapped_are_told(shots: list[tuple]) -> None:
    scene, shot = shots[3]
    after = View(pixels=shot.after, corners_px=shot.after_corners_px)
    before = View(pixels=shot.before, corners_px=shot.before_corners_px)
    with pytest.raises(BadInput, match="both photos are the same picture"):
        contact_of(after, scene.face, after)
    with pytest.raises(BadInput, match="look swapped"):
        contact_of(before, scene.face, after)
    assert contact_of(after, scene.face, before).contact_percent is not None


def test_glare_is_unknown_and_never_rubbed(shots: list[tuple]) -> None:
    scene, shot = shots[0]
    face: Face = scene.face
    blown = shot.after.copy()
    toe = np.average(shot.after_corners_px, axis=0, weights=[3, 3, 1, 1])
    tall, wide = blown.shape[:2]
    down, across = np.mgrid[0:tall, 0:wide]
    blown[np.hypot(across - toe[0], down - toe[1]) < 0.12 * wide] = 255
    plain = contact_of(View(pixels=shot.after, corners_px=shot.after_corners_px), face)
    found = contact_of(View(pixels=blown, corners_px=shot.after_corners_px), face)
    assert found.unknown_percent > plain.unknown_percent + 5
    seen = np.isfinite(found.rubbed) & (found.unknown < 0.05)
    assert np.nanmedian(abs(found.rubbed - plain.rubbed)[seen]) < 0.05
