"""Killed at random moments, a few times; `python -m tests.kill_study` does 240."""

from __future__ import annotations

from pathlib import Path

from tests.kill_study import study


def test_nothing_acknowledged_is_lost_to_a_kill(tmp_path: Path) -> None:
    found = study(10, 7, tmp_path)
    assert (found.lost, found.half_imports, found.damaged) == (0, 0, 0)
    assert found.acknowledged > 5
    assert found.kills == 10
