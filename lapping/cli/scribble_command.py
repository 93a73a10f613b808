"""The command `scribble`, as it is called at the bench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lapping.cli.log_place import LogOption

Text = str | None


def scribble(
    after: Annotated[
        Path, typer.Argument(help="Photo after the strokes, or a folder of photos.")
    ],
    before: Annotated[
        Path | None, typer.Option(help="Photo of the scribble before the strokes.")
    ] = None,
    length: Annotated[Text, typer.Option(help="Of the face: 250mm.")] = None,
    width: Annotated[Text, typer.Option(help="Of the face: 60mm.")] = None,
    mouth: Annotated[Text, typer.Option(help='"81 mm to 87 mm" from the toe.')] = None,
    face: Annotated[
        Text, typer.Option(help="PLANE/sole in the log; the photos are kept with it.")
    ] = None,
    toe: Annotated[
        Text,
        typer.Option(help="Where the toe lies in the photo: left, right, up, down."),
    ] = None,
    corners: Annotated[
        Text,
        typer.Option(
            help='In pixels: "x,y x,y x,y x,y": toe-left, toe-right, heel-right, '
            "heel-left; otherwise they are found."
        ),
    ] = None,
    before_corners: Annotated[
        Text, typer.Option(help="The same in the photo from before.")
    ] = None,
    readings: Annotated[
        list[str] | None,
        typer.Option(help="Readings of the same face, to compare with the ink."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(help="Draw the face found and where it bore (.png, .svg, .pdf)."),
    ] = None,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead.")
    ] = False,
    log: LogOption = None,
) -> None:
    """Say where a scribbled face bore, from a photo after strokes (and one before)."""
    from lapping.cli.scribble import Asked, look_at
    from lapping.cli.scribble_folder import look_through

    asked = Asked(
        before=before,
        sizes=(length, width, mouth),
        face=face,
        toe=toe,
        corners=corners,
        before_corners=before_corners,
        readings=tuple(readings or ()),
        picture=picture,
        as_json=json,
        log=log,
    )
    if after.is_dir():
        look_through(after, asked)
    else:
        print(look_at(after, asked))
