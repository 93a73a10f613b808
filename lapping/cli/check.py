"""The command `check`: files in, one answer out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lapping.answer import Answer
from lapping.cli.picture import refuse_early
from lapping.cli.readings_named import read_sets
from lapping.cli.screen import with_map
from lapping.errors import BadInput
from lapping.from_files import check_sets, read_reference
from lapping.square_answer import SquareAnswer
from lapping.units import parse_target_um
from lapping.words.answer import report, report_squares
from lapping.words.answer_json import Json, squares_to_json, to_json


def check_files(
    files: Sequence[str],
    target: str | None,
    units: str | None,
    *,
    as_json: bool = False,
    picture: Path | None = None,
    reference: Path | None = None,
    log: str | None = None,
) -> str:
    """Answer for files or faces in the log that are one face; draw it if asked to."""
    refuse_early(picture)
    target_um = None if target is None else parse_target_um(target, units)
    sets = read_sets(files, units, log)
    plate = None
    if reference is not None and any(s.method != "square" for s in sets):
        plate = read_reference(reference, files, units)
    found = check_sets(sets, target_um=target_um, plate=plate, units=units)
    if isinstance(found, SquareAnswer):
        if picture is not None:
            message = f"{picture.name}: a square tells no heights, so nothing is drawn"
            raise BadInput(message)
        return _print(squares_to_json(found)) if as_json else report_squares(found)
    if picture is not None:
        draw(found, picture)
    return _print(to_json(found)) if as_json else with_map(report(found), found)


def _print(keys: Json) -> str:
    import json

    return json.dumps(keys, ensure_ascii=False, indent=1, allow_nan=False)


def draw(found: Answer, picture: Path) -> None:
    """Draw the face map to a file."""
    from lapping.pictures.face_map import save_face_map

    save_face_map(found, picture)
