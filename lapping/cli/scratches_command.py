"""The command `scratches`, as it is called at the bench."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lapping.cli.log_place import LogOption

Text = str | None
WAYS = "along, across, or an angle from along: 45deg"


def scratches(
    closeup: Annotated[Path, typer.Argument(help="Photo of some 30 mm of bare metal.")],
    previous_direction: Annotated[
        Text, typer.Option(help=f"How the last grit's strokes ran: {WAYS}.")
    ] = None,
    this_direction: Annotated[
        Text, typer.Option(help="How this grit's strokes run, likewise.")
    ] = None,
    toe: Annotated[
        Text,
        typer.Option(help="Where the toe lies in the photo: left, right, up, down."),
    ] = None,
    face: Annotated[
        Text, typer.Option(help="PLANE/sole in the log; the photo is kept with it.")
    ] = None,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead.")
    ] = False,
    log: LogOption = None,
) -> None:
    """Say whether the last grit's scratches are gone, from a photo from close by."""
    from lapping.cli.scratches import look_closely

    print(
        look_closely(
            closeup,
            previous=previous_direction,
            this=this_direction,
            toe=toe,
            face=face,
            as_json=json,
            log=log,
        )
    )
