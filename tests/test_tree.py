"""The top of the tree holds what it is meant to hold and nothing left lying about."""

from __future__ import annotations

import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "lapping",
    "tests",
    "sample_measurements",
    "docs",
}


def names_at_the_top() -> set[str]:
    """Give the tracked names at the top; in an unpacked sdist, all that lies there."""
    if (ROOT / ".git").exists():
        listed = subprocess.run(
            ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
        )
        return {line.partition("/")[0] for line in listed.stdout.splitlines()}
    return {path.name for path in ROOT.iterdir()} - {"PKG-INFO"}


def test_nothing_lies_about_at_the_top() -> None:
    shown = {name for name in names_at_the_top() if not name.startswith(".")}
    assert shown == TOP
