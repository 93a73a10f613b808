"""The commands below `lapping print`: sheets for paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lapping.cli.log_place import LogOption

Text = str | None
Paper = Annotated[str, typer.Option(help="A4 or Letter.")]
Output = Annotated[
    Path | None,
    typer.Option("--output", "-o", help="The .pdf; otherwise named for what it is."),
]

print_app = typer.Typer(
    help="Write sheets to print on paper, true to size.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


@print_app.callback()
def _sheets() -> None:
    """Write sheets to print on paper, true to size."""


@print_app.command("corners")
def corners_command(output: Output = None, paper: Paper = "A4") -> None:
    """Write the sheet of corner cards, by which a photo shows where the face lies."""
    from lapping.printed.corner_sheet import save_corner_sheet

    path = Path("corner_cards.pdf") if output is None else output
    save_corner_sheet(path, paper)
    print(f"{path}: print it at 100 % and measure its bars")


@print_app.command("readings")
def readings_command(
    name: Annotated[Text, typer.Argument(help="PLANE/sole in the log.")] = None,
    face: Annotated[Text, typer.Option(help="The same, as an option.")] = None,
    length: Annotated[Text, typer.Option(help="Of another face: 250mm.")] = None,
    width: Annotated[Text, typer.Option(help="Of the same: 60mm.")] = None,
    mouth: Annotated[Text, typer.Option(help='"80mm to 86mm" from the toe.')] = None,
    kind: Annotated[
        str, typer.Option(help="Of the same: sole, side, bed or lap.")
    ] = "sole",
    gauge: Annotated[
        Text, typer.Option(help="A gauge in the log; otherwise that used last.")
    ] = None,
    method: Annotated[
        Text, typer.Option(help="dial, leaves, edge, sticks, level or square.")
    ] = None,
    base: Annotated[Text, typer.Option(help="Span of a level's feet: 60mm.")] = None,
    output: Output = None,
    paper: Paper = "A4",
    log: LogOption = None,
) -> None:
    """Write a sheet to read a face on paper: where, in which order, boxes for all."""
    from lapping.cli.print_sheet import Wanted, print_readings

    wanted = Wanted(
        face=name or face,
        sizes=(length, width, mouth),
        kind=kind,
        gauge=gauge,
        method=method,
        base=base,
        log=log,
    )
    path, what = print_readings(wanted, output, paper)
    print(f"{path}: {what}; print it at 100 % and measure its bars")
