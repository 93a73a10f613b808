"""How heat bends a face: a sole warmer than its top reads crown and cools hollow.

The faces of a body of depth h whose sole is warmer by ΔT differ in length by α·ΔT·L,
so the body bends to a bow of α·ΔT·L²/(8·h). A body that is warm all through grows
without bending. The cheeks of a plane stiffen it, so that the depth that counts is
somewhere between that of the sole and of the whole body: an order of magnitude.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lapping.errors import BadInput
from lapping.units import UM_PER_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Metal:
    """A metal of plane bodies: its thermal expansion and its hardness.

    ``alpha_per_k`` is in units per unit and kelvin. ``hardness_hb`` is the range of
    Brinell hardness of its usual sorts.
    """

    name: str
    alpha_per_k: float
    hardness_hb: tuple[float, float]


METALS: Mapping[str, Metal] = {
    name: Metal(name=name, alpha_per_k=alpha, hardness_hb=hardness)
    for name, alpha, hardness in (
        ("cast iron", 10.8e-6, (180.0, 220.0)),
        ("ductile iron", 11.2e-6, (140.0, 190.0)),
        ("steel", 11.5e-6, (120.0, 150.0)),
        ("brass", 20.0e-6, (55.0, 100.0)),
        ("bronze", 18.0e-6, (55.0, 100.0)),
        ("aluminium", 23.0e-6, (60.0, 95.0)),
    )
}
"""Expansion: maker's and handbook tables seen; steel as for gauge blocks, aluminium
and brass in the middle of their alloys. Hardness from memory; steel is mild steel."""
_ALSO = {
    "iron": "cast iron", "grey cast iron": "cast iron", "gray cast iron": "cast iron",
    "grey iron": "cast iron", "gray iron": "cast iron", "mild steel": "steel",
    "carbon steel": "steel", "aluminum": "aluminium", "gunmetal": "bronze",
    "nodular iron": "ductile iron", "ductile cast iron": "ductile iron",
    "malleable iron": "ductile iron",
}  # fmt: skip


def metal_named(text: str) -> Metal:
    """Give the metal of that name, or raise BadInput with the names known."""
    name = " ".join(text.lower().split())
    name = _ALSO.get(name, name)
    if name not in METALS:
        message = f"'{text}' is no metal known here; write {', '.join(METALS)}"
        raise BadInput(message)
    return METALS[name]


def thermal_bow_um(
    metal: Metal, *, warmer_k: float, length_mm: float, depth_mm: float
) -> float:
    """Give the bow of a body whose face is warmer than its other side, in µm.

    Crown is positive. ``depth_mm`` is the distance between the two sides. Grey iron,
    250 mm long and 50 mm deep, bows by 1.7 µm for one kelvin.
    """
    if depth_mm <= 0:
        message = f"'depth_mm' must be more than 0 (got {depth_mm:g})"
        raise ValueError(message)
    bow_mm = metal.alpha_per_k * warmer_k * length_mm**2 / (8 * depth_mm)
    return bow_mm * UM_PER_MM
