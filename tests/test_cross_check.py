"""Ink held against the gauge: what is found, what is left alone, what cannot be told.

How a face sinks into paper is held to the rule of the middle third (a rectangle on an
elastic bed loaded a sixth of its length off the middle just lifts at the far edge;
the core of a section in any handbook of mechanics, from memory), the fit to a general
least squares routine and to a plain average over the prior.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from lapping.answer import Answer, answer
from lapping.contact_map import ContactMap, contact_map, squares
from lapping.cross_check import fit as ink_fit
from lapping.cross_check.fit import Likely, SeenCells, fit_ink, seen_cells
from lapping.cross_check.flips import (
    ORIENTATIONS,
    CrossCheck,
    NotChecked,
    Orientation,
    OrientationFit,
    cross_check,
)
from lapping.cross_check.zones import named_zones, share_in
from lapping.errors import BadInput
from lapping.face import Face, Mouth
from lapping.words.cross_check import LEAVES, cross_warnings, cross_words
from tests.cross_study import entered, tried
from tests.made_ink import Hand, Seen, ink_map, sinking
from tests.made_readings import (
    FACE,
    Shape,
    dial_set,
    feeler_set,
    form_shape,
    grid_places,
    leaves_under,
    read_shape,
)

Array = NDArray[np.float64]
HAND = Hand(sinks_um=12.0, dose=1.5)
PHOTO = Seen(noise=0.05, patchy=0.02)


def odd_shape(along: Array, across: Array) -> Array:
    """Give a face that looks different from every side: twist, a lean and a bump."""
    a, c = np.asarray(along) / 125 - 1, np.asarray(across) / 30 - 1
    bump = np.exp(-((along - 60) ** 2 + (across - 45) ** 2) / 800)
    return 20 * a * c + 15 * (a**3 - 0.6 * a) + 25 * bump


def read_dial(shape: Shape, *, u: float = 2.0, along: int = 7) -> Answer:
    """Read a face in three rows with an indicator that repeats to ``u``."""
    noise = np.random.default_rng(1)
    rows = [
        (a, c, float(round(v + noise.normal(0, u))))
        for a, c, v in read_shape(grid_places(along, 3), shape)
    ]
    return answer([dial_set(rows, repeatability_um=u)])


def ink_of(
    shape: Shape, *, hand: Hand = HAND, seen: Seen = PHOTO, face: Face = FACE
) -> ContactMap:
    """Give the ink left on a face, with the noise of one photo."""
    return ink_map(np.random.default_rng(5), face, shape, hand, seen)


def even_ink(share: Array) -> ContactMap:
    """Give a map on which each cell of the face has lost just this share."""
    fine = np.kron(share, np.ones((4, 4)))
    return contact_map(
        FACE,
        ink=1 - fine,
        was=np.ones(fine.shape),
        seen=np.ones(fine.shape),
        u=0.05,
        baseline="before photo",
    )


def checked(found: Answer, ink: ContactMap) -> CrossCheck:
    """Check, and hold that it could be checked."""
    result = cross_check(found, ink)
    assert isinstance(result, CrossCheck)
    return result


@pytest.fixture(scope="module")
def odd_ink() -> ContactMap:
    """Give the ink of the odd face."""
    return ink_of(odd_shape)


def test_a_flat_face_tilts_as_the_middle_third_rule_has_it() -> None:
    a, c = (g.ravel() for g in np.meshgrid(*2 * [(np.arange(400) + 0.5) / 400 - 0.5]))
    found = sinking(np.zeros(a.size), a, c, np.array([1 / 6, 0.0]), 10.0)
    # p = mean × (1 + 12 e x / L²): twice the mean at one edge, nothing at the other.
    np.testing.assert_allclose(found, 10 * (1 + 2 * a), atol=0.01)
    np.testing.assert_allclose(found.mean(), 10.0, rtol=1e-6)


@pytest.mark.parametrize(
    "true", ["as entered", "heel for toe", "left for right", "turned round"]
)
def test_each_way_of_entering_an_odd_face_is_named(
    true: Orientation, odd_ink: ContactMap
) -> None:
    found = checked(read_dial(entered(FACE, odd_shape, true)), odd_ink)
    assert found.verdict == true
    assert found.flipped == (true != "as entered")
    assert found.conflicts == ()
    said = cross_warnings(FACE, found)
    if true == "heel for toe":
        assert said[0].startswith(
            "These readings look entered heel for toe: turned end for end they fit the "
            "ink clearly better."
        )
    assert len(said) == (true != "as entered")
    assert sum(f.probability for f in found.fits) == pytest.approx(1)
    fits = {f.orientation: f for f in found.fits}
    assert fits[true].misfit == min(f.misfit for f in found.fits)


def test_how_far_a_swap_moves_the_heights_is_that_of_the_shape(
    odd_ink: ContactMap,
) -> None:
    found = checked(read_dial(odd_shape, u=1.0, along=13), odd_ink)
    along, across = np.meshgrid(
        np.arange(5.0, 250, 10), np.arange(5.0, 60, 10), indexing="ij"
    )
    moved = odd_shape(250 - along, across) - odd_shape(along, across)
    moved -= _plane(along, across, moved)
    by = {f.orientation: f.moved_um for f in found.fits}
    assert by["as entered"] == 0
    assert by["heel for toe"] == pytest.approx(float(moved.std()), rel=0.15)


def _plane(along: Array, across: Array, z: Array) -> Array:
    columns = np.column_stack([np.ones(along.size), along.ravel(), across.ravel()])
    return (columns @ np.linalg.lstsq(columns, z.ravel(), rcond=None)[0]).reshape(
        z.shape
    )


def test_twist_alone_shows_a_mirror_but_not_which() -> None:
    shape = form_shape(twist=100)
    found = checked(read_dial(entered(FACE, shape, "heel for toe")), ink_of(shape))
    assert found.verdict == "mirrored"
    assert set(found.may_be) == {"heel for toe", "left for right"}
    assert "it cannot tell which" in cross_warnings(FACE, found)[0]


def test_a_pure_crown_cannot_tell_and_says_so() -> None:
    shape = form_shape(along_bow=60)
    found = checked(read_dial(shape), ink_of(shape))
    assert found.verdict == "cannot tell"
    assert cross_warnings(FACE, found) == ()
    said = cross_words(FACE, found)
    assert said[0].startswith("The ink cannot tell whether the readings were entered")


def test_leaves_read_sole_down_are_named_for_their_mirror() -> None:
    def gap(along: Array, across: Array) -> Array:
        # Pure twist rests on the diagonal of its high corners: gap 2c under a plane.
        return 60.0 - form_shape(twist=240)(along, across)

    shape = form_shape(twist=240)
    rim = [p for p in grid_places(7, 3, edge_mm=0.0) if FACE.at_rim(*p)]
    leaves = (30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 150.0)
    swapped = leaves_under(rim, lambda a, c: gap(a, 60 - np.asarray(c)), leaves)
    found = checked(
        answer([feeler_set(swapped, reference_flatness_um=0.0)]), ink_of(shape)
    )
    assert found.flipped
    assert "left for right" in found.may_be
    assert LEAVES in cross_warnings(FACE, found)[0]


def test_tilt_and_offset_of_the_readings_change_nothing(odd_ink: ContactMap) -> None:
    level = checked(read_dial(odd_shape), odd_ink)
    tilted = checked(
        read_dial(lambda a, c: odd_shape(a, c) + 300 + 2 * a - 5 * c), odd_ink
    )
    for one, other in zip(level.fits, tilted.fits, strict=True):
        # Dials are read to whole micrometres, and that is all the difference.
        assert one.misfit == pytest.approx(other.misfit, abs=0.01)
    assert level.verdict == tilted.verdict


def test_turning_face_and_photo_together_changes_nothing(odd_ink: ContactMap) -> None:
    turned = replace(
        odd_ink,
        **{
            name: getattr(odd_ink, name)[::-1, ::-1]
            for name in (
                "rubbed", "u", "unknown", "fine_rubbed", "fine_unknown", "metal",
            )
        },
    )  # fmt: skip
    as_is = checked(read_dial(odd_shape, u=1e-3), odd_ink)
    round_ = checked(
        read_dial(entered(FACE, odd_shape, "turned round"), u=1e-3), turned
    )
    assert as_is.verdict == round_.verdict == "as entered"
    for one, other in zip(as_is.fits, round_.fits, strict=True):
        assert one.misfit == pytest.approx(other.misfit, rel=0.05)


def test_a_heel_that_is_rubbed_and_read_low_is_a_conflict() -> None:
    def low(along: Array, across: Array) -> Array:
        # From 200 mm on it falls away by 2 µm a mm: 75 µm on average over the heel.
        return -2.0 * np.clip(np.asarray(along) - 200, 0, None)

    found = checked(read_dial(low, u=1.0, along=13), even_ink(np.full((25, 6), 0.8)))
    heel = next(c for c in found.conflicts if c.where == "heel")
    assert heel.kind == "rubbed but low"
    assert heel.rubbed == pytest.approx(0.8)
    # By hand: 225 to 250 mm averages 75 µm below the flat, on which the face lies with
    # the load anywhere up to a quarter of the length behind the middle (187 mm).
    assert heel.height_um == pytest.approx(-75, abs=2 * heel.u_um + 5)
    said = " ".join(cross_warnings(FACE, found))
    assert "The ink says the heel bears (80 % rubbed), the gauge puts it " in said
    assert "below the plane it rests on" in said


def test_proud_ends_that_kept_all_their_ink_are_a_conflict() -> None:
    hollow = form_shape(along_bow=-90)
    ink = np.full((25, 6), 0.85)
    ink[:6] = ink[-6:] = 0.0
    found = checked(read_dial(hollow, u=1.0), even_ink(ink))
    proud = {c.where: c for c in found.conflicts if c.kind == "proud but not rubbed"}
    assert set(proud) & {"toe", "heel"}
    for one in proud.values():
        # By hand: rubbed from 60 to 190 mm, where 90 a² is 24 µm at most; the ends'
        # outer cells lie at a = ±0.96, 83 µm up.
        assert one.height_um == pytest.approx(83 - 24, abs=2 * one.u_um + 6)
        assert one.rubbed == 0.0
    assert any("never touched (0 % rubbed)" in s for s in cross_warnings(FACE, found))


def test_ink_that_could_not_carry_the_hand_alone_is_a_conflict() -> None:
    ink = np.zeros((25, 6))
    ink[-4:] = 0.9
    found = checked(read_dial(form_shape(along_bow=-150), u=1.0), even_ink(ink))
    toe = next(c for c in found.conflicts if c.where == "toe")
    assert toe.kind == "proud but not rubbed"
    # By hand: without the toe the face lies on the cells at a = -0.72 and 0.96, 78 and
    # 138 µm up; their plane passes a = -0.96 at 69 µm, where the toe is 138 µm up.
    assert toe.height_um == pytest.approx(138 - 69, abs=2 * toe.u_um + 6)


def test_at_most_three_conflicts_are_told_the_worst_first() -> None:
    found = checked(
        read_dial(form_shape(along_bow=150, across_bow=60), u=1.0),
        even_ink(np.full((25, 6), 0.9)),
    )
    assert 1 <= len(found.conflicts) <= 3
    past = [c.beyond_um for c in found.conflicts]
    assert past == sorted(past, reverse=True)


def test_what_cannot_be_compared_says_why(odd_ink: ContactMap) -> None:
    found = read_dial(odd_shape)
    few = answer([dial_set([(5, 5, 0), (245, 5, 3), (5, 55, 9), (245, 55, 1)])])
    clean = even_ink(np.full((25, 6), 0.01))
    hidden = replace(odd_ink, rubbed=np.full((25, 6), np.nan))
    for one, ink, why in (
        (few, odd_ink, "4 places"),
        (found, clean, "no ink was rubbed off"),
        (found, hidden, "only 0% of the face can be seen"),
        (replace(found, unseen=("twist",)), odd_ink, "the readings leave open twist"),
    ):
        result = cross_check(one, ink)
        assert isinstance(result, NotChecked)
        assert why in result.why
        assert cross_warnings(FACE, result) == ()
        assert result.why in cross_words(FACE, result)[0]


def made_check(
    chances: tuple[float, float, float, float],
    *may_be: Orientation,
    flipped: bool,
    sole_down: bool = False,
) -> CrossCheck:
    """Make a check with these probabilities, for its words."""
    return CrossCheck(
        fits=tuple(
            OrientationFit(orientation=o, probability=p, misfit=0.03, moved_um=9.0)
            for o, p in zip(ORIENTATIONS, chances, strict=True)
        ),
        may_be=may_be,
        flipped=flipped,
        conflicts=(),
        sole_down=sole_down,
    )


def test_words_for_every_verdict() -> None:
    lap = Face(length_mm=400, width_mm=150, kind="lap")
    side = Face(length_mm=250, width_mm=50, kind="side", left_edge="sole")
    turned = made_check((0, 0, 0, 1), "turned round", flipped=True, sole_down=True)
    assert turned.verdict == "turned round"
    (said,) = cross_warnings(FACE, turned)
    assert "entered turned round (heel for toe and left for right)" in said
    # Only a mirror comes of reading with the sole down, and this is none.
    assert LEAVES not in said
    left = made_check((0, 0, 1, 0), "left for right", flipped=True)
    assert "near edge for far edge" in cross_warnings(lap, left)[0]
    assert "sole edge for top edge" in cross_warnings(side, left)[0]
    ends = made_check((0, 1, 0, 0), "heel for toe", flipped=True)
    assert "right end for left end" in cross_warnings(lap, ends)[0]
    odd = made_check((0, 0.6, 0, 0.4), "heel for toe", "turned round", flipped=True)
    assert odd.verdict == "not as entered"
    assert "heel for toe or turned round" in cross_warnings(FACE, odd)[0]
    perhaps = made_check((0.03, 0.97, 0, 0), "heel for toe", flipped=False)
    assert perhaps.verdict == "cannot tell"
    assert cross_words(FACE, perhaps) == (
        "The readings may have been entered heel for toe: the ink fits better so, but "
        "not clearly.",
    )
    sure = made_check((1, 0, 0, 0), "as entered", flipped=False)
    assert cross_words(FACE, sure) == ("The readings lie the way the ink does.",)


def test_a_photo_of_another_face_is_refused(odd_ink: ContactMap) -> None:
    other = replace(odd_ink, face=Face(length_mm=240, width_mm=60))
    with pytest.raises(BadInput, match="240 × 60 mm, the readings are of one of 250"):
        cross_check(read_dial(odd_shape), other)


def test_evidence_is_the_mean_likelihood_over_the_prior(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Against a plain average over 400,000 draws from the prior as it is written down.
    soft, patchy = 16.0, 0.08
    monkeypatch.setattr(ink_fit, "SOFT_UM", (soft,))
    monkeypatch.setattr(ink_fit, "PATCHY", (patchy,))
    rng = np.random.default_rng(3)
    cells, likely = _few_cells(rng)
    (found,) = fit_ink(FACE, cells, [likely])
    n = 400_000
    rough = likely.mean_um.std()
    plane = rng.standard_normal((n, 3)) * [2 * (rough + soft), *2 * [2 * rough + soft]]
    stray = 0.1 * rng.standard_normal(n)
    clean = 0.9 + 0.25 * rng.standard_normal(n)
    over = likely.mean_um + rng.standard_normal((n, 1)) @ likely.modes_um.T
    a, c = cells.along_mm / 125 - 1, cells.across_mm / 30 - 1
    over -= plane @ np.array([np.ones_like(a), a, c])
    share = stray[:, None] + clean[:, None] / (1 + np.exp(-over / soft))
    root = np.linalg.cholesky(_noise(cells, patchy))
    off = np.linalg.solve(root, (cells.rubbed - share).T)
    log_like = -(off**2).sum(axis=0) / 2 - np.log(np.diag(root)).sum()
    plain = np.logaddexp.reduce(log_like) - np.log(n)
    assert found.log_evidence == pytest.approx(plain, abs=0.5)


def test_the_fit_is_as_good_as_a_general_routine_finds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    soft, patchy = 16.0, 0.08
    monkeypatch.setattr(ink_fit, "SOFT_UM", (soft,))
    monkeypatch.setattr(ink_fit, "PATCHY", (patchy,))
    cells, likely = _few_cells(np.random.default_rng(4))
    (found,) = fit_ink(FACE, cells, [likely])
    a, c = cells.along_mm / 125 - 1, cells.across_mm / 30 - 1
    rough = likely.mean_um.std()
    spread = np.array([2 * (rough + soft), *2 * [2 * rough + soft], 0.1, 0.25, 1.0])
    root = np.linalg.cholesky(_noise(cells, patchy))

    def share(x: Array) -> Array:
        over = likely.mean_um + likely.modes_um @ x[5:] - x[0] - x[1] * a - x[2] * c
        return np.asarray(x[3] + x[4] / (1 + np.exp(-over / soft)))

    def residuals(x: Array) -> Array:
        far = (x - [0, 0, 0, 0, 0.9, 0]) / spread
        return np.concatenate([np.linalg.solve(root, cells.rubbed - share(x)), far])

    best = least_squares(residuals, np.array([0, 0, 0, 0, 0.9, 0.0]))
    misfit = float(np.sqrt(np.mean((cells.rubbed - share(best.x)) ** 2)))
    assert found.misfit == pytest.approx(misfit, abs=0.003)


def _few_cells(rng: np.random.Generator) -> tuple[SeenCells, Likely]:
    along, across = (
        g.ravel() for g in np.meshgrid([25.0, 95, 160, 225], [10.0, 50], indexing="ij")
    )
    height = form_shape(twist=60, along_bow=15)(along, across)
    rubbed = 0.05 + 0.8 / (1 + np.exp(-(height + 5) / 16)) + rng.normal(0, 0.06, 8)
    modes = 6 * np.cos(along / 40)[:, None]
    cells = SeenCells(
        along_mm=along, across_mm=across, rubbed=rubbed, u=np.full(8, 0.05)
    )
    return cells, Likely(mean_um=height, modes_um=modes)


def _noise(cells: SeenCells, patchy: float) -> Array:
    apart = np.hypot(
        cells.along_mm[:, None] - cells.along_mm,
        cells.across_mm[:, None] - cells.across_mm,
    )
    return np.asarray(patchy**2 * np.exp(-apart / 25) + np.diag(cells.u**2 + 0.03**2))


def test_zones_have_their_area_and_cells_their_middles() -> None:
    face = Face(length_mm=250, width_mm=60, mouth=Mouth(from_mm=80, to_mm=86))
    rows, columns = squares(face)
    fine = np.ones((rows, columns))
    ink = contact_map(
        face, ink=fine / 2, was=fine, seen=fine, u=0.05, baseline="before photo"
    )
    zones = dict(named_zones(face))
    # By hand: toe and heel 25 mm, edges 6 mm, land 12 mm, of cells of 10 × 10 mm.
    for name, mm2 in (
        ("toe", 25 * 60), ("heel", 25 * 60), ("left edge", 250 * 6),
        ("land ahead of the mouth", 12 * 60), ("middle", 200 * 48),
        ("heel-left corner", 25 * 6),
    ):  # fmt: skip
        assert 100 * share_in(zones[name], ink).sum() == pytest.approx(mm2)
    cells = seen_cells(ink)
    assert set(cells.across_mm.tolist()) == {5.0, 15.0, 25.0, 35.0, 45.0, 55.0}
    assert seen_cells(ink, rim_mm=15.0).along_mm.size == 25 * 6 - 21 * 2


def test_faces_drawn_at_random_are_left_alone_or_found() -> None:
    for one in tried(range(7), turned=False):
        assert not one.checked.flipped
        assert not one.checked.conflicts
    for one in tried((30, 46, 63), turned=True):
        assert one.twist_over_doubt >= 2.5
        assert one.checked.flipped
        assert one.true in one.checked.may_be


@pytest.mark.long
def test_rates_over_many_faces() -> None:
    right = list(tried(range(5000, 5400), turned=False))
    wrong = list(tried(range(5000, 5400), turned=True))
    assert sum(t.checked.flipped for t in right) <= 0.01 * len(right)
    assert sum(not t.checked.conflicts for t in right) >= 0.95 * len(right)
    clear = [
        t.checked.flipped
        for t in wrong
        if t.true != "turned round" and t.twist_over_doubt >= 2.5
    ]
    assert sum(clear) >= 0.9 * len(clear)
