"""The commands `plane` and `strokes`, as they are called at the bench."""

from __future__ import annotations

import sys
from typing import Annotated

import typer

from lapping.cli.log_place import LogOption, the_log
from lapping.cli.text_option import words_of

Text = str | None


def plane(
    name: Annotated[Text, typer.Argument(help="Its name; otherwise list all.")] = None,
    length: Annotated[Text, typer.Option(help="Of the face: 245mm.")] = None,
    width: Annotated[Text, typer.Option(help="Of the face: 60mm.")] = None,
    face: Annotated[str, typer.Option(help="Name of the face.")] = "sole",
    mouth: Annotated[Text, typer.Option(help='"81 mm to 87 mm" from the toe.')] = None,
    holes: Annotated[Text, typer.Option(help="along,across,diameter; ...")] = None,
    left_edge: Annotated[Text, typer.Option(help="Of a side: sole or top.")] = None,
    target: Annotated[Text, typer.Option(help="Flatness wanted: 0.05mm.")] = None,
    reason: Annotated[
        Text, typer.Option(callback=words_of, help="Why this target.")
    ] = None,
    zones: Annotated[Text, typer.Option(help="That matter: toe, mouth, heel.")] = None,
    kind: Annotated[
        Text, typer.Option(callback=words_of, help="Smoother, jointer ...")
    ] = None,
    metal: Annotated[
        Text, typer.Option(callback=words_of, help="Otherwise cast iron.")
    ] = None,
    bed: Annotated[Text, typer.Option(help="Angle of the bed: 45.")] = None,
    front: Annotated[Text, typer.Option(help="Angle of the mouth's front: 90.")] = None,
    opening: Annotated[Text, typer.Option(help="Of the mouth: 0.6mm.")] = None,
    weight: Annotated[Text, typer.Option(help="1.8kg")] = None,
    rename: Annotated[
        Text, typer.Option(callback=words_of, help="Its name from now on.")
    ] = None,
    note: Annotated[Text, typer.Option(callback=words_of, help="A remark.")] = None,
    log: LogOption = None,
) -> None:
    """List planes, show one, set one up (name, length, width), or correct it."""
    from lapping.bench.plane import list_planes, set_up, show_plane

    about = (rename, kind, metal, bed, front, opening, weight, note)
    sizes = (length, width, mouth, holes, left_edge)
    aims = (target, reason, zones)
    only_look = not any((*about, *sizes, *aims))
    with the_log(log) as opened:
        if name is None:
            lines = list_planes(opened)
        elif only_look:
            lines = show_plane(opened, name)
        else:
            lines = set_up(opened, name, face, about, sizes, aims)
        for line in lines:
            print(line)


def strokes(
    words: Annotated[
        list[str], typer.Argument(help="PLANE/sole, paper (P240), count or 5min.")
    ],
    load: Annotated[
        Text, typer.Option(callback=words_of, help="light, firm ... or 4kg")
    ] = None,
    lubricant: Annotated[
        Text, typer.Option(callback=words_of, help="dry, spirit ...")
    ] = None,
    direction: Annotated[
        Text, typer.Option(callback=words_of, help="along, diagonal ...")
    ] = None,
    hand: Annotated[
        Text, typer.Option(callback=words_of, help="Where it pressed: middle ...")
    ] = None,
    lap: Annotated[
        Text, typer.Option(callback=words_of, help="Name of the lap.")
    ] = None,
    fresh: Annotated[bool, typer.Option("--fresh", help="On a fresh sheet.")] = False,
    turned: Annotated[
        bool, typer.Option("--turned", help="The plane turned end for end.")
    ] = False,
    iron: Annotated[
        bool | None,
        typer.Option("--iron-in/--iron-out", help="Iron in and under tension?"),
    ] = None,
    note: Annotated[Text, typer.Option(callback=words_of, help="A remark.")] = None,
    log: LogOption = None,
) -> None:
    """Keep a run of strokes; what is not said is as last time."""
    from lapping.bench.strokes import keep_strokes

    said = {
        **{"load": load, "lubricant": lubricant, "direction": direction, "hand": hand},
        **{"fresh_sheet": fresh, "turned": turned, "iron_in": iron, "note": note},
    }
    with the_log(log) as opened:
        print(keep_strokes(opened, words, said, lap, doubt=_kept_all_the_same))
    # For a person who looks, and no more than this: advice takes time to load.
    if sys.stderr.isatty():
        print("next: let it cool, read it; 'lapping advice' says more", file=sys.stderr)


def _kept_all_the_same(doubt: str) -> bool:
    """Ask whoever sits there; where nobody does, say it beside the answer."""
    if sys.stdin.isatty() and sys.stderr.isatty():
        print(f"{doubt}. Keep it? y or n > ", end="", file=sys.stderr, flush=True)
        return sys.stdin.readline().strip().lower() in ("y", "yes")
    print(f"{doubt}; 'lapping log back' takes it back", file=sys.stderr)
    return True
