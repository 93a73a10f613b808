"""What strokes leave standing between the places read."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from lapping.advice.case import BY_STROKES, look_at
from lapping.advice.chances import chance_within, is_proved
from lapping.advice.table import advise_on
from lapping.removal.worn_between import STAYS, worn_at
from lapping.surface.posterior import Surface
from lapping.surface.uncertainty import COVER
from tests.made_jobs import PLACES, SOLE, MadeBench
from tests.made_readings import form_shape

Array = NDArray[np.float64]


def surface_of(bench: MadeBench) -> Surface:
    """Give the surfaces that the readings of the last look leave possible."""
    found = look_at(bench.job()).answer
    assert found is not None
    return found.surface


def test_bumps_go_where_it_bore_and_hollows_stay() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-300))
    bench.read()
    raw = surface_of(bench)
    case = look_at(bench.job())
    drawn = raw.draws_um[:, raw.places :]
    first = case.glances
    # With no strokes nothing is known beside the readings.
    untouched = worn_at(raw, first, bench.looks[-1].number, bench.job(), case.removal)
    np.testing.assert_array_equal(untouched, drawn)
    for _ in range(3):
        bench.rub(60, fresh=True)
        bench.read()
    case = look_at(bench.job())
    raw = surface_of(bench)
    drawn = raw.draws_um[:, raw.places :]
    number = bench.looks[-1].number
    worn = worn_at(raw, case.glances, number, bench.job(), case.removal)
    lost = drawn - worn
    assert lost.min() >= 0
    along = raw.along_mm[raw.places :]
    ends = (along < 20) | (along > 230)
    # The middle of a hollow never bore; at the ends bumps went, all but a share.
    assert lost[:, np.abs(along - 125) < 15].max() < 1e-9
    assert lost[:, ends].max() > 1
    off = np.abs(drawn - raw.mean_um[raw.places :])
    assert (lost <= (1 - STAYS) * off.max(axis=1, keepdims=True) * 1.5).all()


def dented(along: Array, across: Array) -> Array:
    """Give a hollow face with three dents where it is read: it looks rough."""
    height = form_shape(SOLE, along_bow=-40)(along, across)
    for x, y, deep in ((125, 30, 30), (70, 5, 22), (180, 55, 18)):
        height = height - deep * np.exp(
            -0.5 * (((along - x) ** 2 + (across - y) ** 2) / 18**2)
        )
    return np.asarray(height)


def test_what_leans_on_the_strokes_is_read_twice_and_surer_before_it_is_done(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    bench = MadeBench(
        shape=dented,
        target_um=23,
        places=[
            (float(a), float(c)) for a in (6, 70, 125, 180, 244) for c in (5, 30, 55)
        ],
        noise_um=1.0,
    )
    bench.read()
    for _ in range(4):
        bench.rub(60, fresh=True)
        look = bench.read()
    once = look_at(bench.job())
    again = (*look.sets, bench.reading())
    bench.looks[-1] = replace(look, sets=again)
    twice = look_at(bench.job())
    for case in (once, twice):
        assert case.answer is not None
        assert case.chance is not None
        alone = chance_within(case.answer)
        assert alone is not None
        assert not is_proved(case.answer)
        assert max(alone, COVER) < case.chance < BY_STROKES
        assert advise_on(case).action == "measure"
    # Were the wear believed as readings are, two of them would be enough, not one.
    monkeypatch.setattr("lapping.advice.case.BY_STROKES", COVER)
    assert advise_on(look_at(bench.job())).action == "done"
    assert np.ptp(bench.height) < 23
    bench.looks[-1] = look
    assert advise_on(look_at(bench.job())).action == "measure"


def test_fewer_places_than_before_prove_nothing_done_at_once() -> None:
    bench = MadeBench(shape=form_shape(SOLE, along_bow=-60), noise_um=1.0)
    bench.read()
    bench.rub(100, fresh=True)
    bench.places = PLACES[::2] + PLACES[-1:]
    bench.read()
    once = look_at(bench.job())
    assert once.answer is not None
    assert is_proved(once.answer)
    assert advise_on(once).action == "measure"
    look = bench.looks[-1]
    bench.looks[-1] = replace(look, sets=(*look.sets, bench.reading()))
    assert advise_on(look_at(bench.job())).action == "done"
