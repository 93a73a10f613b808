"""Decode a picture without a word on the screen, and hear what the decoder said.

The libraries below OpenCV print straight to the process's standard error, where the
person at the bench would read half a sentence about Huffman codes. What they print is
also the only sign that a part of a JPEG could not be decoded and was filled with grey.
"""

from __future__ import annotations

import os
import re
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.headers import CUT_OFF, DAMAGED, Header, refuse
from lapping.photo.turned import Pixels

_STDERR = 2
_ONE_AT_A_TIME = threading.Lock()
_FROM_DECODERS = re.compile(r"JPEG|libpng|SOS|\[ ?(?:WARN|ERROR|INFO)", re.IGNORECASE)
_PADDING = re.compile(r"(\d+) extraneous bytes before marker 0xd9")
MOST_PADDING = 64
"""Some cameras put a few bytes between a picture and its end, which do no harm."""


def decode(data: bytes, header: Header, *, half: bool) -> Pixels:
    """Give the stored pixels as BGR, not turned; BadInput if any cannot be had.

    Half size means two by two pixels averaged, the last of an odd row or column alone.
    """
    flags = cv2.IMREAD_COLOR
    if header.alpha:
        flags = cv2.IMREAD_UNCHANGED
    elif half and header.kind == "JPEG":
        flags = cv2.IMREAD_REDUCED_COLOR_2
    raw, said = _decoded(data, flags)
    padding = max((int(n) for n in _PADDING.findall(said)), default=0)
    if 0 < padding <= MOST_PADDING:
        # Only the first complaint is printed, so that this one may hide another.
        ending = data[header.end - 2 : header.end]
        _, said = _decoded(data[: header.end - 2 - padding] + ending, flags)
    if "premature end" in said.lower():
        refuse(CUT_OFF)
    if raw is None or "Corrupt JPEG data" in said:
        refuse(DAMAGED)
    pixels = _opaque(raw) if header.alpha else np.asarray(raw, np.uint8)
    small = half and header.kind == "JPEG"
    expected = [-(-n // 2) if small else n for n in (header.height, header.width)]
    if list(pixels.shape) != [*expected, 3]:
        refuse(DAMAGED)
    return _halved(pixels) if half and not small else pixels


def _decoded(data: bytes, flags: int) -> tuple[NDArray[np.generic] | None, str]:
    """Give what OpenCV makes of it, and what was said of it."""
    said: list[str] = []
    raw = None
    with _heard(said), suppress(cv2.error):
        raw = cv2.imdecode(
            np.frombuffer(data, np.uint8), flags | cv2.IMREAD_IGNORE_ORIENTATION
        )
    return raw, "\n".join(said)


def _opaque(raw: NDArray[np.generic]) -> Pixels:
    """Take the alpha away, where it hides nothing."""
    deep = raw.dtype == np.uint16
    whole = 65535 if deep else 255
    # A grey level that is said to be see-through comes without alpha.
    if raw.ndim == 2 or raw.shape[2] != 4 or int(raw[..., 3].min()) < whole:
        refuse(
            "parts of the picture are see-through, and what is behind them cannot be "
            "known; give the photo itself, not a cut-out"
        )
    colours = np.asarray(raw[..., :3], np.uint16)
    return np.ascontiguousarray(colours >> 8 if deep else colours, np.uint8)


def _halved(pixels: Pixels) -> Pixels:
    height, width = pixels.shape[:2]
    if height % 2 or width % 2:
        pixels = np.asarray(
            cv2.copyMakeBorder(
                pixels, 0, height % 2, 0, width % 2, cv2.BORDER_REPLICATE
            ),
            np.uint8,
        )
    size = (pixels.shape[1] // 2, pixels.shape[0] // 2)
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


@contextmanager
def _heard(said: list[str]) -> Iterator[None]:
    """Take what is printed on standard error meanwhile; give back what is not ours."""
    with _ONE_AT_A_TIME, tempfile.TemporaryFile() as kept:
        try:
            before = os.dup(_STDERR)
        except OSError:
            # There is no standard error; what was opened last may have its number.
            before = None
        os.dup2(kept.fileno(), _STDERR)
        try:
            yield
        finally:
            if before is None:
                os.close(_STDERR)
            else:
                os.dup2(before, _STDERR)
                os.close(before)
            kept.seek(0)
            others: list[str] = []
            for line in kept.read().decode("utf-8", "replace").splitlines():
                (said if _FROM_DECODERS.search(line) else others).append(line)
            if others and before is not None:
                os.write(_STDERR, "".join(f"{line}\n" for line in others).encode())
