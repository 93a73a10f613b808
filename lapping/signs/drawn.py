"""Is the face drawn to a shape of its own by the lap or the hand?"""

from __future__ import annotations

import numpy as np

from lapping.removal.dose_seen import DRAWN_UM
from lapping.removal.job import Lap
from lapping.removal.rates import Beliefs
from lapping.signs.form import Seen, lap_or_hand
from lapping.signs.sign import Sign

FEWEST_LOOKS = 3
BELOW = 2.0
"""A face that is less than that by so many u is past being drawn to it."""
DRAWN_SHARE, DRAWN_SURE = 0.25, 0.9
"""Lap and hand draw the face to a shape of this share of the target and more, when the
looks make that so sure."""


def drawn_signs(
    seen: Seen, held: Beliefs, lap: Lap | None, target_um: float
) -> list[Sign]:
    """Say to which bow or twist lap and hand draw the face, once the stages show it.

    A face that comes down to a shape and stays there never grows, and is never done.
    """
    if len(seen.glances) < FEWEST_LOOKS:
        return []
    weight = held.weight
    last = seen.glances[-1]
    form = last.form_um - [seen.heat_um(last), 0.0, 0.0]
    for part in range(3):
        way = float(np.sign(form[part]))
        drawn = way * DRAWN_UM[:, part]
        large = drawn >= DRAWN_SHARE * target_um
        likely = float(weight[large].sum())
        if likely < DRAWN_SURE or abs(form[part]) < DRAWN_SHARE * target_um / 2:
            continue
        um = float(weight[large] @ drawn[large]) / likely
        sizes = way * np.array([one.form_um[part] for one in seen.glances])
        if sizes.max() > um > sizes[-1] + BELOW * float(last.form_u_um[part]):
            continue  # it has come down below that already
        what = "twist" if part == 2 else f"{'crown' if way > 0 else 'hollow'}"
        found = [
            Sign(
                name="shape stays",
                says=(
                    f"all looks together say that the face is drawn to a {what} of "
                    f"about {last.look.shown_in.said(um)}, and will stay there: the "
                    "lap's own shape or a rocking hand"
                ),
                um=um,
            )
        ]
        return found + lap_or_hand(seen, part, way * um, lap)
    return []
