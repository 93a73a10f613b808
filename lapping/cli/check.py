"""The command `check`: files in, one answer out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lapping.answer import Answer, answer
from lapping.errors import BadInput
from lapping.json_answer import to_json
from lapping.readings import ReadingSet
from lapping.readings_file import read_file
from lapping.report import report
from lapping.units import parse_target_um


def check_files(
    files: Sequence[Path],
    target: str | None,
    units: str | None,
    *,
    as_json: bool = False,
    picture: Path | None = None,
) -> str:
    """Answer for files that are one face; draw it too where a picture is asked for."""
    target_um = None if target is None else parse_target_um(target, units)
    found = answer(read_files(files, units), target_um=target_um)
    if picture is not None:
        draw(found, picture)
    if not as_json:
        return report(found)
    import json

    return json.dumps(to_json(found), ensure_ascii=False, indent=1, allow_nan=False)


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
