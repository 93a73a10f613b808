"""The command `report`: one page on a face, to keep, to send and to print."""

from __future__ import annotations

from pathlib import Path

from lapping.cli.advice import asked_of
from lapping.errors import BadInput
from lapping.from_log.report import report_html
from lapping.html.document import MADE_BY
from lapping.html.lengths import UNITS, Units
from lapping.log.planes import face_label
from lapping.whole_file import check_target, keep_other_files, write_whole


def write_report(
    name: str | None,
    in_folder: str | None,
    output: Path | None,
    units: str,
    log: str | None,
) -> tuple[Path, int]:
    """Write the report; give where to and how many bytes it takes."""
    first = _units(units)
    if output is not None:
        _may_write(output)
    with asked_of(name, in_folder, log) as (opened, face):
        label = face_label(opened, face)
        path = output or Path(f"{_file_name(label)}_report.html")
        _may_write(path)
        content = report_html(opened, face, units=first).encode()
    write_whole(path, content)
    return path, len(content)


def _may_write(path: Path) -> None:
    check_target(path, (".html", ".htm"))
    keep_other_files(path, MADE_BY)


def _file_name(label: str) -> str:
    return "".join(c if c.isalnum() or c in "-." else "_" for c in label)


def _units(text: str) -> Units:
    for one in UNITS:
        if text.lower() == one:
            return one
    message = f"--units {text}: write um or thou, whichever is to stand first"
    raise BadInput(message)
