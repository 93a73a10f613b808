"""The command line: parse, call the layers, print. Heavy imports wait for a command."""

from __future__ import annotations

import os
import sys
from copy import copy
from pathlib import Path
from typing import Annotated

import typer

from lapping.cli.advice_command import advice, progress
from lapping.cli.bench_commands import plane, strokes
from lapping.cli.log_commands import log_app
from lapping.cli.log_place import LogOption
from lapping.cli.phone_command import phone
from lapping.cli.plan_command import plan
from lapping.cli.print_command import print_app
from lapping.cli.read_command import read
from lapping.cli.report_command import report
from lapping.cli.scratches_command import scratches
from lapping.cli.scribble_command import scribble
from lapping.errors import LappingError

Registered = typer.models.CommandInfo | typer.models.TyperInfo

app = typer.Typer(
    name="lapping",
    help="How flat a plane's sole or side is, how sure, and where it is high.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"]},
)

Files = Annotated[
    list[str],
    typer.Argument(help="Readings files, or PLANE/sole in the log; all are one face."),
]
Target = Annotated[
    str | None,
    typer.Option(
        help="Largest flatness allowed: 0.08mm, 80um, 3thou or ±0.04mm. "
        "Otherwise the file's own, or BS 3623's ±0.04mm."
    ),
]
Units = Annotated[
    str | None,
    typer.Option(
        help="Unit of the answer, and of bare numbers in files that name none: um, "
        "thou ... Otherwise the answer is in that of the readings."
    ),
]
ReferenceFile = Annotated[
    Path | None,
    typer.Option(
        help="Readings of the plate or edge used, as a face of kind lap; the files say "
        "where they lay on it (reference_at)."
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON object instead.")]
Picture = Annotated[
    Path | None,
    typer.Option(help="Also draw the face map to this file (.png, .svg or .pdf)."),
]
Copy = Annotated[
    Path | None,
    typer.Option(help="Only copy the sample files into this new folder."),
]


def _show_version(asked: bool) -> None:
    if asked:
        from lapping import __version__

        print(f"lapping {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool,
        # Eager, because no command follows it.
        typer.Option(
            "--version",
            help="Show the version and stop.",
            callback=_show_version,
            is_eager=True,
        ),
    ] = False,
) -> None:
    pass


@app.command()
def check(
    files: Files,
    target: Target = None,
    units: Units = None,
    json: Json = False,
    picture: Picture = None,
    reference: ReferenceFile = None,
    log: LogOption = None,
) -> None:
    """Say how flat a face is from its readings, how sure, and where it is high."""
    from lapping.cli.check import check_files

    print(
        check_files(
            files,
            target,
            units,
            as_json=json,
            picture=picture,
            reference=reference,
            log=log,
        )
    )


@app.command("demo")
def show_demo(copy: Copy = None) -> None:
    """Answer for the sample faces and say what to look at in each."""
    from lapping.cli.demo import copy_samples, show_samples

    if copy is None:
        show_samples()
        return
    for path in copy_samples(copy):
        print(path)


app.command()(plane)
# So that -100 strokes are refused as strokes and not as an option.
app.command(context_settings={"ignore_unknown_options": True})(strokes)
app.command()(read)
app.command()(scribble)
app.command()(scratches)
app.command()(advice)
app.command()(progress)
app.command()(plan)
app.command()(phone)
app.command()(report)
app.add_typer(log_app, name="log")
app.add_typer(print_app, name="print")


def only_what_is_called(whole: typer.Typer, words: list[str]) -> typer.Typer:
    """Give the application with no more of its commands than is called for.

    Typer looks at every option of every command before it runs one or lists them,
    which takes as long as recording strokes does.
    """
    called = copy(whole)
    if words in ([], ["--help"], ["-h"]):
        called.registered_commands = [
            *(_listed(one, _named(one)) for one in whole.registered_commands),
            *(_listed(one, one.name) for one in whole.registered_groups),
        ]
        called.registered_groups = []
        return called
    commands = [one for one in whole.registered_commands if _named(one) in words[:1]]
    groups = [one for one in whole.registered_groups if one.name in words[:1]]
    if len(commands) + len(groups) != 1:
        return whole
    called.registered_commands, called.registered_groups = commands, []
    for group in groups:
        assert group.typer_instance is not None
        one = copy(group)
        one.typer_instance = only_what_is_called(group.typer_instance, words[1:])
        called.registered_groups = [one]
    return called


def _listed(one: Registered, name: str | None) -> typer.models.CommandInfo:
    """Give what a list of commands says of one, without its options."""

    def run() -> None:
        pass

    if isinstance(one, typer.models.CommandInfo):
        told = one.help or (one.callback.__doc__ if one.callback else None)
    else:
        told = one.typer_instance.info.help if one.typer_instance else None
    return typer.models.CommandInfo(name=name, help=told, callback=run)


def _named(command: typer.models.CommandInfo) -> str | None:
    function = command.callback
    return command.name or (function.__name__ if function else None)


def main() -> None:
    """Run the command line; bad input is a sentence on stderr and exit code 2."""
    # One face is small work: starting threads for it costs more than it saves.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            # A terminal is told what it can show, a file or a pipe all of it.
            own = stream.encoding if stream.isatty() else "utf-8"
            stream.reconfigure(encoding=own, errors="replace")
    try:
        only_what_is_called(app, sys.argv[1:])()
    except LappingError as mistake:
        print(mistake, file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        # The reader of a pipe went away; nothing is left to be told.
        sys.stderr.close()
        sys.exit(0)
