"""What every test is given."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from lapping.cli import main
from tests.said import Run, Said


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say loudly what was left out because something is not installed."""
    left_out = {
        str(report.longrepr[2])
        for report in terminalreporter.stats.get("skipped", [])
        if isinstance(report.longrepr, tuple)
    }
    for sentence in sorted(left_out):
        terminalreporter.write_line(f"!!! {sentence}", red=True, bold=True)


@pytest.fixture(autouse=True)
def a_log_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep every test away from the log of whoever runs it."""
    monkeypatch.setenv("LAPPING_LOG", str(tmp_path / "bench.lapping"))


@pytest.fixture
def warned(pytestconfig: pytest.Config) -> list[str]:
    """Give what tells another Python to fail at the warnings at which this run does."""
    let_pass = pytestconfig.getoption("pythonwarnings") or []
    return [f"-W{words}" for words in ("error", *let_pass)]


@pytest.fixture
def run(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> Run:
    """Run the command line in this process, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "1")

    def runs(*words: str) -> Said:
        monkeypatch.setattr(sys, "argv", ["lapping", *words])
        with pytest.raises(SystemExit) as left:
            main()
        said = capsys.readouterr()
        code = left.value.code
        return Said(0 if code is None else int(code), said.out, said.err)

    return runs
