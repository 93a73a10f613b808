"""Each reading against the others: the prediction, the test, and what is said."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lapping.face import Face
from lapping.methods.combine import combine
from lapping.methods.take import take_each
from lapping.observations import form_terms
from lapping.readings import DialReading
from lapping.surface.correlated import Seen
from lapping.surface.hypotheses import AMPLITUDES, FORM_RATIOS, LENGTHS, weigh_values
from lapping.surface.kriging import free_columns, matern52
from lapping.surface.left_out import left_out, odd_reading
from lapping.surface.posterior import infer_surface
from lapping.units import MICROMETRES
from lapping.words.odd import odd_words
from tests.made_lines import edge_set, gaps_under, level_set, slopes_of, usual_lines
from tests.said import Run
from tests.slip_study import READERS, one_face

FACE = Face(length_mm=250, width_mm=60)
HEAD = """\
# method: dial
# face: sole
# length: 250 mm
# width: 60 mm
# unit: {unit}
# sense: {sense}
# reference_flatness: 4 um
# repeatability: {repeats}
along,across,reading
"""


def heights(along: float, across: float) -> int:
    u, v = 2 * along / 250 - 1, across / 30 - 1
    return round(40 - 60 * u * u + 10 * u * v)


PLACES = [(a, c) for a in (5, 65, 125, 185, 245) for c in (5, 30, 55)]


def test_every_prediction_is_that_of_universal_kriging() -> None:
    """The textbook system (Cressie, Statistics for Spatial Data, 1993, eq. 3.4.2).

    One hypothesis only; every reading in turn is left out and predicted from the rest.
    """
    readings = READERS["dial 5x3 u=2"](np.random.default_rng(3), FACE, _shape)
    (taken,) = take_each([readings])
    obs = taken.observations
    form = form_terms(FACE, obs.along_mm, obs.across_mm)
    signals = [
        matern52(obs.along_mm, obs.across_mm, share * 250) + ratio**2 * form @ form.T
        for share in LENGTHS
        for ratio in FORM_RATIOS
    ]
    weighed = weigh_values(FACE, obs, Seen(places=(), signals=tuple(signals)))
    only = np.full(weighed.log_like.shape, -1e9)
    only[4, 1, 6] = 0.0
    found = left_out(obs, weighed, only)
    cell = weighed.cell(4, 1, 6)
    covariance = cell.amplitude_um**2 * signals[4]
    free = free_columns(FACE, obs)
    for i in range(obs.value_um.size):
        rest = np.arange(obs.value_um.size) != i
        noisy = covariance[np.ix_(rest, rest)] + np.diag(cell.u_um[rest] ** 2)
        system = np.block([[noisy, free[rest]], [free[rest].T, np.zeros((3, 3))]])
        right = np.concatenate([covariance[rest, i], free[i]])
        solved = np.linalg.solve(system, right)
        said = float(solved[: rest.sum()] @ obs.value_um[rest])
        variance = covariance[i, i] - float(solved @ right) + cell.u_um[i] ** 2
        assert found.off_um[i] == pytest.approx(obs.value_um[i] - said, rel=1e-6)
        assert found.u_um[i] == pytest.approx(variance**0.5, rel=1e-6)
    assert len(AMPLITUDES) == only.shape[2]


def _shape(along: np.ndarray, across: np.ndarray) -> np.ndarray:
    return 30 * np.sin(along / 40) + 0.2 * across


def test_the_study_s_promise_on_a_few_faces() -> None:
    """Fewer than 1 % of true files pointed at, nine of ten slips found."""
    found = [one_face("dial 7x3 u=2", seed) for seed in range(500, 530)]
    assert sum(o.wrongly for o in found) <= 1
    assert sum(bool(o.ten) for o in found) >= 25


def test_leaves_and_lines_with_a_datum_each_are_not_tested() -> None:
    rows = gaps_under(_shape, usual_lines(), seed=3)
    leaves = [(*row[:3], (row[3] // 10 * 10, row[3] // 10 * 10 + 10)) for row in rows]
    (taken,) = take_each([edge_set(leaves)])
    found = infer_surface(FACE, taken.observations, draws=2).left_out
    assert found is None
    # Of a gap the slip is shared out over all of its line.
    rows[7] = (*rows[7][:3], rows[7][3] * 10)
    (taken,) = take_each([edge_set(rows, repeatability_um=5.0)])
    found = infer_surface(FACE, taken.observations, draws=2).left_out
    assert found is not None
    assert odd_reading(FACE, taken.observations, found) is None


def test_a_reading_that_its_own_datum_fits_is_never_odd() -> None:
    """Three dial readings on a plate of their own fit any heights there."""
    first = READERS["dial 5x3 u=2"](np.random.default_rng(3), FACE, _shape)
    rows = [r for r in first.readings if isinstance(r, DialReading)]
    others = [replace(r, along_mm=r.along_mm + 7, value_um=3e3) for r in rows[:2]]
    second = replace(first, readings=(*others, replace(rows[9], value_um=9.0)))
    taken = combine(FACE, take_each([first, second]))
    found = infer_surface(FACE, taken.observations, draws=2).left_out
    assert found is not None
    assert np.isfinite(found.off_um).all()
    assert (found.u_um[-3:] > 1e3).all()
    assert odd_reading(FACE, taken.observations, found) is None


def test_a_slip_of_a_level_is_found_between_its_two_places(run: Run) -> None:
    rows = slopes_of(_shape, usual_lines(stations=6), [200] * 8)
    rows[7] = (*rows[7][:5], rows[7][5] * 10)
    given = level_set(rows, repeatability_um=5.0)
    (taken,) = take_each([given])
    obs = taken.observations
    found = infer_surface(FACE, obs, draws=2).left_out
    assert found is not None
    odd = odd_reading(FACE, obs, found)
    assert odd is not None
    assert odd.row == 7
    (said,) = odd_words(FACE, [given], odd, len(rows), MICROMETRES)
    assert "from middle, right edge to middle, right edge (line 8)" in said
    assert "it is off by" in said
    assert odd_words(FACE, [given], odd, 3, MICROMETRES) == ()
    assert odd_words(FACE, [given], None, len(rows), MICROMETRES) == ()


@pytest.mark.parametrize(
    ("unit", "sense", "step", "typed", "shown"),
    [
        ("um", "high-positive", 1, "400", "µm"),
        ("um", "low-positive", -1, "-400", "µm"),
        ("0.01mm", "high-positive", 0.1, "40", "× 0.01mm"),
        ("mm", "high-positive", 0.001, "0.4", "mm"),
        ("mm", "high-positive", 0.001, "0.4mm", "mm"),
        ("mm", "high-positive", 0.001, "400um", "µm"),
    ],
)
def test_a_slip_is_said_as_typed_with_its_place(
    run: Run, tmp_path: Path, unit: str, sense: str, step: float, typed: str, shown: str
) -> None:
    rows = [f"{a},{c},{heights(a, c) * step:.6g}" for a, c in PLACES]
    assert (PLACES[7], rows[7].split(",")[2]) == ((125, 30), f"{40 * step:.6g}")
    head = HEAD.format(unit=unit, sense=sense, repeats="2 um")
    true, slipped = tmp_path / "true.csv", tmp_path / "slipped.csv"
    true.write_text(head + "\n".join(rows), encoding="utf-8")
    rows[7] = f"125,30,{typed}"
    slipped.write_text(head + "\n".join(rows), encoding="utf-8")
    assert "does not fit" not in run("check", str(true)).out
    out = " ".join(run("check", str(slipped)).out.split())
    assert (
        f"The reading '{typed}' at the middle, centre (line 17) does not fit its "
        "neighbours: " in out
    )
    figures = re.search(rf"they say (-?[0-9.]+) ± ([0-9.]+) {shown}\. Read it", out)
    assert figures is not None, out
    said, doubt = (float(figure) for figure in figures.groups())
    scale = 1000 if (unit, shown) == ("mm", "µm") else 1
    assert said == pytest.approx(40 * step * scale, abs=doubt)
    assert doubt < 60 * abs(step) * scale
