"""What one run of the command line leaves behind, for tests that run it."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple


class Said(NamedTuple):
    """What one run of the command left behind."""

    code: int
    out: str
    err: str


Run = Callable[..., Said]
