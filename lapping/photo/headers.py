"""What a picture's file says of itself before it is decoded."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, NoReturn

from lapping.errors import BadInput
from lapping.photo.turned import UPRIGHT, Turn

MOST_PIXELS = 100_000_000
MOST_SIDE_PX = 30_000
MOST_UNPACKED = 230_000_000
"""So many bytes may be needed at once; OpenCV, decoding, holds the pixels twice."""
CUT_OFF = "the picture is cut off: a part of the file is missing; copy it once more"
DAMAGED = "the picture is damaged; copy it once more from the phone or camera"
_AS_JPEG = "save or share it as JPEG and give that file"
_BRANDS = {
    **dict.fromkeys((b"avif", b"avis"), "AVIF"),
    **dict.fromkeys(
        (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1"),
        "HEIC",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """Size and kind of a stored picture, and how it is to be turned.

    ``kept`` is how many bytes a decoder needs beside the pixels, of ``pixel_bytes``
    each, and ``end`` where the picture ends in its file.
    """

    kind: Literal["JPEG", "PNG"]
    width: int
    height: int
    grey: bool
    alpha: bool = False
    turn: Turn = UPRIGHT
    kept: int = 0
    pixel_bytes: int = 3
    end: int = 0

    def __post_init__(self) -> None:
        """Refuse what nobody photographed and what would fill the memory."""
        if not self.width or not self.height:
            refuse(DAMAGED)
        pixels = self.width * self.height
        if max(self.width, self.height) > MOST_SIDE_PX or pixels > MOST_PIXELS:
            refuse(
                f"the picture is {self.width} × {self.height} pixels; at most "
                f"{MOST_PIXELS // 1_000_000} megapixels and {MOST_SIDE_PX} a side can "
                "be read, save it smaller"
            )

    def refuse_if_too_large(self, *, fewer: int) -> None:
        """Refuse a picture that would take too much memory to unpack."""
        small = fewer if self.kind == "JPEG" else 1
        copies = 3 if all(self.turn) else 2
        pixels = self.width * self.height // small**2
        needed = self.kept + copies * pixels * self.pixel_bytes
        if needed > MOST_UNPACKED:
            refuse(
                f"the picture is {self.width} × {self.height} pixels, and as this kind "
                f"of {self.kind} it would need {needed / 1e6:.0f} MB to unpack; save "
                "it smaller, or as plain JPEG"
            )


def refuse(sentence: str) -> NoReturn:
    """Raise the sentence."""
    raise BadInput(sentence)


def refuse_other_kinds(data: bytes) -> NoReturn:
    """Say what kind of file this is, and how to get a JPEG from it."""
    if data[4:8] == b"ftyp":
        brands = [data[8:12], *re.findall(rb"....", data[16:64], re.DOTALL)]
        kinds = {_BRANDS[b] for b in brands if b in _BRANDS}
        # The older kind's brand stands in the newer kind's files too.
        kind = min(kinds, default=None)
        if kind is None:
            refuse("this file holds moving pictures; give a photo as JPEG or PNG")
        refuse(
            f"this is a {kind} picture, which cannot be read here; let the phone's "
            f"camera save JPEG (its settings call that compatible), or {_AS_JPEG}"
        )
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        if b"ANIM" in data[12:64]:
            refuse("this WebP picture moves; give one still photo as JPEG or PNG")
        refuse(f"this is a WebP picture, which cannot be read here; {_AS_JPEG}")
    if data[:4] == b"GIF8":
        refuse(
            "this is a GIF, which has too few colours to judge ink by and may move; "
            "give the photo itself as JPEG or PNG"
        )
    if data[:4] in {b"II*\0", b"MM\0*"}:
        refuse(f"this is a TIFF or a camera's raw file; {_AS_JPEG}")
    if data[:2] == b"BM":
        refuse(f"this is a BMP picture, which cannot be read here; {_AS_JPEG}")
    refuse("this is no picture that can be read here; give a photo as JPEG or PNG")
