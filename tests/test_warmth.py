"""A warm face bows: worked examples and what a bar of two metals must do."""

from __future__ import annotations

import math

import pytest

from lapping.errors import BadInput
from lapping.warmth import METALS, metal_named, thermal_bow_um

IRON = metal_named("cast iron")


@pytest.mark.parametrize(("length_mm", "bow_um"), [(250, 1.69), (600, 9.72)])
def test_a_grey_iron_body_fifty_deep_for_one_kelvin(
    length_mm: float, bow_um: float
) -> None:
    # α·ΔT·L²/(8h) by hand with α = 10.8e-6 for grey iron (handbook table, seen).
    found = thermal_bow_um(IRON, warmer_k=1, length_mm=length_mm, depth_mm=50)
    assert found == pytest.approx(bow_um, abs=0.005)


def test_the_bow_is_that_of_the_arc_with_the_two_lengths() -> None:
    # Geometry alone: an inner arc of 250 mm and an outer one longer by α·ΔT·L, 50 mm
    # apart, have one centre; the sagitta of the inner one over its chord.
    warmer_k, length_mm, depth_mm = 30.0, 250.0, 50.0
    longer = IRON.alpha_per_k * warmer_k * length_mm
    angle = longer / depth_mm
    radius = length_mm / angle
    sagitta_um = radius * (1 - math.cos(angle / 2)) * 1000
    found = thermal_bow_um(
        IRON, warmer_k=warmer_k, length_mm=length_mm, depth_mm=depth_mm
    )
    assert found == pytest.approx(sagitta_um, rel=1e-5)


def test_a_cooler_face_is_hollow() -> None:
    hollow = thermal_bow_um(IRON, warmer_k=-2, length_mm=250, depth_mm=50)
    assert hollow < 0


def test_metals_expand_as_their_tables_say() -> None:
    # Seen: grey iron 10.4 to 10.8, ductile 10.6 to 11.2, gauge-block steel 11.5,
    # brasses 19.9 and 20.5, bronzes 18.0 to 18.5, aluminium 21.5 (356) and 23.6 (6061).
    seen = {
        "cast iron": (10.4, 10.8),
        "ductile iron": (10.6, 11.2),
        "steel": (11.3, 11.7),
        "brass": (19.9, 20.5),
        "bronze": (18.0, 18.5),
        "aluminium": (21.5, 23.6),
    }
    assert set(seen) == set(METALS)
    for name, (low, high) in seen.items():
        assert low <= METALS[name].alpha_per_k * 1e6 <= high


def test_a_metal_has_one_name_and_may_be_called_others() -> None:
    assert metal_named(" Mild  STEEL ").name == "steel"
    assert metal_named("aluminum").name == "aluminium"
    with pytest.raises(BadInput, match="no metal known here; write cast iron, ductile"):
        metal_named("cheese")


def test_a_body_without_depth_is_no_body() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        thermal_bow_um(IRON, warmer_k=1, length_mm=250, depth_mm=0)
