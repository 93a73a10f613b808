"""What a lap's own shape leaves in a face, by the geometry of a second-degree shape."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lapping.face import Face, Mouth
from lapping.grid import metal_grid
from lapping.lap_limit import lap_limit_um
from lapping.surface.form import Bow, Form, Twist
from lapping.zone.minimum_zone import minimum_zone
from tests.made_readings import FACE

LAP = Face(length_mm=500.0, width_mm=300.0, kind="lap")


def form(along: float = 0.0, across: float = 0.0, twist: float = 0.0) -> Form:
    return Form(
        along_bow=Bow(um=along, u_um=1.0),
        across_bow=Bow(um=across, u_um=1.0),
        twist=Twist(um=twist, u_um=1.0, arcmin=0.0),
    )


@pytest.mark.parametrize("bow", [40.0, -40.0])
def test_a_bow_shrinks_with_the_square_of_the_length(bow: float) -> None:
    """A chord half as long has a quarter of the sagitta, L²/(8R)."""
    assert lap_limit_um(form(along=bow), LAP, FACE) == pytest.approx(40 / 4)
    assert lap_limit_um(form(across=bow), LAP, FACE) == pytest.approx(
        40 * (60 / 300) ** 2
    )


@pytest.mark.parametrize("twist", [80.0, -80.0])
def test_twist_shrinks_with_the_area(twist: float) -> None:
    """wind = lap wind × (L·W)/(L_lap·W_lap); four corners out of one plane by t lie in
    a zone of t/2."""
    corner = 80.0 * (250 * 60) / (500 * 300)
    assert lap_limit_um(form(twist=twist), LAP, FACE) == pytest.approx(corner / 2)


def test_all_three_together_are_the_zone_of_the_patch_of_the_lap() -> None:
    """Cut a patch of the face's size out of the middle of the lap and measure it."""
    rng = np.random.default_rng(1)
    for _ in range(20):
        along, across, twist = rng.normal(0, 60, 3)
        grid = metal_grid(FACE)
        x, y = grid.along_mm - 125, grid.across_mm - 30
        lap = (-along * (x / 250) ** 2 - across * (y / 150) ** 2
               + twist / 4 * (x / 250) * (y / 150))  # fmt: skip
        expected = minimum_zone(grid.along_mm, grid.across_mm, lap).width_um
        found = lap_limit_um(form(along, across, twist), LAP, FACE)
        assert found == pytest.approx(expected, abs=1e-9)


def test_a_flat_lap_leaves_nothing_and_the_face_as_long_as_the_lap_all() -> None:
    assert lap_limit_um(form(), LAP, FACE) == pytest.approx(0.0, abs=1e-12)
    whole = Face(length_mm=500.0, width_mm=300.0)
    assert lap_limit_um(form(along=40.0), LAP, whole) == pytest.approx(40.0)


def test_openings_of_the_face_change_nothing() -> None:
    """The limit is of the whole outline; a mouth may hide a corner of it."""
    mouthed = replace(FACE, mouth=Mouth(from_mm=80.0, to_mm=86.0))
    bent = form(40.0, 20.0, 80.0)
    assert lap_limit_um(bent, LAP, mouthed) == lap_limit_um(bent, LAP, FACE)


@pytest.mark.parametrize("name", ["along_bow", "across_bow", "twist"])
def test_a_lap_not_wholly_measured_has_no_limit(name: str) -> None:
    assert lap_limit_um(replace(form(40.0), **{name: None}), LAP, FACE) is None
