"""What a row of cells means, as the log keeps it beside what was typed."""

from __future__ import annotations

import json
from collections.abc import Sequence

from tests.campaign.dial import Row


def understood(method: str, row: Row, line: int, no_light_um: float = 5.0) -> str:
    """Give the JSON for one row; readings in µm, slopes in µm per metre, sticks mm."""
    said: dict[str, object] = {"method": method}
    if method == "dial":
        said |= _numbers(("along_mm", "across_mm", "value_um"), row)
        said["entered_as"] = row[2]
    elif method == "feeler":
        said |= _numbers(("along_mm", "across_mm"), row)
        said |= _leaves(row[2], row[3]) | {"seat": "1"}
    elif method == "straightedge":
        said |= {"line_name": row[0], **_numbers(("along_mm", "across_mm"), row[1:3])}
        said |= {"gap_um": None, "seat": "1"}
        if row[3] == "no light":
            said |= {"goes_um": 0.0, "stops_um": no_light_um, "entered_as": row[3]}
            said |= {"goes_leaves": 0, "stops_leaves": 0}
        else:
            said |= _leaves(row[3], row[4])
    elif method == "level":
        names = ("along_1_mm", "across_1_mm", "along_2_mm", "across_2_mm")
        said |= {"line_name": row[0], **_numbers(names, row[1:5])}
        said |= {"slope_um_per_m": float(row[5]), "entered_as": row[5]}
    elif method == "winding":
        said |= _numbers(("along_1_mm", "along_2_mm", "stick_mm"), row)
        said |= {"gap_um": 1000 * float(row[3]), "high": row[4]}
        said["entered_as"] = (
            f"{row[0]} to {row[1]}, stick {row[2]}, gap {row[3]}, high {row[4]}"
        )
    else:
        said |= {"along_mm": float(row[0]), "gap_um": float(row[1]), "side": row[2]}
        said["entered_as"] = f"gap {row[1]}, side {row[2]}"
    return json.dumps(said | {"line": line})


def _numbers(names: Sequence[str], row: Sequence[str]) -> dict[str, float]:
    return {name: float(cell) for name, cell in zip(names, row, strict=False)}


def _leaves(goes: str, stops: str) -> dict[str, object]:
    sizes = [float(part) for part in goes.split("+")]
    other = [float(part) for part in stops.split("+")] if stops else []
    return {
        "goes_um": sum(sizes),
        "stops_um": sum(other) if other else None,
        "goes_leaves": 0 if goes == "0" else len(sizes),
        "stops_leaves": len(other),
        "entered_as": f"goes {goes}" + (f", stops {stops}" if stops else ""),
    }
