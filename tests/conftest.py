"""What every test is given."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def a_log_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep every test away from the log of whoever runs it."""
    monkeypatch.setenv("LAPPING_LOG", str(tmp_path / "bench.lapping"))
