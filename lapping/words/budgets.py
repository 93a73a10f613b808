"""What lapping has cost a plane so far and will yet: mouth, body and square sides."""

from __future__ import annotations

from lapping.progress import Progress
from lapping.units import HeightUnit
from lapping.words.figures import COVERS, square_words

FINEST_MM = 0.01


def budget_words(progress: Progress, unit: HeightUnit) -> list[tuple[str, str]]:
    """Give what is known of each as a name and a phrase; nothing for what is not."""
    said = []
    known = progress.spent
    if known is not None and known.so_far_um > 0:
        rates = {one.rate.assumed for one in progress.grits}
        how = " by assumed rates" if True in rates else ""
        off = f"about {unit.said(known.so_far_um)} on average so far{how}"
        if known.to_come_um > 0:
            off += f"; about {unit.said(known.to_come_um)} to come"
        said.append(("Taken off", off))
        if known.opened_mm is not None and known.will_open_mm is not None:
            phrase = (
                f"opened by {_about(known.opened_mm)} mm, "
                f"{_about(known.will_open_mm)} more to come"
            )
            if known.mouth_mm is not None:
                phrase += f"; about {known.mouth_mm:.2f} mm wide in the end"
            said.append(("Mouth", phrase))
        if known.thickness_mm is not None:
            said.append(("Body", f"about {known.thickness_mm:.2f} mm thick in the end"))
    for side in dict.fromkeys(one.side for one in progress.squares):
        read = [one.found for one in progress.squares if one.side == side]
        first, last = read[0], read[-1]
        phrase = square_words(last, unit)
        if len(read) > 1:
            than = "more" if first.um > 0 else "less"
            size = unit.said(abs(first.um), COVERS * first.u_um)
            phrase += f"; at first {size} {than} than 90°"
        # One square errs alike every time, and what counts here is the change.
        phrase += " (± without the square's own error)"
        said.append((f"Square, {side}", phrase))
    return said


def _about(value_mm: float) -> str:
    """Write a length as finely as a mouth is read."""
    return f"about {value_mm:.2f}" if value_mm >= FINEST_MM else f"under {FINEST_MM:g}"
