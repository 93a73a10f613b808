"""The commands below `lapping print`: sheets for paper."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

print_app = typer.Typer(
    help="Write sheets to print on paper, true to size.",
    no_args_is_help=True,
    rich_markup_mode=None,
)


@print_app.callback()
def _sheets() -> None:
    """Write sheets to print on paper, true to size."""


@print_app.command("corners")
def corners_command(
    output: Annotated[
        Path, typer.Option("--output", "-o", help="The file to write, a .pdf.")
    ],
    paper: Annotated[str, typer.Option(help="A4 or Letter.")] = "A4",
) -> None:
    """Write the sheet of corner cards, by which a photo shows where the face lies."""
    from lapping.printed.corner_sheet import save_corner_sheet

    save_corner_sheet(output, paper)
    print(f"{output}: print it at 100 % and measure its bars")
