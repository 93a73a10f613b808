"""Filing down a place that is said to stand proud, if it can be felt to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lapping.places import place_words
from tests.campaign.body import Body
from tests.campaign.truth import over_the_ring_um

FELT_UM = 6.0
"""With a short rule and a lamp less than this is not seen."""
FILED_UM = 4.0
"""Standard deviation of where the file stops."""
REACH_MM = 8.0


def file_heads(body: Body, rng: np.random.Generator) -> bool:
    """File down every head and corner that can be felt; say if there was any.

    The file leaves it a little proud or a little low.
    """
    filed = False
    for head in body.heads:
        proud = body.proud_um(head)
        if proud > FELT_UM:
            down = max(proud - float(rng.normal(0, FILED_UM)), 0.0)
            body.height_um = body.height_um - down * body.on_head(head)
            filed = True
    return filed


def file_places(body: Body, where: Sequence[str], rng: np.random.Generator) -> bool:
    """File down the highest spot of each place named; say if any could be felt.

    A place in words is large, so a person goes over it with a short rule first.
    """
    cells, filed = body.cells, False
    words = [
        place_words(body.face, float(a), float(c))
        for a, c in zip(cells.along_mm, cells.across_mm, strict=True)
    ]
    for place in where:
        inside = np.array([one == place for one in words])
        if not inside.any():
            continue
        proud = np.where(inside, over_the_ring_um(body), -np.inf)
        top = int(proud.argmax())
        if proud[top] <= FELT_UM:
            continue
        apart = np.hypot(
            cells.along_mm - cells.along_mm[top], cells.across_mm - cells.across_mm[top]
        )
        down = max(float(proud[top]) - float(rng.normal(0, FILED_UM)), 0.0)
        body.height_um = body.height_um - down * np.exp(-0.5 * (apart / REACH_MM) ** 2)
        filed = True
    return filed
