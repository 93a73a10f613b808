"""Advice as JSON with stable keys: what other programs read."""

from __future__ import annotations

from typing import Any

from lapping.advice.advised import Advice


def advice_to_json(advice: Advice) -> dict[str, Any]:
    """Give an advice as plain lists and numbers; ``signs`` by their names only."""
    return {
        "action": advice.action,
        "why": advice.why,
        "where": list(advice.where),
        "strokes": None if advice.strokes is None else list(advice.strokes),
        "grit": None if advice.grit is None else advice.grit.name,
        "doubt": advice.doubt,
        "signs": list(dict.fromkeys(sign.name for sign in advice.signs)),
        "warnings": list(advice.warnings),
    }
