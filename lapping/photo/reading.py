"""Read a photo from its file: upright, whole, or refused with what to do."""

from __future__ import annotations

import math
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

from lapping.errors import BadInput
from lapping.photo import jpeg_header, png_header
from lapping.photo.decoding import Stored, decode, decode_both
from lapping.photo.headers import Header, refuse_other_kinds
from lapping.photo.turned import Picture, Pixels, upright

MOST_BYTES = 100_000_000
HALVED_ABOVE_PX = 5_000_000
"""A picture of more pixels than this is read at half size, if nothing else is said."""
GREY_IF_WITHIN = 2
"""Colours that differ by no more than this many of 256 steps anywhere are grey."""


def read_photo(
    path: Path, *, fewer: int | None = None, enough_px: float = math.inf
) -> Picture:
    """Read a JPEG or PNG upright; BadInput says why it cannot be, and what to do.

    ``fewer`` decodes at a half (2) or a quarter (4) of the size, which is much faster;
    left out, pictures of more than HALVED_ABOVE_PX are halved, and quartered where
    ``enough_px`` are left of their longer side. Of a file with several pictures in
    it, as phones write them, the first is read. Nothing but pixels is taken from it.
    """
    data = _load(path)
    with named(path):
        return picture_of(data, fewer=fewer, enough_px=enough_px)


def read_both(
    one: Path, other: Path, *, enough_px: float = math.inf
) -> tuple[Picture, Picture]:
    """Read two photos at the same time, as ``read_photo`` does."""
    opened = []
    for path in (one, other):
        data = _load(path)
        with named(path):
            opened.append(_opened(data, None, enough_px))
    try:
        pixels = decode_both(*opened)
    except BadInput:
        # Which one it is that cannot be read.
        return (
            read_photo(one, enough_px=enough_px),
            read_photo(other, enough_px=enough_px),
        )
    return _picture(opened[0], pixels[0]), _picture(opened[1], pixels[1])


def picture_of(
    data: bytes, *, fewer: int | None = None, enough_px: float = math.inf
) -> Picture:
    """Read a photo that is in memory, as ``read_photo`` does."""
    stored = _opened(data, fewer, enough_px)
    return _picture(stored, decode(stored))


def _opened(data: bytes, fewer: int | None, enough_px: float) -> Stored:
    header = header_of(data)
    if fewer is None:
        fewer = 2 if header.width * header.height > HALVED_ABOVE_PX else 1
        if fewer == 2 and max(header.width, header.height) >= 4 * enough_px:
            fewer = 4
    header.refuse_if_too_large(fewer=fewer)
    return Stored(data=data, header=header, fewer=fewer)


def _picture(stored: Stored, pixels: Pixels) -> Picture:
    header = stored.header
    few = pixels[:: max(1, pixels.shape[0] // 64), :: max(1, pixels.shape[1] // 64)]
    spread = few.max(axis=2) - few.min(axis=2)
    return upright(
        pixels,
        header.turn,
        width=header.width,
        height=header.height,
        reduced=stored.fewer,
        grey=header.grey or int(spread.max()) <= GREY_IF_WITHIN,
    )


def header_of(data: bytes) -> Header:
    """Say what a picture's file says of itself; BadInput if it is none or too large."""
    if data.startswith(jpeg_header.START):
        return jpeg_header.read_jpeg(data)
    if data.startswith(png_header.START):
        return png_header.read_png(data)
    refuse_other_kinds(data)


@contextmanager
def named(path: Path) -> Iterator[None]:
    """Say in a refusal which file it is about."""
    try:
        yield
    except BadInput as bad:
        raise BadInput([f"{path}: {one}" for one in bad.mistakes]) from None


def _load(path: Path) -> bytes:
    try:
        # Looked at before it is opened: a pipe would wait for ever, and a huge file
        # must be refused without being read.
        about = path.stat()
        if stat.S_ISDIR(about.st_mode):
            _refuse(path, "this is a folder; give a photo in it")
        if not stat.S_ISREG(about.st_mode):
            _refuse(path, "this is not an ordinary file; save the photo as one")
        if about.st_size > MOST_BYTES:
            _refuse(
                path,
                f"{about.st_size / 1e6:.0f} MB is too large for a photo; at most "
                f"{MOST_BYTES // 1_000_000} MB can be read",
            )
        data = path.read_bytes()
    except FileNotFoundError:
        _refuse(path, "there is no such file; check the name")
    except PermissionError:
        _refuse(path, "reading it is not permitted; change its permissions")
    except (OSError, ValueError) as problem:
        # ValueError is Python's answer to a NUL in a file name.
        _refuse(path, f"it cannot be read ({problem})")
    if not data:
        _refuse(path, "the file is empty; copy the photo once more")
    return data


def _refuse(path: Path, sentence: str) -> NoReturn:
    message = f"{path}: {sentence}"
    raise BadInput(message) from None
