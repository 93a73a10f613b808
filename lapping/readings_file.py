"""Read a readings file: header lines, then a table, all mistakes at once.

Each method's table is read by a module of its own; here the parts meet. A new method
is one more module and one more case.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import assert_never

from lapping.readings import NO_LIGHT_UM, Method, Readings, ReadingSet
from lapping.readings_bytes import load_text, source_name
from lapping.readings_dial import read_dial
from lapping.readings_edge import read_edge
from lapping.readings_feeler import read_feeler
from lapping.readings_header import read_header
from lapping.readings_level import read_level
from lapping.readings_places import check_places
from lapping.readings_square import read_square
from lapping.readings_table import Table
from lapping.readings_text import Mistakes, split_sheet
from lapping.readings_winding import read_winding


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
    if header.method is not None:
        readings = _read_table(table, header.method)
        if header.face is not None:
            check_places(header.face, readings, mistakes)
    mistakes.refuse()
    # Either being None has been noted above; this says so to the type checker.
    assert header.method is not None
    assert header.face is not None
    no_light_um = NO_LIGHT_UM if header.no_light_um is None else header.no_light_um
    return ReadingSet(
        source=source,
        method=header.method,
        face=header.face,
        unit=table.unit_name(),
        readings=readings,
        step_um=table.step_um(if_none_typed_um=no_light_um),
        sense=header.sense,
        resolution_um=header.resolution_um,
        repeatability_um=header.repeatability_um,
        reference_flatness_um=header.reference_flatness_um,
        reference_grade=header.reference_grade,
        reference_at=header.reference_at,
        turned=header.turned,
        leaves_um=tuple(float(leaf) for leaf in header.leaves_um),
        leaf_tolerance_um=header.leaf_tolerance_um,
        stands_on_um=header.stands_on_um,
        no_light_um=no_light_um,
        datum=header.datum,
        target_um=header.target_um,
        metal=header.metal,
        warnings=(*header.warnings, *table.warnings),
    )


def _read_table(table: Table, method: Method) -> Readings:
    match method:
        case "dial":
            return read_dial(table)
        case "feeler":
            return read_feeler(table)
        case "straightedge":
            return read_edge(table)
        case "level":
            return read_level(table)
        case "winding":
            return read_winding(table)
        case "square":
            return read_square(table)
        case _:
            assert_never(method)
