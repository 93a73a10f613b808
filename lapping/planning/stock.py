"""How flat metal comes from the shop, before anybody has read it.

Common practice, no source: orders of magnitude from workshops, because the tolerances
of standards for bar and plate are for metres and not for a plane's length. One piece
can be far better or worse; reading it takes a minute with a straightedge and leaves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lapping.errors import BadInput

PER_LENGTH_MM = 250.0
Range = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A kind of stock: its flatness for 250 mm of length, and its skin, in µm.

    ``flatness_um`` is few, likely, many, and grows in proportion to the length.
    ``skin_um`` is what comes off all over before clean metal shows: mill scale, pits,
    the marks of the cutter or wheel.
    """

    name: str
    flatness_um: Range
    skin_um: float

    def flatness_at(self, length_mm: float) -> Range:
        """Give the flatness for a length: few, likely and many, in µm."""
        few, likely, many = (um * length_mm / PER_LENGTH_MM for um in self.flatness_um)
        return few, likely, many


STOCK: Mapping[str, Stock] = {
    one.name: one
    for one in (
        Stock(name="rolled", flatness_um=(100.0, 300.0, 800.0), skin_um=30.0),
        Stock(name="cast", flatness_um=(30.0, 100.0, 300.0), skin_um=10.0),
        Stock(name="milled", flatness_um=(20.0, 50.0, 150.0), skin_um=10.0),
        Stock(name="ground", flatness_um=(5.0, 15.0, 40.0), skin_um=3.0),
    )
}
"""Hot rolled with its scale; cast, then milled; cold metal milled; ground all over."""
STOCK_WORDS: Mapping[str, str] = {
    "rolled": "as hot rolled",
    "cast": "cast and milled",
    "milled": "milled",
    "ground": "ground",
}


def stock_named(text: str) -> Stock:
    """Give the kind of stock of that name, or raise BadInput with those known."""
    name = text.strip().lower()
    if name not in STOCK:
        message = f"'{text}' is no kind of stock known here; write {', '.join(STOCK)}"
        raise BadInput(message)
    return STOCK[name]
