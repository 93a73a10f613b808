"""The command `phone`: the bench on a phone, as a local web page."""

from __future__ import annotations

from typing import Annotated

import typer

from lapping.cli.log_place import LogOption, the_log
from lapping.errors import BadInput

PORT = 8452


def phone(
    share: Annotated[
        bool,
        typer.Option("--share", help="Let phones on your network in, by a code."),
    ] = False,
    address: Annotated[
        str | None,
        typer.Option(help="Of this computer there, where it has several."),
    ] = None,
    port: Annotated[int, typer.Option(help="Where it listens.")] = PORT,
    new_key: Annotated[
        bool, typer.Option("--new-key", help="Shut out every phone let in so far.")
    ] = False,
    log: LogOption = None,
) -> None:
    """Serve the bench to a phone: advice, strokes, readings, photos, sheets."""
    if address is not None and not share:
        message = "--address is for --share; without it only this computer is let in"
        raise BadInput(message)
    try:
        from lapping.phone.serve import Wish, serve
    except ImportError as missing:
        message = (
            f"the phone page needs {missing.name}; install it with: "
            'python -m pip install "lapping[phone]"'
        )
        raise BadInput(message) from missing
    # Made or brought up to date now, so that every page finds it so.
    with the_log(log) as opened:
        path = opened.path
    serve(Wish(log=path, port=port, share=share, address=address, new_key=new_key))
