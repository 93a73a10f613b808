"""Cautions: short, sourced, said at the right moment and to whom they are for."""

from __future__ import annotations

import pytest

from lapping.cautions import (
    CAUTIONS,
    FIRST,
    MOMENTS,
    Moment,
    cautions_for,
    circumstances_of,
)


def test_every_caution_is_short_and_has_a_source() -> None:
    for one in CAUTIONS:
        assert len(one.text) <= 160
        assert one.text.endswith(".")
        assert "no source" in one.source or "(" in one.source
        assert one.when


def test_no_figure_of_exposure_is_said_without_its_sheet() -> None:
    for one in CAUTIONS:
        assert "ppm" not in one.text
        assert "mg/m" not in one.text
    assert "come before these" in FIRST


@pytest.mark.parametrize(
    ("said", "topic"),
    [
        # The dangers of lapping a plane at home, each to be named somewhere.
        ("no flame", "solvent"),
        ("respirator", "dust"),
        ("wood, resin or fibre", "composite dust"),
        ("cover its edge", "iron"),
        ("unplug the machine", "machine table"),
        ("lower or remove the cutter", "machine table"),
        ("sharp enough to cut", "edges"),
        ("closed metal can", "rags"),
        ("apart from iron", "aluminium"),
        ("let it cool", "heat"),
    ],
)
def test_each_danger_has_its_caution(said: str, topic: str) -> None:
    (one,) = [c for c in CAUTIONS if c.topic == topic]
    assert said in one.text


@pytest.mark.parametrize("moment", MOMENTS)
def test_what_is_for_some_is_said_to_them_alone(moment: Moment) -> None:
    everybody = cautions_for(moment)
    assert everybody
    assert all(not one.only_if for one in everybody)
    some = {one.only_if for one in CAUTIONS if one.only_if}
    all_of_them = cautions_for(moment, some)
    assert set(everybody) <= set(all_of_them)
    assert all_of_them == tuple(one for one in CAUTIONS if moment in one.when)
    assert cautions_for(moment, ["full moon"]) == everybody


def test_circumstances_come_from_what_the_log_knows() -> None:
    assert circumstances_of(metal="Aluminum", lubricant="dry") == ("aluminium",)
    assert circumstances_of(metal="cast iron", lubricant="soapy water") == ()
    assert circumstances_of(metal="brass") == ("solvent",)
    assert circumstances_of(lubricant="white spirit", lap_kind="machine table") == (
        "solvent",
        "machine table",
    )
    assert circumstances_of(lubricant="dry", lap_kind="glass") == ()
