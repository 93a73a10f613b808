"""The command `check`: files in, one answer out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lapping.answer import Answer, answer, as_reference
from lapping.errors import BadInput
from lapping.json_answer import Json, squares_to_json, to_json
from lapping.readings import ReadingSet
from lapping.readings_file import read_file
from lapping.reference import Reference
from lapping.report import report, report_squares
from lapping.square_answer import answer_squares
from lapping.units import parse_target_um


def check_files(
    files: Sequence[Path],
    target: str | None,
    units: str | None,
    *,
    as_json: bool = False,
    picture: Path | None = None,
    reference: Path | None = None,
) -> str:
    """Answer for files that are one face; draw it too where a picture is asked for."""
    target_um = None if target is None else parse_target_um(target, units)
    sets = read_files(files, units)
    if all(s.method == "square" for s in sets):
        if picture is not None:
            message = f"{picture.name}: a square tells no heights, so nothing is drawn"
            raise BadInput(message)
        squares = answer_squares(sets, target_um=target_um)
        return _print(squares_to_json(squares)) if as_json else report_squares(squares)
    plate = None
    if reference is not None:
        plate = read_reference(reference, files, units)
    found = answer(sets, target_um=target_um, reference=plate)
    if picture is not None:
        draw(found, picture)
    return _print(to_json(found)) if as_json else report(found)


def read_reference(
    reference: Path, files: Sequence[Path], units: str | None
) -> Reference:
    """Read and map the plate or edge that the files were read on."""
    if reference.absolute() in (path.absolute() for path in files):
        message = (
            f"{reference.name}: this is one of the files to check; a face cannot be "
            "its own reference"
        )
        raise BadInput(message)
    return as_reference(answer(read_files([reference], units)))


def _print(keys: Json) -> str:
    import json

    return json.dumps(keys, ensure_ascii=False, indent=1, allow_nan=False)


def read_files(files: Sequence[Path], units: str | None) -> list[ReadingSet]:
    """Read every file, so that all mistakes in all of them are shown at once."""
    mistakes: list[str] = []
    sets = []
    for i, path in enumerate(files):
        if path.absolute() in (other.absolute() for other in files[:i]):
            mistakes.append(
                f"{path.name}: given twice; one reading told twice is no repeat."
            )
            continue
        try:
            sets.append(read_file(path, units=units))
        except BadInput as bad:
            mistakes += bad.mistakes
    if mistakes:
        raise BadInput(mistakes)
    return sets


def draw(found: Answer, picture: Path) -> None:
    """Draw the face map to a file."""
    from lapping.pictures import save_face_map

    save_face_map(found, picture)
