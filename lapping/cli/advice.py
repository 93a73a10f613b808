"""The command `advice`: what to do next, from the log or an exported folder."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from lapping.advice.table import advise_on
from lapping.cli.log_place import the_log
from lapping.cli.screen import with_map
from lapping.errors import BadInput
from lapping.from_log.advice import case_of
from lapping.history import Strokes
from lapping.log.entries import held
from lapping.log.exchange import import_folder
from lapping.log.look_back import last_entries
from lapping.log.opening import Log, open_log
from lapping.log.planes import FaceEntry, face_label, faces, the_face
from lapping.words.advice import advice_words
from lapping.words.advice_json import advice_to_json


def advise_face(
    name: str | None, face: str | None, log: str | None, *, as_json: bool
) -> str:
    """Give advice on a face in the log, or in the log that a folder holds."""
    with asked_of(name, face, log) as (opened, chosen):
        label = face_label(opened, chosen)
        case = case_of(opened, chosen)
    advice = advise_on(case)
    if as_json:
        return json.dumps(
            advice_to_json(advice), ensure_ascii=False, indent=1, allow_nan=False
        )
    return with_map(advice_words(label, advice), case.answer)


@contextmanager
def asked_of(
    name: str | None, face: str | None, log: str | None
) -> Iterator[tuple[Log, FaceEntry]]:
    """Open the log that is asked about, and find the face in it."""
    if name is not None and os.path.isdir(name):
        with (
            tempfile.TemporaryDirectory(prefix="lapping-") as at,
            open_log(Path(at) / "folder.lapping") as opened,
        ):
            import_folder(opened, Path(name))
            yield opened, _chosen(opened, face, name)
        return
    if name is not None and face is not None:
        message = f"'{name}' is no folder; name the face once, as Bramble/sole"
        raise BadInput(message)
    with the_log(log, read_only=True) as opened:
        yield opened, _chosen(opened, name, str(opened.path))


def _chosen(log: Log, name: str | None, where: str) -> FaceEntry:
    """Give the face named, or the one that was worked on last."""
    if name is not None:
        return the_face(log, name)
    known = {one.root: one for one in faces(log)}
    strokes = held(log, Strokes)
    if strokes and strokes[-1].fact.face in known:
        return known[strokes[-1].fact.face]
    read = {
        newest: known[root]
        for root, newest in last_entries(log).items()
        # A plate is read as well, and nobody works on it.
        if root in known and ("face", "lap") not in known[root].fact.settings
    }
    if not read:
        message = f"{where}: say which face; none has strokes, readings or photos"
        raise BadInput(message)
    return read[max(read)]
