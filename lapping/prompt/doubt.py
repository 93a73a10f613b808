"""Values to ask for twice: a slip of the hand, of the sign or of the unit.

A slip found now costs a second look at the gauge; found later it costs the session.
Asking is all that is done, since a deep dip is rare and real.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

FAR = 10.0
"""So many times the rest is asked for again."""
FEWEST, FEWEST_FOR_SIGN = 3, 4
MINUTE = 200.0
"""So many times smaller than the smallest of the rest is hardly the same unit."""
FINEST_SHARE = 0.1
"""Nobody reads between the marks of a gauge finer than this share of a step."""
_STEPS_UM = {"um": 1.0, "µm": 1.0, "μm": 1.0, "mm": 10.0, "thou": 12.7, "in": 12.7}
"""What a gauge is taken to show where nothing is said, by the unit typed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """The unit that readings are compared in: its name, size, and the gauge's step."""

    unit: str
    um: float
    step: float


def scale_of(
    unit: str | None, unit_um: Fraction | None, resolution_um: float | None
) -> Scale:
    """Give the scale of a gauge; of divisions and mixed units it is micrometres."""
    whole = unit is not None and not any(c.isdigit() for c in unit)
    size = float(unit_um) if unit_um is not None else 1.0
    step_um = resolution_um or _STEPS_UM.get((unit or "um").strip().lower(), size)
    if unit is None or not whole:
        slope = unit is not None and ("/" in unit or "arc" in unit)
        return Scale(unit="µm/m" if slope else "µm", um=1.0, step=step_um)
    return Scale(unit=unit, um=size, step=step_um / size)


def doubt(
    value: float,
    rest: Sequence[float],
    *,
    step: float,
    unit: str = "µm",
    bare: bool = True,
) -> str | None:
    """Say why a value should be looked at again, or None.

    All are in `unit`; `step` is what the gauge resolves and `rest` what was read
    before. A dial's zero may be anywhere, so distances from the rest count as well.
    `bare` says that the value was typed in the gauge's own unit.
    """
    said = f"{_short(value)} {unit}"
    finest = FINEST_SHARE * step
    if bare and abs(value / finest - round(value / finest)) > 1e-3:
        return (
            f"{said} is finer than the gauge shows ({_short(step)} {unit} steps); "
            "is the unit right?"
        )
    if len(rest) < FEWEST:
        return None
    span = _span(rest, unit)
    sizes = [abs(one) for one in rest]
    middle = median(rest)
    spread = max(abs(one - middle) for one in rest)
    if _mirrored(value, rest, step):
        return f"{said} has the other sign than all the rest ({span})"
    far_off = abs(value - middle) >= FAR * max(spread, step)
    large = abs(value) >= FAR * max(median(sizes), step)
    if far_off or (large and abs(value) > 3 * max(sizes)):
        return f"{said} is far from the rest ({span}){_guess(value, median(sizes))}"
    least = min(sizes)
    if value and least >= FAR * step and abs(value) * MINUTE < least:
        return f"{said} is tiny beside the rest ({span}); is the unit right?"
    return None


def median(values: Sequence[float]) -> float:
    """Give the middle of the values; loading statistics for it would take longer."""
    in_order, half = sorted(values), len(values) // 2
    if len(values) % 2:
        return in_order[half]
    return (in_order[half - 1] + in_order[half]) / 2


def _mirrored(value: float, rest: Sequence[float], step: float) -> bool:
    """Say whether all the rest have the other sign and this, mirrored, fits in."""
    if len(rest) < FEWEST_FOR_SIGN or abs(value) < 5 * step:
        return False
    one_sign = all(one * value < 0 for one in rest)
    return one_sign and min(rest) <= -value <= max(rest)


def _guess(value: float, usual: float) -> str:
    times = abs(value) / usual if usual else 0.0
    if 200 <= times <= 5000:
        return "; is the unit right? It is about 1000 times as much"
    if 7 <= times <= 40:
        # Ten times and 25.4 times cannot be told apart among readings that vary.
        return "; is the decimal point right, and the unit?"
    return ""


def _span(rest: Sequence[float], unit: str) -> str:
    low, high = min(rest), max(rest)
    return f"{_short(low)} to {_short(high)} {unit}"


def _short(value: float) -> str:
    return f"{value:.6g}"
