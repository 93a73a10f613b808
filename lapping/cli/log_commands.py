"""The commands below `lapping log`."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Annotated

import typer

from lapping.cli.log_place import LogOption, the_log
from lapping.cli.text_option import words_of

log_app = typer.Typer(
    help="Look back, correct and take back, bring files in, keep a copy.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
Number = Annotated[int, typer.Argument(help="Number in front of an entry.")]
Name = Annotated[str | None, typer.Argument(help="Its name; otherwise list all.")]


def _print(lines: Iterable[str]) -> None:
    for line in lines:
        print(line)


@log_app.command("show")
def show_command(
    what: Annotated[
        str | None, typer.Argument(help="PLANE, PLANE/sole or an entry's number.")
    ] = None,
    log: LogOption = None,
) -> None:
    """Show what was done and read, or an entry with all its corrections."""
    from lapping.cli.log import overview, show

    with the_log(log, read_only=True) as opened:
        _print(overview(opened) if what is None else show(opened, what))


# A hollow reads negative, and a reading is no option.
@log_app.command("correct", context_settings={"ignore_unknown_options": True})
def correct_command(
    number: Number,
    cells: Annotated[
        str, typer.Argument(help="The reading again, or all cells: 5,30,-12.")
    ],
    log: LogOption = None,
) -> None:
    """Replace a reading; the old one is kept below it."""
    from lapping.cli.show_set import correct_reading

    with the_log(log) as opened:
        _print(correct_reading(opened, number, cells))


@log_app.command("back")
def back_command(number: Number, log: LogOption = None) -> None:
    """Take an entry back: a correction leaves what was there before it."""
    from lapping.cli.log import give_back

    with the_log(log) as opened:
        _print(give_back(opened, number, again=False))


@log_app.command("again")
def again_command(number: Number, log: LogOption = None) -> None:
    """Let an entry hold again that was replaced or taken back."""
    from lapping.cli.log import give_back

    with the_log(log) as opened:
        _print(give_back(opened, number, again=True))


@log_app.command("note")
def note_command(
    about: Annotated[str, typer.Argument(help="PLANE/sole or an entry's number.")],
    text: Annotated[str, typer.Argument(callback=words_of, help="The remark.")],
    log: LogOption = None,
) -> None:
    """Keep a remark about a face or an entry."""
    from lapping.cli.log import remark

    with the_log(log) as opened:
        _print(remark(opened, about, text))


@log_app.command("attach")
def attach_command(face: str, to: str, log: LogOption = None) -> None:
    """Give a face read without a plane to one: attach sole-250x60mm Bramble/sole."""
    from lapping.cli.log import attach_face

    with the_log(log) as opened:
        _print(attach_face(opened, face, to))


@log_app.command("gauge")
def gauge_command(
    name: Name = None,
    method: Annotated[
        str | None, typer.Option(help="dial, leaves, edge, sticks, level or square.")
    ] = None,
    unit: str | None = None,
    sense: str | None = None,
    resolution: str | None = None,
    repeatability: str | None = None,
    leaves: str | None = None,
    leaf_tolerance: str | None = None,
    reference_flatness: str | None = None,
    datum: str | None = None,
    log: LogOption = None,
) -> None:
    """List gauges, or say what one is, as the header of a readings file does."""
    from lapping.cli.bench import gauges, set_gauge

    said = {
        "unit": unit,
        "sense": sense,
        "resolution": resolution,
        "repeatability": repeatability,
        "leaves": leaves,
        "leaf_tolerance": leaf_tolerance,
        "reference_flatness": reference_flatness,
        "datum": datum,
    }
    with the_log(log) as opened:
        _print(
            gauges(opened) if name is None else set_gauge(opened, name, method, said)
        )


@log_app.command("lap")
def lap_command(
    name: Name = None,
    kind: str = "plate",
    flatness: str | None = None,
    measured: Annotated[
        str | None, typer.Option(help="The face its readings are of.")
    ] = None,
    log: LogOption = None,
) -> None:
    """List laps, or say what one is and how flat."""
    from lapping.cli.bench import laps, set_lap

    with the_log(log) as opened:
        if name is None:
            _print(laps(opened))
        else:
            _print(set_lap(opened, name, kind, flatness, measured))


@log_app.command("paper")
def paper_command(
    name: Name = None,
    grade: str | None = None,
    sheet: str | None = None,
    log: LogOption = None,
) -> None:
    """List papers on hand, or add one: paper P240 --sheet "100 mm roll"."""
    from lapping.cli.bench import papers, set_paper

    with the_log(log) as opened:
        if name is None:
            _print(papers(opened))
        else:
            _print(set_paper(opened, name, grade or name, sheet))


@log_app.command("import")
def import_command(
    paths: Annotated[
        list[Path], typer.Argument(help="Readings files, or one exported folder.")
    ],
    face: Annotated[str | None, typer.Option(help="The face: PLANE/sole.")] = None,
    units: Annotated[str | None, typer.Option(help="Unit of bare numbers.")] = None,
    log: LogOption = None,
) -> None:
    """Bring readings files or an exported folder in, whole or not at all."""
    from lapping.cli.log import bring_in

    with the_log(log) as opened:
        _print(bring_in(opened, paths, face, units))


@log_app.command("export")
def export_command(folder: Path, log: LogOption = None) -> None:
    """Write everything into a new folder of tables and photos: also the backup."""
    from lapping.log.exchange import export_log

    with the_log(log, read_only=True) as opened:
        print(f"{export_log(opened, folder)} entries in {folder}")


@log_app.command("test")
def whole_command(log: LogOption = None) -> None:
    """Look at every page, entry and photo: is the log whole?"""
    from lapping.cli.log import look_through

    with the_log(log, read_only=True) as opened:
        _print(look_through(opened))
