"""What is worked out and drawn for pages; what takes time to load is loaded here."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lapping.errors import LappingError
from lapping.history import Entry, Photo
from lapping.log.look_back import newest_entry
from lapping.log.opening import Log
from lapping.log.photos import kept_at, photo_before
from lapping.log.planes import FaceEntry, read_settings
from lapping.phone.found import face_at, photo_at
from lapping.phone.looks import Units
from lapping.phone.shop import Shop
from lapping.phone.works import Work

if TYPE_CHECKING:
    from lapping.answer import Answer
    from lapping.face import Face
    from lapping.photo.look import Look

LONGEST_SIDE_PX = 1400
"""A photo is shown no larger than this."""
_DRAWING = threading.Lock()
"""matplotlib keeps its settings for the whole process, so drawings wait in line."""
REASONS = ("Why", "How sure", "Signs", "Mind")
"""Labels of the advice that can wait until they are asked for."""
Lines = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceAnswer:
    """What the log says of a face now: what to do, how flat, and how sure.

    ``action`` is None with a lap, ``paper`` where none is to be taken now, and
    ``found`` where no heights were read.
    """

    action: str | None
    paper: str | None
    order: str
    advice: Lines
    lines: Lines
    found: Answer | None

    @property
    def leads(self) -> Lines:
        """Give what a hand needs to go on: how many strokes, and where to bear."""
        return tuple(one for one in self.advice if one[0] not in REASONS)

    @property
    def reasons(self) -> Lines:
        """Give what the advice stands on."""
        return tuple(one for one in self.advice if one[0] in REASONS)


def answer_of(shop: Shop, log: Log, root: int, units: Units | None) -> Work | None:
    """Give the answer for a face if it is there for the log as it is; begin it if not.

    None while it is worked out.
    """
    newest = newest_entry(log)
    work = _answer_for(shop, root, newest, units)
    return work if work.done and work.version == newest else None


def _answer_for(shop: Shop, root: int, newest: int, units: Units | None) -> Work:
    # Two phones may want two units of one face.
    return shop.works.ask(
        (f"face {units}", root), newest, lambda: _look_into(shop, root, units)
    )


def _look_into(shop: Shop, root: int, units: Units | None) -> FaceAnswer:
    from lapping.advice.table import advise_on
    from lapping.answer import Answer
    from lapping.from_files import check_sets
    from lapping.from_log.advice import case_of
    from lapping.from_log.readings import readings_now
    from lapping.units import height_unit
    from lapping.words.advice import advice_entries, order_words
    from lapping.words.answer import report_entries, square_lines

    def remembered(log: Log, photo: Entry[Photo], face: Face) -> Look:
        found: Look = look_of(shop, log, photo).found
        return found

    action: str | None = None
    paper: str | None = None
    advice: Lines = ()
    found = None
    with shop.looking() as log:
        face = face_at(log, root)
        try:
            unit = None if units is None else height_unit(units)
            advised = advise_on(case_of(log, face, look=remembered, unit=unit))
            action, order = advised.action, order_words(advised)
            paper = None if advised.grit is None else advised.grit.name
            advice = tuple(shop.plain(advice_entries(advised)))
        except LappingError as refused:
            order = shop.worded(str(refused))
        try:
            answered = check_sets(readings_now(log, face), units=units)
            if isinstance(answered, Answer):
                found, lines = answered, tuple(shop.plain(report_entries(answered)))
            else:
                lines = tuple(shop.plain(square_lines(answered)))
        except LappingError as refused:
            lines = (("Flat?", shop.worded(str(refused))),)
    return FaceAnswer(
        action=action,
        paper=paper,
        order=order,
        advice=advice,
        lines=lines,
        found=found,
    )


def map_of(shop: Shop, root: int, units: Units | None) -> bytes | None:
    """Give the face map as a PNG, None where there are no heights to draw."""
    with shop.looking() as log:
        newest = newest_entry(log)

    def draw() -> bytes | None:
        answered: FaceAnswer = _answer_for(shop, root, newest, units).found
        if answered.found is None:
            return None
        from lapping.pictures.face_map import face_map
        from lapping.pictures.frame import drawn

        with _DRAWING:
            return drawn(face_map(answered.found), ".png")

    found: bytes | None = shop.works.ask((f"map {units}", root), newest, draw).found
    return found


def look_of(shop: Shop, log: Log, photo: Entry[Photo]) -> Work:
    """Give the look at a photo after strokes, begun now if it is not there."""
    before = photo_before(log, photo)
    version = (photo.id, None if before is None else before.id)
    return shop.works.ask(
        ("look", photo.root), version, lambda: _look_at(shop, photo.root)
    )


def _look_at(shop: Shop, root: int) -> Look:
    from lapping.from_log.photos import look_at_kept

    with shop.looking() as log:
        photo = photo_at(log, root)
        face = read_settings(face_at(log, photo.fact.face).fact.settings)
        return look_at_kept(log, photo, face)


def contact_picture_of(shop: Shop, root: int) -> bytes:
    """Give the photo with the face found and where it bore, as a PNG."""
    with shop.looking() as log:
        photo = photo_at(log, root)
        work = look_of(shop, log, photo)

    def draw() -> bytes:
        from lapping.pictures.contact import contact_picture
        from lapping.pictures.frame import drawn

        with _DRAWING:
            return drawn(contact_picture(work.found), ".png")

    found: bytes = shop.works.ask(("bore", root), work.version, draw).found
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shown:
    """A photo upright as a JPEG for the phone, and its full size in pixels."""

    jpeg: bytes
    width_px: int
    height_px: int


def shown_photo(shop: Shop, root: int) -> Shown:
    """Give a photo to look at; BadInput where its file cannot be read."""
    with shop.looking() as log:
        photo = photo_at(log, root)
        path = kept_at(log, photo)

    def make() -> Shown:
        import cv2

        from lapping.photo.reading import read_photo

        picture = read_photo(path, enough_px=LONGEST_SIDE_PX)
        tall, wide = picture.pixels.shape[:2]
        share = min(1.0, LONGEST_SIDE_PX / max(tall, wide))
        size = (max(1, round(wide * share)), max(1, round(tall * share)))
        small = cv2.resize(picture.pixels, size, interpolation=cv2.INTER_AREA)
        _, jpeg = cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, 80])
        return Shown(
            jpeg=jpeg.tobytes(),
            width_px=picture.width_px,
            height_px=picture.height_px,
        )

    found: Shown = shop.works.ask(("photo", root), photo.fact.sha256, make).found
    return found


def corner_sheet(paper: str) -> bytes:
    """Give the sheet of corner cards as a PDF."""
    from lapping.printed.corner_sheet import corner_pdf

    with _DRAWING:
        return corner_pdf(paper)


def reading_sheet_of(log: Log, face: FaceEntry, method: str, paper: str) -> bytes:
    """Give a sheet to read a face on paper as a PDF; BadInput where none fits."""
    from lapping.from_log.sheet import With, sheet_of
    from lapping.printed.page import as_pdf
    from lapping.printed.reading_sheet import reading_sheet

    sheet = sheet_of(log, face, With(method=method))
    with _DRAWING:
        return as_pdf(reading_sheet(sheet, paper))


def report_of(shop: Shop, log: Log, root: int, units: Units | None) -> Work:
    """Give the report on a face as HTML, begun now if it is not there."""
    version = (newest_entry(log), units)
    return shop.works.ask(("report", root), version, lambda: _report(shop, root, units))


def _report(shop: Shop, root: int, units: Units | None) -> bytes:
    from lapping.from_log.report import report_html

    with shop.looking() as log, _DRAWING:
        face = face_at(log, root)
        html = report_html(log, face, units=units or "um")
    return shop.without_ours(html).encode()
