"""The options of `lapping plan`; what it does waits until it is asked for."""

from __future__ import annotations

from typing import Annotated

import typer

from lapping.cli.log_place import LogOption
from lapping.cli.picture import PictureOption

Text = str | None


def plan(
    face: Annotated[
        list[str] | None,
        typer.Argument(help="PLANE/sole in the log, or readings files of one face."),
    ] = None,
    length: Annotated[Text, typer.Option(help="Of stock not read yet: 250mm.")] = None,
    width: Annotated[Text, typer.Option(help="Of the same: 60mm.")] = None,
    flatness: Annotated[
        Text, typer.Option(help="Of the same, how far it is out: 0.3mm.")
    ] = None,
    stock: Annotated[
        Text, typer.Option(help="Of the same: rolled, cast, milled or ground.")
    ] = None,
    metal: Annotated[Text, typer.Option(help="Otherwise cast iron.")] = None,
    papers: Annotated[
        Text, typer.Option(help="On hand: P80,P120,P240; otherwise those in the log.")
    ] = None,
    finish: Annotated[
        Text, typer.Option(help="The last paper; otherwise the finest.")
    ] = None,
    target: Annotated[Text, typer.Option(help="Flatness wanted: 0.05mm.")] = None,
    scratch: Annotated[
        float, typer.Option(help="Depth of scratches as a share of the grain.")
    ] = 0.1,
    json: Annotated[
        bool, typer.Option("--json", help="Print one JSON object instead.")
    ] = False,
    picture: PictureOption = None,
    log: LogOption = None,
) -> None:
    """Say before you start which papers, how many strokes and hours, or another way."""
    from lapping.cli.plan import Stock, plan_for

    asked = Stock(length=length, width=width, flatness=flatness, kind=stock)
    print(
        plan_for(
            face or [],
            asked,
            metal=metal,
            papers=papers,
            finish=finish,
            target=target,
            scratch=scratch,
            as_json=json,
            picture=picture,
            log=log,
        )
    )
