"""A sentence about the one reading that does not fit what the others say."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.face import Face
from lapping.places import place_words
from lapping.readings import (
    DialReading,
    EdgeReading,
    LevelReading,
    Reading,
    ReadingSet,
    WindingReading,
)
from lapping.surface.left_out import OddReading
from lapping.typed import read_typed, shown
from lapping.units import HeightUnit, unit_um

COVERS = 2.0
"""± is two standard uncertainties here as everywhere (docs/conventions.md)."""


def odd_words(
    face: Face,
    sets: Sequence[ReadingSet],
    odd: OddReading | None,
    rows: int,
    unit: HeightUnit,
) -> tuple[str, ...]:
    """Say which reading does not fit, as typed, and what its neighbours say.

    Nothing where the equations (``rows``) are not the readings one by one, as they are
    not where very many were averaged.
    """
    each = [(s, r) for s in sets for r in s.readings]
    if odd is None or len(each) != rows:
        return ()
    readings, reading = each[odd.row]
    line = f"line {reading.line}"
    if len(sets) > 1:
        line = f"{line} of {readings.source}"
    off, u = abs(odd.off_um), COVERS * odd.u_um
    said = _expected(readings, reading, odd) or f"it is off by {unit.said(off, u)}"
    typed = f"{shown(reading.entered_as)} " if reading.entered_as else ""
    where = _where(face, reading)
    return (
        f"The reading {typed}{where} ({line}) does not fit its "
        f"neighbours: {said}. Read it again; a slipped digit or point looks like this, "
        "and so does a sunk rivet or a burr.",
    )


def _where(face: Face, reading: Reading) -> str:
    match reading:
        case LevelReading():
            ends = (
                place_words(face, reading.along_1_mm, reading.across_1_mm),
                place_words(face, reading.along_2_mm, reading.across_2_mm),
            )
            return f"from {ends[0]} to {ends[1]}"
        case WindingReading():
            return f"from {reading.along_1_mm:g} mm to {reading.along_2_mm:g} mm"
        case DialReading() | EdgeReading():
            return f"at the {place_words(face, reading.along_mm, reading.across_mm)}"
        case _:
            return f"at {reading.along_mm:g} mm"


def _expected(readings: ReadingSet, reading: Reading, odd: OddReading) -> str | None:
    """Say what the others predict, in what was typed; None where that is no height."""
    match reading:
        case DialReading():
            sign = 1.0 if readings.sense == "high-positive" else -1.0
            um, typed_um = reading.value_um - sign * odd.off_um, reading.value_um
        case EdgeReading(gap_um=float(gap_um)):
            um, typed_um = gap_um + odd.off_um, gap_um
        case _:
            return None
    if not reading.entered_as:
        return None
    typed = read_typed(reading.entered_as, decimal_comma=True)
    name = typed.unit or readings.unit
    one_um = typed_um / float(typed.number) if typed.number else unit_um(name)
    written = "µm" if name == "um" else f"× {name}" if name[:1].isdigit() else name
    scale = HeightUnit(name=written, um=one_um)
    return f"they say {scale.said(um, COVERS * odd.u_um)}"
