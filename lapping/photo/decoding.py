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
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from lapping.photo.headers import CUT_OFF, DAMAGED, Header, refuse
from lapping.photo.turned import Pixels

_STDERR = 2
_ONE_AT_A_TIME = threading.Lock()
_FROM_DECODERS = re.compile(r"JPEG|libpng|SOS|\[ ?(?:WARN|ERROR|INFO)", re.IGNORECASE)
_PADDING = re.compile(r"(\d+) extraneous bytes before marker 0xd9")
_REDUCED = {
    1: cv2.IMREAD_COLOR,
    2: cv2.IMREAD_REDUCED_COLOR_2,
    4: cv2.IMREAD_REDUCED_COLOR_4,
}
MOST_PADDING = 64
"""Some cameras put a few bytes between a picture and its end, which do no harm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stored:
    """A picture as its file holds it, to be read ``fewer`` times smaller (1, 2, 4)."""

    data: bytes
    header: Header
    fewer: int

    @property
    def by_decoder(self) -> int:
        """How many times smaller the decoder itself makes it."""
        return self.fewer if self.header.kind == "JPEG" else 1

    def unpack(self, data: bytes | None = None) -> NDArray[np.generic] | None:
        """Give what OpenCV makes of it."""
        flags = _REDUCED[self.by_decoder]
        if self.header.alpha:
            flags = cv2.IMREAD_UNCHANGED
        packed = np.frombuffer(data or self.data, np.uint8)
        with suppress(cv2.error):
            return cv2.imdecode(packed, flags | cv2.IMREAD_IGNORE_ORIENTATION)
        return None


def decode(stored: Stored) -> Pixels:
    """Give the stored pixels as BGR, not turned; BadInput if any cannot be had.

    Where a row or column does not divide, its last pixel stands for fewer than others.
    """
    said: list[str] = []
    with _heard(said):
        raw = stored.unpack()
    return _whole(stored, raw, "\n".join(said))


def decode_both(one: Stored, other: Stored) -> tuple[Pixels, Pixels]:
    """Decode two pictures at the same time; BadInput is for the first that is bad."""
    said: list[str] = []
    with _heard(said), ThreadPoolExecutor(1) as beside:
        second = beside.submit(other.unpack)
        raws = one.unpack(), second.result()
    if said:
        # It is not told which of them was complained of.
        return decode(one), decode(other)
    return _whole(one, raws[0], ""), _whole(other, raws[1], "")


def _whole(stored: Stored, raw: NDArray[np.generic] | None, said: str) -> Pixels:
    """Give the pixels, if they are all there by what the decoder said."""
    data, header = stored.data, stored.header
    padding = max((int(n) for n in _PADDING.findall(said)), default=0)
    if 0 < padding <= MOST_PADDING:
        # Only the first complaint is printed, so that this one may hide another.
        ending = data[header.end - 2 : header.end]
        more: list[str] = []
        with _heard(more):
            raw = stored.unpack(data[: header.end - 2 - padding] + ending)
        said = "\n".join(more)
    if "premature end" in said.lower():
        refuse(CUT_OFF)
    if raw is None or "Corrupt JPEG data" in said:
        refuse(DAMAGED)
    pixels = _opaque(raw) if header.alpha else np.asarray(raw, np.uint8)
    expected = [-(-n // stored.by_decoder) for n in (header.height, header.width)]
    if list(pixels.shape) != [*expected, 3]:
        refuse(DAMAGED)
    left = stored.fewer // stored.by_decoder
    return pixels if left == 1 else _averaged(pixels, left)


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


def _averaged(pixels: Pixels, fewer: int) -> Pixels:
    height, width = pixels.shape[:2]
    lacking = -height % fewer, -width % fewer
    if any(lacking):
        pixels = np.asarray(
            cv2.copyMakeBorder(
                pixels, 0, lacking[0], 0, lacking[1], cv2.BORDER_REPLICATE
            ),
            np.uint8,
        )
    size = (pixels.shape[1] // fewer, pixels.shape[0] // fewer)
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
