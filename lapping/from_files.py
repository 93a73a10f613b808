"""From readings files to an answer: what `lapping check` and `lapping.api` share."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from pathlib import Path

from lapping.answer import Answer, answer
from lapping.errors import BadInput
from lapping.readings import ReadingSet
from lapping.readings_file.reading import read_file
from lapping.reference import Reference
from lapping.slopes import slope_unit_um_per_m
from lapping.square_answer import SquareAnswer, answer_squares
from lapping.units import MILLIMETRES, HeightUnit, height_unit, unit_fraction_um

AnyPath = str | PathLike[str]


def check_readings(
    paths: AnyPath | Sequence[AnyPath],
    *,
    target_um: float | None = None,
    units: str | None = None,
    reference: AnyPath | None = None,
) -> Answer | SquareAnswer:
    """Answer for readings files of one face; squares alone give a SquareAnswer.

    ``units`` is the unit of bare numbers in files that name none, and of heights in
    sentences; ``reference`` a file
    of readings of the plate or edge used. Raises BadInput with a sentence for every
    mistake in every file.
    """
    if isinstance(paths, str | PathLike):
        paths = [paths]
    sets = read_files(paths, units)
    plate = None
    # Squares need no plate, and what is wrong with its file does not matter to them.
    if reference is not None and any(s.method != "square" for s in sets):
        plate = read_reference(reference, paths, units)
    return check_sets(sets, target_um=target_um, plate=plate, units=units)


def check_sets(
    sets: Sequence[ReadingSet],
    *,
    target_um: float | None = None,
    plate: Reference | None = None,
    units: str | None = None,
) -> Answer | SquareAnswer:
    """Answer for sets of one face, wherever they were kept.

    ``units`` is what sentences give heights in; otherwise that of the readings.
    """
    unit = None if units is None else _shown_in(units)
    if all(s.method == "square" for s in sets):
        return answer_squares(sets, target_um=target_um, unit=unit)
    return answer(sets, target_um=target_um, reference=plate, unit=unit)


def _shown_in(units: str) -> HeightUnit:
    """Give the unit of the answer; BadInput where that is no unit of readings."""
    if "/" in units or "arc" in units:
        slope_unit_um_per_m(units)
    else:
        unit_fraction_um(units)
    # Who asks for millimetres gets them; who reads in them is shown micrometres.
    return MILLIMETRES if units.strip().lower() == "mm" else height_unit(units)


def read_files(paths: Sequence[AnyPath], units: str | None) -> list[ReadingSet]:
    """Read every file, so that all mistakes in all of them are shown at once."""
    mistakes: list[str] = []
    sets = []
    seen: set[Path] = set()
    for path in map(Path, paths):
        if path.absolute() in seen:
            mistakes.append(
                f"{path.name}: given twice; one reading told twice is no repeat."
            )
            continue
        seen.add(path.absolute())
        try:
            sets.append(read_file(path, units=units))
        except BadInput as bad:
            mistakes += bad.mistakes
    if mistakes:
        raise BadInput(mistakes)
    return sets


def as_reference(found: Answer) -> Reference:
    """Give the map of a measured lap, plate or edge to take off other readings.

    BadInput when it is no reference, or a part of its form was not measured.
    """
    source = found.sets[0].source
    if found.face.kind != "lap":
        message = (
            f"{source}: this is a {found.face.kind}; a reference is measured as a face "
            "of its own, with '# face: lap'"
        )
        raise BadInput(message)
    if found.unseen:
        message = (
            f"{source}: its {' and '.join(found.unseen)} was not measured, so its "
            f"shape cannot be taken off; read {found.next_line} as well"
        )
        raise BadInput(message)
    return Reference(source=source, surface=found.surface)


def read_reference(
    reference: AnyPath, paths: Sequence[AnyPath], units: str | None
) -> Reference:
    """Read the plate or edge used, which is none of the files to check."""
    path = Path(reference)
    if path.absolute() in {Path(other).absolute() for other in paths}:
        message = (
            f"{path.name}: this is one of the files to check; a face cannot be its own "
            "reference"
        )
        raise BadInput(message)
    return as_reference(answer(read_files([path], units)))
