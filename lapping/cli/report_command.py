"""The command `report`, as it is called at the bench."""

from __future__ import annotations

import gc
from pathlib import Path
from typing import Annotated

import typer

from lapping.cli.advice_command import Face, InFolder
from lapping.cli.log_place import LogOption


def report(
    face: Face = None,
    in_folder: InFolder = None,
    output: Annotated[
        Path | None,
        typer.Option("--output", "-o", help="The .html; otherwise named by the face."),
    ] = None,
    units: Annotated[
        str, typer.Option(help="Which stands first: um or thou; both are told.")
    ] = "um",
    log: LogOption = None,
) -> None:
    """Write one page on a face, pictures in it: to keep, to send, to print."""
    # Modules and figures are many small objects, and to look for those that died takes
    # a tenth of the time; the command ends before that matters.
    gc.disable()
    from lapping.cli.report import write_report

    path, size = write_report(face, in_folder, output, units, log)
    print(f"{path}: {size / 1000:.0f} kB, opens in any browser and prints from there")
