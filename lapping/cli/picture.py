"""The option `--picture`, and the file that it names."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lapping.whole_file import check_target

ENDINGS = (".png", ".svg", ".pdf")
PictureOption = Annotated[
    Path | None,
    typer.Option("--picture", help="Also draw it to this file (.png, .svg or .pdf)."),
]


def refuse_early(picture: Path | None) -> None:
    """Refuse a picture that cannot be written before anything is worked out."""
    if picture is not None:
        check_target(picture, ENDINGS)
