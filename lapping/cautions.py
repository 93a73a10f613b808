"""Short cautions for the bench, each with where it comes from.

They are no safety rules: local codes and the sheets of the makers of paper, solvent
and machine come first, and this program is no safety device. Sources marked *seen*
were read, *memory* were not; common practice has no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Moment = Literal["start", "plan", "report"]
MOMENTS: tuple[Moment, ...] = ("start", "plan", "report")
FIRST = (
    "Your local codes and the makers' sheets for paper, solvent and machine come "
    "before these."
)
FIRST_SHORT = "Local codes and makers' sheets come first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """One caution: its topic, its text, when to say it, and its source.

    ``only_if`` is the circumstance it is for, empty if it is for everybody. ``short``
    is what a plan says of it in passing, where the whole of it is not said.
    """

    topic: str
    text: str
    when: tuple[Moment, ...]
    source: str
    only_if: str = ""
    short: str = ""


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        topic="iron",
        text="Draw the iron back clear of the sole, or take it out and cover its "
        "edge: the same for rubbing and for reading.",
        when=("start", "plan", "report"),
        source="common practice, no source",
        short="Iron drawn back, or out and its edge covered.",
    ),
    Caution(
        topic="machine table",
        text="A machine's table as the lap: unplug the machine and lower or remove "
        "the cutter first.",
        when=("start", "plan", "report"),
        source="29 CFR 1910.147, control of hazardous energy (memory)",
        only_if="machine table",
        short="Unplug the machine whose table is the lap.",
    ),
    Caution(
        topic="solvent",
        text="Spirits: open window, no flame or spark, nitrile gloves; on a warm day "
        "their vapour can catch fire.",
        when=("start", "plan", "report"),
        source="NIOSH and ICSC sheets on Stoddard solvent, CAS 8052-41-3: explosive "
        "mixtures possible above 21 °C, flash point 39 to 43 °C (seen)",
        only_if="solvent",
        short="Spirits: vapour can catch fire; open window, no flame or spark, gloves.",
    ),
    Caution(
        topic="dust",
        text="Lap wet and wipe the swarf off, never blow it; dry, wear a respirator "
        "for fine dust and eye protection.",
        when=("start", "plan", "report"),
        source="OSHA limits for dust not otherwise regulated, 15 mg/m³ in all and 5 "
        "respirable (seen); wet lapping against dust: common practice, no source",
        short="Lap wet, wipe swarf off, never blow it; dry, wear a respirator.",
    ),
    Caution(
        topic="composite dust",
        text="Totes and sides of wood, resin or fibre make dust of another kind: do "
        "not sand them on the lap; keep such dust out of your lungs.",
        when=("start",),
        source="common practice, no source",
        only_if="composite",
    ),
    Caution(
        topic="aluminium",
        text="Keep aluminium swarf apart from iron and rust, and put no water on it "
        "if it burns.",
        when=("start", "plan", "report"),
        source="NFPA 484, combustible metals (scope seen; the advice from memory)",
        only_if="aluminium",
        short="Aluminium swarf apart from iron; no water on it if it burns.",
    ),
    Caution(
        topic="rags",
        text="Oily rags and swarf go into a closed metal can, emptied daily.",
        when=("start", "report"),
        source="29 CFR 1926.252(e), fire-resistant covered containers (seen)",
    ),
    Caution(
        topic="edges",
        text="The mouth and the rim come off the lap sharp enough to cut: ease the "
        "rim with a file before you handle it, and mind the mouth.",
        when=("plan", "report"),
        source="common practice, no source",
        short="Mouth and rim come off sharp enough to cut.",
    ),
    Caution(
        topic="heat",
        text="Rubbing warms the sole, and a warm sole reads crown: let it cool "
        "before you read it, or it cools hollow.",
        when=("start", "report"),
        source="bow α·ΔT·L²/(8·h) of a body warmer on one side (derived in warmth)",
    ),
    Caution(
        topic="stop",
        text="A plane that works need not be lapped; lapping can make it worse.",
        when=("report",),
        source="common practice, no source",
    ),
)


def cautions_for(
    moment: Moment, circumstances: Iterable[str] = ()
) -> tuple[Caution, ...]:
    """Give what to say at that moment, in order, for these circumstances.

    The circumstances known are in `circumstances_of`; one that no caution is for adds
    nothing. Say `FIRST` with them.
    """
    given = set(circumstances)
    return tuple(
        one
        for one in CAUTIONS
        if moment in one.when and (not one.only_if or one.only_if in given)
    )


def circumstances_of(
    *, metal: str = "", lubricant: str | None = None, lap_kind: str = ""
) -> tuple[str, ...]:
    """Give the circumstances that a metal, a lubricant and a lap bring with them.

    An unknown lubricant may be a spirit; ``dry`` and water are none.
    """
    found = []
    if "alumin" in metal.lower():
        found.append("aluminium")
    wet = (lubricant or "spirit").lower()
    if not any(word in wet for word in ("dry", "water", "none")):
        found.append("solvent")
    if lap_kind == "machine table":
        found.append("machine table")
    return tuple(found)
