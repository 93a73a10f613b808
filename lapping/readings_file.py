"""Read a readings file: header lines, then a table, all mistakes at once.

Each method's table is read by a module of its own; here the parts meet, and the places
are checked against the face. A new method is one more module and one more case.
"""

from __future__ import annotations

import os
from pathlib import Path

from lapping.errors import BadInput
from lapping.face import Face
from lapping.readings import (
    DialReading,
    FeelerReading,
    ReadingSet,
    too_few_places,
)
from lapping.readings_bytes import load_text, source_name
from lapping.readings_dial import read_dial
from lapping.readings_feeler import read_feeler
from lapping.readings_header import read_header
from lapping.readings_table import Table
from lapping.readings_text import Mistakes, split_sheet

Readings = tuple[DialReading, ...] | tuple[FeelerReading, ...]


def read_file(path: str | os.PathLike[str], *, units: str | None = None) -> ReadingSet:
    """Read one file, or raise BadInput with every mistake found in it.

    `units` is the unit of bare readings in a file without a ``unit:`` header.
    """
    source = source_name(Path(path))
    mistakes = Mistakes(source)
    sheet = split_sheet(load_text(Path(path), source), mistakes)
    header = read_header(sheet, units, mistakes)
    table = Table(sheet, header, mistakes)
    readings: Readings = ()
    match header.method:
        case "dial":
            readings = read_dial(table)
        case "feeler":
            readings = read_feeler(table)
        case None:
            pass  # said already
        case other:
            message = (
                f"{source}: {other} readings cannot be read yet; dial and feeler can"
            )
            raise BadInput(message)
    if header.face is not None and header.method is not None:
        _check_spots(header.face, readings, mistakes)
    mistakes.refuse()
    # Either being None has been noted above; this says so to the type checker.
    assert header.method is not None
    assert header.face is not None
    return ReadingSet(
        source=source,
        method=header.method,
        face=header.face,
        unit=table.unit_name(),
        readings=readings,
        step_um=table.step_um(),
        sense=header.sense,
        resolution_um=header.resolution_um,
        repeatability_um=header.repeatability_um,
        reference_flatness_um=header.reference_flatness_um,
        reference_at=header.reference_at,
        turned=header.turned,
        leaves_um=tuple(float(leaf) for leaf in header.leaves_um),
        leaf_tolerance_um=header.leaf_tolerance_um,
        stands_on_um=header.stands_on_um,
        datum=header.datum,
        target_um=header.target_um,
        metal=header.metal,
        warnings=header.warnings,
    )


def _check_spots(face: Face, readings: Readings, mistakes: Mistakes) -> None:
    """Note readings where there is no metal, and too few places to see a plane."""
    # Rows that could not be read would make these two say what is not so.
    all_read = not mistakes.found
    in_mouth = False
    for reading in readings:
        trouble = _not_on_metal(face, reading.along_mm, reading.across_mm)
        in_mouth = in_mouth or face.in_mouth(reading.along_mm, reading.across_mm)
        if trouble:
            mistakes.at(reading.line, trouble)
    if in_mouth and all(
        face.is_metal(face.length_mm - reading.along_mm, reading.across_mm)
        for reading in readings
    ):
        mistakes.whole(
            "these readings look entered heel for toe: turned end for end, every one "
            "lies on metal; count along from the toe"
        )
    if all_read and not mistakes.found:
        trouble = (
            too_few_places({(r.along_mm, r.across_mm) for r in readings})
            if readings
            else "there are no readings below the heading; write one a line"
        )
        if trouble:
            mistakes.whole(trouble)


def _not_on_metal(face: Face, along_mm: float, across_mm: float) -> str | None:
    spot = f"the place along {along_mm:g} mm, across {across_mm:g} mm"
    if not face.on_outline(along_mm, across_mm):
        return (
            f"{spot} is off the face, which is {face.length_mm:g} mm by "
            f"{face.width_mm:g} mm; along comes first, from the toe"
        )
    mouth = face.mouth
    if mouth is not None and face.in_mouth(along_mm, across_mm):
        size = f"{mouth.from_mm:g} mm to {mouth.to_mm:g} mm"
        hint = ""
        if mouth.left_mm is None:
            hint = (
                "; if there is metal beside the mouth, say how far it reaches: "
                f"'# mouth: {size}, across {0.1 * face.width_mm:g} mm to "
                f"{0.9 * face.width_mm:g} mm'"
            )
        return f"{spot} is inside the mouth ({size}){hint}"
    hole = face.in_hole(along_mm, across_mm)
    if hole is not None:
        return (
            f"{spot} is in the hole of {hole.diameter_mm:g} mm at "
            f"{hole.along_mm:g},{hole.across_mm:g}; read beside it"
        )
    return None
