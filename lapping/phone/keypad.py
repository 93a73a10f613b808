"""The keys to enter a reading with a thumb, by what is read."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lapping.history import Header

WIPE = "wipe"
_ENDS = {"high": ("left", "right"), "side": ("sole", "top")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key: what stands on it, what it puts, and whether it replaces all."""

    shows: str
    puts: str
    says: str = ""
    alone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Keys:
    """The keys of a set; ``sizes`` are leaves, each a whole answer by itself."""

    digits: tuple[Key, ...]
    words: tuple[Key, ...]
    sizes: tuple[Key, ...]


_DIGITS = (
    *(Key(shows=one, puts=one) for one in "123456789"),
    Key(shows="−", puts="-", says="minus"),
    Key(shows="0", puts="0"),
    Key(shows=".", puts=".", says="decimal point"),
)
_NONE_GOES = Key(shows="none goes", puts="0", alone=True)
_NO_LIGHT = Key(shows="no light", puts="no light", alone=True)


def keys_for(columns: Sequence[str], headers: Sequence[Header]) -> Keys:
    """Give the keys that answer what these columns ask for."""
    said = {key: value for key, value, _ in headers}
    words: list[Key] = []
    sizes: tuple[Key, ...] = ()
    for column, ends in _ENDS.items():
        if column in columns:
            words += [Key(shows=end, puts=f" {end}") for end in ends]
    if "goes" in columns:
        leaves = [one.strip() for one in said.get("leaves", "").split(",")]
        sizes = tuple(Key(shows=one, puts=one, alone=True) for one in leaves if one)
        words += [_NONE_GOES, Key(shows="+", puts="+", says="stacked with")]
    if "line" in columns and "slope" not in columns:
        words.append(_NO_LIGHT)
    return Keys(digits=_DIGITS, words=tuple(words), sizes=sizes)
