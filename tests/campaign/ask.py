"""The ways to ask for advice: the function, the command, and a check alone."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from lapping.answer import Answer
from lapping.cli.advice import advise_face
from lapping.from_files import check_sets
from lapping.log.exchange import import_folder
from lapping.log.opening import Log, open_log
from lapping.log.planes import the_face
from lapping.log.sets import as_readings, sets_of
from tests.campaign.answers import Advisor


def by_function() -> Advisor:
    """Ask by the function that the command calls, which saves starting it."""

    def ask(folder: Path, face: str) -> Mapping[str, Any]:
        said = advise_face(str(folder), face, None, as_json=True)
        found: dict[str, Any] = json.loads(said)
        return found

    return ask


def by_command() -> Advisor:
    """Ask with the command, as another program would."""

    def ask(folder: Path, face: str) -> Mapping[str, Any]:
        said = subprocess.run(
            [
                sys.executable,
                "-m",
                "lapping",
                "advice",
                str(folder),
                "--json",
                "--face",
                face,
            ],
            capture_output=True,
            text=True,
            check=False,
        )
        if said.returncode:
            message = f"lapping advice: {said.returncode}, {said.stderr}"
            raise RuntimeError(message)
        found: dict[str, Any] = json.loads(said.stdout)
        return found

    return ask


def by_check() -> Advisor:
    """Ask nobody: lap on until the check of the last readings says that it works.

    What a person would do who has a measuring program and no advice.
    """

    def ask(folder: Path, face: str) -> Mapping[str, Any]:
        kept = folder.with_suffix(".lapping")
        kept.unlink(missing_ok=True)
        with open_log(kept) as log:
            import_folder(log, folder)
            done = _works(log, face)
        return {
            "action": "done" if done else "keep lapping", "why": "by the check alone",
            "where": [], "strokes": None, "grit": None, "doubt": "", "signs": [],
            "warnings": [],
        }  # fmt: skip

    return ask


def _works(log: Log, face: str) -> bool:
    entry = the_face(log, face)
    sets = [one for one in sets_of(log, entry) if one.fact.method != "square"]
    # Sticks come after an edge and say nothing without it.
    last = sets[-2:] if sets[-1].fact.method == "winding" else sets[-1:]
    found = check_sets([as_readings(log, one) for one in last])
    return isinstance(found, Answer) and found.working_verdict == "flat"


ADVISORS: dict[str, Callable[[], Advisor]] = {
    "lapping": by_function,
    "command": by_command,
    "check": by_check,
}
