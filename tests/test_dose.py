"""Wear as a function of the dose: exact cases, and another solver beside it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import trapezoid

from lapping.face import Face
from lapping.grid import metal_grid
from lapping.observations import form_terms, plane_terms
from lapping.removal.dose_seen import at_places
from lapping.wear.dose import pressed_in, worn_down
from lapping.wear.lap_contact import cells_of
from lapping.wear.lap_model import Sheet, rub
from lapping.wear.lap_strokes import Rubbing

Array = NDArray[np.float64]
PLAIN = Face(length_mm=250.0, width_mm=60.0)
GRID = metal_grid(PLAIN)
FORM = form_terms(PLAIN, GRID.along_mm, GRID.across_mm)


def test_the_dose_is_what_comes_off_on_average() -> None:
    height = FORM @ np.array([[100.0, 0, 0], [-60, 20, 30]]).T
    dose = np.array([0.0, 1.0, 7.0, 30.0])
    worn = worn_down(PLAIN, height.T, np.array([3.0, 20.0]), dose)
    # The mean over the outline by the trapezoidal rule.
    depth = (height.T - worn).reshape(*worn.shape[:2], *GRID.metal.shape)
    rows = trapezoid(depth, GRID.across_axis_mm / PLAIN.width_mm, axis=-1)
    mean = trapezoid(rows, GRID.along_axis_mm / PLAIN.length_mm, axis=-1)
    assert mean == pytest.approx(np.tile(dose[:, None], (1, 2)), abs=1e-3)


def test_no_place_grows_and_hollows_that_do_not_touch_stay() -> None:
    height = FORM @ [200.0, 0, 0]  # hollow: the middle is 200 µm under the ends
    (worn,) = worn_down(PLAIN, height[None], np.array([3.0]), np.array([20.0]))
    assert (worn[0] <= height + 1e-12).all()
    middle = np.abs(GRID.along_mm - 125) < 40
    assert worn[0][middle] == pytest.approx(height[middle], abs=1e-9)


def test_a_face_that_bears_all_over_dies_away_in_proportion() -> None:
    # Preston's law on springs, worked by hand: dz/dx = -z/give for a shape without
    # tilt, so that a dose of one give leaves 1/e of the shape.
    height = FORM @ [2.0, 0, 0]
    steps = np.linspace(0, 40.0, 4001)
    worn = worn_down(PLAIN, height[None], np.array([40.0]), steps)
    assert np.ptp(worn[-1, 0]) / np.ptp(height) == pytest.approx(np.exp(-1), rel=2e-3)


def test_without_give_a_plane_cuts_the_face() -> None:
    # A ridge of triangular section, 90 high: cut down to h it loses h²/(2·90) of its
    # width, on average over the face (plain geometry).
    a = 2 * GRID.along_mm / 250 - 1
    height = 90 * (1 - np.abs(a))
    worn = worn_down(PLAIN, height[None], np.array([1e-3]), np.array([20.0]))
    cut = height.max() - worn[-1, 0].max()
    assert cut == pytest.approx(np.sqrt(2 * 90 * 20.0), rel=0.05)


def test_the_pressed_depth_meets_load_and_balance() -> None:
    terms = plane_terms(PLAIN, GRID.along_mm, GRID.across_mm)
    height = (FORM @ [30.0, 5.0, 40.0] + 3 * GRID.along_mm)[None]
    shares = np.full(len(terms), 1 / len(terms))
    pressed, _ = pressed_in(
        terms, shares, height, np.array([4.0]), np.array([[height.max(), 0, 0]])
    )
    assert pressed.mean() == pytest.approx(4.0, rel=1e-3)
    assert (pressed @ terms[:, 1:]).ravel() / len(terms) == pytest.approx(0, abs=1e-3)


def test_the_lap_model_wears_a_face_the_same_way() -> None:
    """The same face by the stepwise solver with its own cells and units."""
    cells = cells_of(PLAIN, 33, 9)
    stiff, load = 5e-4, 40.0
    give = load / (250 * 60) / stiff
    terms = plane_terms(PLAIN, cells.along_mm, cells.across_mm)
    form = np.stack([terms[:, 1] ** 2, terms[:, 2] ** 2, terms[:, 1] * terms[:, 2]]).T
    start = form @ [80.0, -10.0, 25.0]
    sheet = Sheet(stiffness_mpa_per_um=stiff, preston_per_mpa=1e-4)
    rubbed = rub(
        cells, start, Rubbing(load_n=load, stroke_mm=200), sheet, 150
    ).height_um
    dose = float((start - rubbed).mean())
    height = FORM @ [80.0, -10.0, 25.0]
    steps = np.linspace(0, dose, 60)
    worn = worn_down(PLAIN, height[None], np.array([give]), steps)[-1, 0]
    there = at_places(PLAIN, GRID, cells.along_mm, cells.across_mm)
    # Archard and Preston by hand: K/H · pressure · path, in µm.
    assert dose == pytest.approx(1e-4 * load / (250 * 60) * 400 * 150 * 1e3, rel=1e-6)
    off = there @ worn - rubbed
    off -= terms @ np.linalg.lstsq(terms, off, rcond=None)[0]
    assert np.abs(off).max() < 1.5
    # A good part of the face is gone, so that it says much.
    assert np.ptp(rubbed) < 0.6 * np.ptp(start)
