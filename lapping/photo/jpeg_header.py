"""Walk through a JPEG file: is it there to its end, and how large is it?

ITU-T T.81 (1992), annex B, gives the order and meaning of its segments. A decoder
fills what is missing with grey and says nothing, so it has to be found out here.
"""

from __future__ import annotations

import re

import numpy as np

from lapping.photo.headers import CUT_OFF, DAMAGED, Header, refuse
from lapping.photo.turned import UPRIGHT, Turn, turn_of

START = b"\xff\xd8\xff"
MOST_SCANS = 40
"""A progressive picture has about ten; many more are made to keep a reader busy."""
MOST_SEGMENTS = 10_000
AT_ONCE = 1 << 20
_END, _SCAN, _EXIF = 0xD9, 0xDA, 0xE1
_SEQUENTIAL, _PROGRESSIVE = {0xC0, 0xC1}, 0xC2
_FRAMES = {0xC0 + n for n in range(16)} - {0xC4, 0xC8, 0xCC}
_ALONE = {0x01, *range(0xD0, 0xD8)}
_MARKER = re.compile(rb"\xff[^\x00\xff]")


class _Walk:
    """What has been met so far."""

    def __init__(self) -> None:
        self.frame: bytes | None = None
        self.progressive = False
        self.turn: Turn | None = None
        self.scans = 0
        self.several = False
        # For each component and coefficient the lowest bit that has come, 0 for all.
        self.bits_left: dict[int, list[int | None]] = {}

    def take_frame(self, marker: int, content: bytes) -> None:
        if self.frame is not None or len(content) < 6:
            refuse(DAMAGED)
        if marker not in {*_SEQUENTIAL, _PROGRESSIVE} or content[0] != 8:
            refuse("this is an unusual kind of JPEG; save the photo as plain JPEG")
        if len(content) < 6 + 3 * content[5]:
            refuse(DAMAGED)
        self.frame = content
        self.progressive = marker == _PROGRESSIVE
        for at in range(6, 6 + 3 * content[5], 3):
            self.bits_left[content[at]] = [None] * 64

    def take_scan(self, content: bytes) -> None:
        self.scans += 1
        count = content[0] if content else 0
        if (
            self.frame is None
            or len(content) < 4 + 2 * count
            or self.scans > MOST_SCANS
        ):
            refuse(DAMAGED)
        self.several |= count < len(self.bits_left)
        first, last, bits = content[1 + 2 * count : 4 + 2 * count]
        low = bits & 15
        if not self.progressive:
            # Some cameras write other numbers here, which mean nothing.
            first, last, low = 0, 63, 0
        for at in range(1, 1 + 2 * count, 2):
            left = self.bits_left.get(content[at])
            if left is None or last > 63:
                refuse(DAMAGED)
            left[first : last + 1] = [low] * (last + 1 - first)

    def header(self, *, end: int) -> Header:
        frame = self.frame
        if frame is None:
            refuse(DAMAGED)
        if any(bits != 0 for left in self.bits_left.values() for bits in left):
            refuse(CUT_OFF)
        parts = frame[5]
        if parts not in {1, 3, 4}:
            refuse(DAMAGED)
        height = int.from_bytes(frame[1:3])
        width = int.from_bytes(frame[3:5])
        return Header(
            kind="JPEG",
            width=width,
            height=height,
            grey=parts == 1,
            turn=self.turn or UPRIGHT,
            end=end,
            kept=self._kept(width, height),
        )

    def _kept(self, width: int, height: int) -> int:
        """Count the bytes kept where the picture comes in several passes."""
        assert self.frame is not None
        if not (self.progressive or self.several):
            return 0
        factors = [(b >> 4, b & 15) for b in self.frame[7::3]]
        most = max(h for h, _ in factors) * max(v for _, v in factors)
        share = sum(h * v for h, v in factors) / max(most, 1)
        return round(2 * width * height * share)


def read_jpeg(data: bytes) -> Header:
    """Give the header of a JPEG that is there to its end, or refuse it.

    Whatever follows the end, as phones append it, is left alone.
    """
    walk = _Walk()
    at = 2
    for _ in range(MOST_SEGMENTS):
        found = _MARKER.search(data, at)
        if found is None:
            refuse(CUT_OFF)
        marker, at = data[found.end() - 1], found.end()
        if marker == _END:
            return walk.header(end=at)
        if marker in _ALONE:
            continue
        size = int.from_bytes(data[at : at + 2])
        content = data[at + 2 : at + size]
        if size < 2:
            refuse(DAMAGED)
        if at + size > len(data):
            refuse(CUT_OFF)
        at += size
        if marker in _FRAMES:
            walk.take_frame(marker, content)
        elif marker == _EXIF and walk.turn is None and content[:6] == b"Exif\0\0":
            walk.turn = turn_of(content[6:])
        elif marker == _SCAN:
            walk.take_scan(content)
            at = _end_of_scan(data, at)
    refuse(DAMAGED)


def _end_of_scan(data: bytes, at: int) -> int:
    """Give where a scan ends: at 0xFF, if not before 0x00, a restart or 0xFF."""
    every = np.frombuffer(data, np.uint8)
    for start in range(at, len(every) - 1, AT_ONCE):
        part = every[start : start + AT_ONCE + 1]
        found = np.flatnonzero(part[:-1] == 0xFF)
        after = part[found + 1]
        inside = (after == 0) | (after == 0xFF) | ((after >= 0xD0) & (after <= 0xD7))
        ends = found[~inside]
        if ends.size:
            return start + int(ends[0])
    refuse(CUT_OFF)
