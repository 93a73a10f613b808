"""Walk through a PNG file: is it there to its end, whole, and how large is it?

ISO/IEC 15948 (PNG), clauses 5 and 11, and its third edition for eXIf and acTL.
"""

from __future__ import annotations

import zlib

from lapping.photo.headers import CUT_OFF, DAMAGED, Header, refuse
from lapping.photo.turned import UPRIGHT, turn_of

START = b"\x89PNG\r\n\x1a\n"
_CHANNELS = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}
_DEPTHS = {1, 2, 4, 8, 16}
_GREY, _PALETTE, _GREY_ALPHA, _COLOUR_ALPHA = 0, 3, 4, 6
_DRAWN = b"Software\0Matplotlib"
"""What draws our pictures says so (clause 11, keyword Software); no phone does."""
MOST_CHUNKS = 100_000
MOST_DEFLATED = 1032
"""Deflate (RFC 1951) makes at most so many bytes of one."""


def read_png(data: bytes) -> Header:
    """Give the header of a PNG that is there to its end, or refuse it."""
    first: bytes | None = None
    turn = UPRIGHT
    see_through = False
    packed = 0
    at = len(START)
    view = memoryview(data)
    for _ in range(MOST_CHUNKS):
        size = int.from_bytes(data[at : at + 4])
        end = at + 12 + size
        if end > len(data):
            refuse(CUT_OFF)
        name = data[at + 4 : at + 8]
        if zlib.crc32(view[at + 4 : end - 4]) != int.from_bytes(data[end - 4 : end]):
            refuse(DAMAGED)
        content = view[at + 8 : end - 4]
        if (name == b"IHDR") != (first is None) or (name == b"IHDR" and size != 13):
            refuse(DAMAGED)
        if name == b"IHDR":
            first = bytes(content)
        elif name == b"acTL":
            refuse("this PNG moves; give one still photo as JPEG or PNG")
        elif name == b"tEXt" and content[: len(_DRAWN)] == _DRAWN:
            refuse(
                "this is a picture drawn by lapping or a program like it, and no photo "
                "of a scribbled sole; give the photo as the phone saved it"
            )
        elif name == b"tRNS":
            see_through = True
        elif name == b"eXIf":
            turn = turn_of(bytes(content))
        elif name == b"IDAT":
            packed += size
        elif name == b"IEND":
            break
        at = end
    else:
        refuse(DAMAGED)
    assert first is not None  # or the first chunk would have been refused
    width, height = int.from_bytes(first[:4]), int.from_bytes(first[4:8])
    depth, kind = first[8], first[9]
    channels = _CHANNELS.get(kind)
    if channels is None or depth not in _DEPTHS:
        refuse(DAMAGED)
    alpha = see_through or kind in {_GREY_ALPHA, _COLOUR_ALPHA}
    header = Header(
        kind="PNG",
        width=width,
        height=height,
        grey=kind in {_GREY, _GREY_ALPHA},
        alpha=alpha,
        turn=turn,
        pixel_bytes=4 * max(1, depth // 8) if alpha else 3,
    )
    if packed * MOST_DEFLATED < width * height * channels * depth / 8:
        refuse(CUT_OFF)
    return header
