"""Read a readings file: header lines, then a table, all mistakes at once.

Each method's table is read by a module of its own; here the parts meet. A new method
is one more module and one more line in the list of readers.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from lapping.readings import NO_LIGHT_UM, Method, Readings, ReadingSet
from lapping.readings_file.dial import read_dial
from lapping.readings_file.feeler import read_feeler
from lapping.readings_file.from_disk import load_text, source_name
from lapping.readings_file.headers import read_header
from lapping.readings_file.level import read_level
from lapping.readings_file.places_read import check_places, size_doubts
from lapping.readings_file.square import read_square
from lapping.readings_file.straightedge import read_edge
from lapping.readings_file.table import Table
from lapping.readings_file.text import Mistakes, Sheet, split_sheet
from lapping.readings_file.winding import read_winding

_READERS: dict[Method, Callable[[Table], Readings]] = {
    "dial": read_dial,
    "feeler": read_feeler,
    "straightedge": read_edge,
    "level": read_level,
    "winding": read_winding,
    "square": read_square,
}


def read_file(path: str | os.PathLike[str], *, units: str | None = None) -> ReadingSet:
    """Read one file, or raise BadInput with every mistake found in it.

    `units` is the unit of bare readings in a file without a ``unit:`` header.
    """
    source = source_name(Path(path))
    mistakes = Mistakes(source)
    sheet = split_sheet(load_text(Path(path), source), mistakes)
    return read_sheet(sheet, units, mistakes)


def read_sheet(sheet: Sheet, units: str | None, mistakes: Mistakes) -> ReadingSet:
    """Read a sheet taken apart already; the mistakes so far count too."""
    header = read_header(sheet, units, mistakes)
    table = Table(sheet, header, mistakes)
    readings = read_rows(table)
    mistakes.refuse()
    # Either being None has been noted above; this says so to the type checker.
    assert header.method is not None
    assert header.face is not None
    no_light_um = NO_LIGHT_UM if header.no_light_um is None else header.no_light_um
    return ReadingSet(
        source=mistakes.source,
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


def read_rows(table: Table) -> Readings:
    """Read the table's rows, noting every mistake in them and where they were taken."""
    method, face = table.header.method, table.header.face
    if method is None:
        return ()
    readings = _READERS[method](table)
    if face is not None:
        check_places(face, readings, table.mistakes, unfinished=table.unfinished)
        if not table.unfinished:
            table.warnings += size_doubts(face, readings)
    return readings
