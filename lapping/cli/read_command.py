"""The options of `lapping read`; what it does waits until it is asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from lapping.cli.log_place import LogOption, the_log

if TYPE_CHECKING:
    from lapping.readings import Method


def read(
    face: Annotated[
        str | None,
        typer.Argument(help="The face, as PLANE/sole; left out, the set left open."),
    ] = None,
    length: Annotated[
        str | None, typer.Option(help="Of a face not in the log yet, as 250mm.")
    ] = None,
    width: Annotated[str | None, typer.Option(help="Of the same, as 60mm.")] = None,
    mouth: Annotated[
        str | None,
        typer.Option(help="Of the same, as '80mm to 86mm, across 5mm to 55mm'."),
    ] = None,
    kind: Annotated[
        str, typer.Option(help="Of the same: sole, side, bed or lap.")
    ] = "sole",
    gauge: Annotated[
        str | None, typer.Option(help="A gauge in the log, by its name.")
    ] = None,
    method: Annotated[
        str | None, typer.Option(help="dial, leaves, edge, sticks, level or square.")
    ] = None,
    stick: Annotated[
        str | None, typer.Option(help="Length of winding sticks, as 400mm.")
    ] = None,
    base: Annotated[
        str | None, typer.Option(help="Span of a level's feet, as 60mm.")
    ] = None,
    turned: Annotated[
        bool, typer.Option("--turned", help="The face or edge is turned end for end.")
    ] = False,
    new: Annotated[
        bool, typer.Option("--new", help="Begin anew; what was left open is kept.")
    ] = False,
    log: LogOption = None,
) -> None:
    """Read a face place by place: where to put the gauge, each reading kept at once."""
    from lapping.bench.reading_begun import Wanted
    from lapping.cli.read import read_face

    wanted = Wanted(
        face=face,
        length=length,
        width=width,
        mouth=mouth,
        kind=kind,
        gauge=gauge,
        method=None if method is None else _method(method),
        stick=stick,
        base=base,
        turned=turned,
        new=new,
    )
    with the_log(log) as opened:
        read_face(opened, wanted, log)


def _method(text: str) -> Method:
    from lapping.prompt.gauge import parse_method

    return parse_method(text)
