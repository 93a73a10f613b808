"""Remarks that say more than words: how warm the plane was, a mouth, a thickness.

A remark is free text. These pieces of it are understood wherever they stand:

    warm | hot | cooled | cold            how the plane felt when it was read
    sole 31C, top 24C                     what a thermometer said
    mouth 0.65mm                          the opening of the mouth
    thickness 4.2mm                       of the body under the face
    scratches | no scratches              of the grit before, seen on the face
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

_LENGTH = r"\s*[:=]?\s*(\d+(?:[.,]\d+)?)\s*mm\b"
_MOUTH = re.compile(r"\bmouth" + _LENGTH, re.IGNORECASE)
_THICKNESS = re.compile(r"\bthickness" + _LENGTH, re.IGNORECASE)
_DEGREES = r"\s*[:=]?\s*(-?\d+(?:[.,]\d+)?)\s*°?\s*C\b"
_SOLE = re.compile(r"\bsole" + _DEGREES, re.IGNORECASE)
_TOP = re.compile(r"\btop" + _DEGREES, re.IGNORECASE)
_WARM = re.compile(r"\b(not\s+)?(warm|hot|cooled|cold|cool)\b", re.IGNORECASE)
_SCRATCHES = re.compile(r"\b(no\s+)?scratches\b", re.IGNORECASE)
MOST_MM = 100.0
MOST_C = 200.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Remark:
    """What a remark says beside its words; None where it says nothing of it.

    ``said`` is the text itself, ``warmer_k`` how much warmer the sole was than the top,
    by thermometer, and ``warm`` how the plane felt.
    """

    mouth_mm: float | None = None
    thickness_mm: float | None = None
    warmer_k: float | None = None
    warm: bool | None = None
    scratches: bool | None = None
    said: str = field(default="", repr=False, compare=False)


SAID_NOTHING = Remark()


def understand(text: str) -> Remark:
    """Find in a remark what it says that a figure can be made of.

    >>> understand("read cold; mouth 0.65mm")
    Remark(mouth_mm=0.65, thickness_mm=None, warmer_k=None, warm=False, scratches=None)
    """
    sole, top = _number(_SOLE, text, MOST_C), _number(_TOP, text, MOST_C)
    felt = _WARM.search(text)
    warm = None
    if felt is not None:
        warm = (felt[2].lower() in ("warm", "hot")) != bool(felt[1])
    seen = _SCRATCHES.search(text)
    return Remark(
        mouth_mm=_number(_MOUTH, text, MOST_MM),
        thickness_mm=_number(_THICKNESS, text, MOST_MM),
        warmer_k=None if sole is None or top is None else sole - top,
        warm=warm,
        scratches=None if seen is None else not seen[1],
        said=text.strip(),
    )


def _number(pattern: re.Pattern[str], text: str, most: float) -> float | None:
    found = pattern.search(text)
    if found is None:
        return None
    value = float(found[1].replace(",", "."))
    return value if abs(value) <= most else None
