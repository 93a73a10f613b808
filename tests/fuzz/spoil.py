"""Spoil whole inputs at random, with words that matter there."""

from __future__ import annotations

import random
from collections.abc import Sequence

LONGEST = 4096


def spoilt(lot: random.Random, seeds: Sequence[bytes], words: Sequence[str]) -> bytes:
    """Give one of the seeds after a few changes, or two of them joined."""
    data = bytearray(lot.choice(seeds)[:LONGEST])
    for _ in range(lot.choice((1, 1, 2, 3, 8))):
        at = lot.randint(0, len(data))
        to = min(len(data), at + lot.choice((0, 1, 1, 2, 8, 64)))
        match lot.randrange(6):
            case 0:
                data[at:to] = b""
            case 1:
                data[at:to] = bytes(data[at:to]) * lot.choice((2, 3, 20))
            case 2:
                data[at:to] = lot.randbytes(lot.choice((1, 2, 4)))
            case 3:
                data[at:to] = lot.choice(words).encode("utf-8")
            case 4:
                other = lot.choice(seeds)
                cut = lot.randint(0, len(other))
                data[at:to] = other[cut : cut + 64]
            case _:
                del data[at:]
    return bytes(data[:LONGEST])
