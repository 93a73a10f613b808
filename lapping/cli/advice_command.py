"""The commands `advice` and `progress`, as they are called at the bench."""

from __future__ import annotations

from typing import Annotated

import typer

from lapping.cli.log_place import LogOption
from lapping.cli.picture import PictureOption

Face = Annotated[
    str | None,
    typer.Argument(
        help="PLANE/sole, or an exported folder; otherwise the face worked on last."
    ),
]
InFolder = Annotated[
    str | None, typer.Option("--face", help="Of a folder with several: PLANE/sole.")
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")]


def advice(
    face: Face = None,
    in_folder: InFolder = None,
    json: Json = False,
    log: LogOption = None,
) -> None:
    """Say what to do next with a face, why, how many strokes, and how sure."""
    from lapping.cli.advice import advise_face

    print(advise_face(face, in_folder, log, as_json=json))


def progress(
    face: Face = None,
    in_folder: InFolder = None,
    json: Json = False,
    picture: PictureOption = None,
    log: LogOption = None,
) -> None:
    """Show how a face came along, session by session, and what is left."""
    from lapping.cli.progress import show_progress

    print(show_progress(face, in_folder, log, as_json=json, picture=picture))
