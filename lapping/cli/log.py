"""The command `log`: look back, take back, bring in files, and keep a copy."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from lapping.bench.entry_words import entry_words
from lapping.bench.log_words import happened_words
from lapping.errors import BadInput, LogRefused
from lapping.history import LoggedReading, LoggedSet, Note, PlaneFace
from lapping.log.attaching import attach
from lapping.log.entries import bring_back, keep, now_holding, past, root_of, take_back
from lapping.log.look_back import face_history, readings_held
from lapping.log.opening import Log
from lapping.log.planes import (
    FaceEntry,
    face_label,
    faces,
    find_face,
    find_plane,
    the_face,
    the_plane,
)


def overview(log: Log) -> Iterator[str]:
    """Give a line for every face with what happened to it last."""
    for face in faces(log):
        happened = face_history(log, face)
        yield f"{face_label(log, face)}"
        if happened:
            yield f"  {happened_words(log, happened[-1])}"
    (count,) = log.db.execute("SELECT count(*) FROM entry").fetchone()
    yield f"{count} entries"


def show(log: Log, what: str) -> Iterator[str]:
    """Give the history of a face or of a plane's faces, or a set by its number."""
    if what.isdecimal():
        yield from show_entry(log, int(what))
        return
    plane = find_plane(log, what)
    if plane is None:
        yield from show_face(log, the_face(log, what))
        return
    for face in faces(log, plane):
        yield from show_face(log, face)


def show_face(log: Log, face: FaceEntry) -> Iterator[str]:
    """Give what was done to a face and measured on it, session by session."""
    yield face_label(log, face)
    session = None
    for one in face_history(log, face):
        if one.session != session:
            session = one.session
            yield f" session {session}, begun {one.entered_at[:16].replace('T', ' ')}"
        yield f"  {happened_words(log, one)}"


def show_entry(log: Log, number: int) -> Iterator[str]:
    """Give a set as typed and as understood, or the versions of any other entry."""
    versions = past(log, root_of(log, number))
    first = versions[0].fact
    if isinstance(first, LoggedReading):
        number = first.set
    if isinstance(first, LoggedReading | LoggedSet):
        from lapping.cli.show_set import show_set

        yield from show_set(log, number)
        return
    for one in versions:
        holds = "holds" if one is versions[-1] else "replaced"
        at = one.entered_at[:16].replace("T", " ")
        yield f"{one.id}  {at}  {holds}: {entry_words(log, one)}"


def give_back(log: Log, number: int, *, again: bool) -> Iterator[str]:
    """Take an entry back, or let an old one hold again."""
    root = root_of(log, number)
    before = past(log, root)
    asked = next(one for one in before if one.id == number)
    if again and asked.fact is not None and asked.fact == before[-1].fact:
        message = f"entry {number} holds as it is; there is nothing to bring back"
        raise BadInput(message)
    # Said while it holds: of a set taken back no readings can be counted.
    was = entry_words(log, before[-1])
    (bring_back if again else take_back)(log, number)
    now = past(log, root)[-1]
    if now.fact is None:
        undo = f"'lapping log again {number}' undoes that"
        yield f"entry {number} is taken back: {was}; {undo}"
        return
    if not again:
        yield f"entry {number} is taken back: {was}"
    yield f"holds again: {entry_words(log, now)}"
    if isinstance(now.fact, LoggedReading):
        yield from show_entry(log, root)


def attach_face(log: Log, name: str, to: str) -> Iterator[str]:
    """Give a face read without a plane to a plane, under a name of its own."""
    plane_name, slash, face_name = to.rpartition("/")
    if not slash:
        message = f"'{to}' names no face; write it as Bramble/sole"
        raise BadInput(message)
    face = attach(log, the_face(log, name), the_plane(log, plane_name), face_name)
    yield from show_face(log, face)


def bring_in(
    log: Log, paths: Sequence[Path], face_name: str | None, units: str | None
) -> Iterator[str]:
    """Add an exported folder, or readings files as sets of a face."""
    if any(path.is_dir() for path in paths):
        if len(paths) > 1 or face_name or units:
            message = "an exported folder comes alone: lapping log import FOLDER"
            raise BadInput(message)
        from lapping.log.exchange import import_folder

        yield f"{import_folder(log, paths[0])} entries added"
        return
    from lapping.log.files import import_files

    for path in paths:
        if not path.exists() and find_face(log, str(path)) is not None:
            message = f"{path} is a face and no file; name it so: --face {path}"
            raise BadInput(message)
    face = None if face_name is None else the_face(log, face_name)
    for entry in import_files(log, paths, face=face, units=units):
        kept = now_holding(log, PlaneFace, entry.fact.face)
        label = face_label(log, kept) if kept else ""
        many = readings_held(log, entry.root)
        yield f"{entry.root}  {label}: {many} readings from {entry.fact.source}"


def look_through(log: Log) -> Iterator[str]:
    """Say that the log is whole, or refuse with what is wrong with it."""
    from lapping.log.examine import missing_photos, troubles

    wrong = [*troubles(log), *missing_photos(log)]
    if wrong:
        raise LogRefused("\n".join(f"{log.path}: {one}" for one in wrong[:20]))
    words = ("entry", "entries"), ("set", "sets"), ("reading", "readings")
    tables = ("entry", "reading_set", "reading", "photo")
    counted = []
    for table, (one, many) in zip(tables, (*words, ("photo", "photos")), strict=True):
        (count,) = log.db.execute(f"SELECT count(*) FROM {table}").fetchone()
        counted.append(f"{count} {one if count == 1 else many}")
    yield f"The log is whole: {', '.join(counted)}"


def remark(log: Log, about: str, text: str) -> Iterator[str]:
    """Keep a remark about a face, or about an entry by its number."""
    root = root_of(log, int(about)) if about.isdecimal() else the_face(log, about).root
    kept = keep(log, Note(about=root, text=text))
    yield f"{kept.id}  note: {text}"
