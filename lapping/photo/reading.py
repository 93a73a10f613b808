"""Read a photo from its file: upright, whole, or refused with what to do."""

from __future__ import annotations

import stat
from pathlib import Path
from typing import NoReturn

from lapping.errors import BadInput
from lapping.photo import jpeg_header, png_header
from lapping.photo.decoding import decode
from lapping.photo.headers import Header, refuse_other_kinds
from lapping.photo.turned import Picture, upright

MOST_BYTES = 100_000_000
HALVED_ABOVE_PX = 5_000_000
"""A picture of more pixels than this is read at half size, if nothing else is said."""
GREY_IF_WITHIN = 2
"""Colours that differ by no more than this many of 256 steps anywhere are grey."""


def read_photo(path: Path, *, half: bool | None = None) -> Picture:
    """Read a JPEG or PNG upright; BadInput says why it cannot be, and what to do.

    ``half`` decodes at half size, which is much faster; left out, that is done for
    pictures of more than HALVED_ABOVE_PX. Of a file with several pictures in it, as
    phones write them, the first is read. Nothing but pixels is taken from the file.
    """
    data = _load(path)
    try:
        return picture_of(data, half=half)
    except BadInput as bad:
        raise BadInput([f"{path}: {one}" for one in bad.mistakes]) from None


def picture_of(data: bytes, *, half: bool | None = None) -> Picture:
    """Read a photo that is in memory, as ``read_photo`` does."""
    header = header_of(data)
    if half is None:
        half = header.width * header.height > HALVED_ABOVE_PX
    header.refuse_if_too_large(half=half)
    pixels = decode(data, header, half=half)
    few = pixels[:: max(1, pixels.shape[0] // 64), :: max(1, pixels.shape[1] // 64)]
    spread = few.max(axis=2) - few.min(axis=2)
    return upright(
        pixels,
        header.turn,
        width=header.width,
        height=header.height,
        reduced=2 if half else 1,
        grey=header.grey or int(spread.max()) <= GREY_IF_WITHIN,
    )


def header_of(data: bytes) -> Header:
    """Say what a picture's file says of itself; BadInput if it is none or too large."""
    if data.startswith(jpeg_header.START):
        return jpeg_header.read_jpeg(data)
    if data.startswith(png_header.START):
        return png_header.read_png(data)
    refuse_other_kinds(data)


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
