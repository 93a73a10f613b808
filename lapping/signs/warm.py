"""Signs that the plane was still warm when it was read."""

from __future__ import annotations

from collections.abc import Sequence

from lapping.removal.changes import change
from lapping.removal.glance import Glance
from lapping.removal.heat import warmth_of
from lapping.removal.job import Job
from lapping.signs.sign import Sign

MATTERS_SHARE, MATTERS_U = 1 / 20, 2.0
"""A bow of less than this share of the target, or than so many u of the bow as it was
read, is no trouble worth a sign."""
SURE = 3.0


def warm_signs(job: Job, glances: Sequence[Glance], target_um: float) -> list[Sign]:
    """Say that the last look was warm, or that a crown went away as the face cooled."""
    found = []
    last, unit = glances[-1], job.shown_in
    warm = warmth_of(job, last.look, glances)
    least = max(MATTERS_SHARE * target_um, MATTERS_U * float(last.form_u_um[0]))
    if warm is not None and warm.likely_um >= least:
        found.append(
            Sign(
                name="read warm",
                says=(
                    f"{warm.says}; heat may have added a crown of about "
                    f"{unit.said(warm.likely_um)}, {unit.bare(warm.most_um)} at most"
                ),
                um=warm.likely_um,
            )
        )
    elif len(glances) > 1:
        before = glances[-2]
        untouched = not job.runs_between(before.look.number, last.look.number)
        lapped = job.runs_between(0, before.look.number)
        moved = change(before, last) if untouched and lapped else None
        if moved is not None and moved.form_um[0] < -SURE * moved.form_u_um[0]:
            fell = -float(moved.form_um[0])
            found.append(
                Sign(
                    name="read warm",
                    says=(
                        f"a crown of {unit.said(fell)} went away without a stroke "
                        "between two readings: the first was read warm"
                    ),
                    um=fell,
                )
            )
    return found
