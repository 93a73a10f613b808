"""The folder of tables that an outside program would write, kept by hand.

Only the columns that are documented are written, and no code of the log is used.
"""

from __future__ import annotations

import csv
import json
from datetime import datetime, timedelta
from pathlib import Path

from tests.campaign.dial import Readings

TABLES: dict[str, tuple[str, ...]] = {
    "session": ("id", "started_at"),
    "entry": (
        *("id", "root", "replaces", "kind", "taken_back", "session", "entered_at"),
    ),
    "plane": ("id", "name", "kind", "metal", "bed_deg", "front_deg", "mouth_mm",
              "weight_g"),
    "face": ("id", "plane", "name", "settings", "length_mm", "width_mm", "target",
             "zones"),
    "gauge": ("id", "name", "method", "settings"),
    "lap": ("id", "name", "kind", "flatness", "flatness_um", "face"),
    "paper": ("id", "name", "grade", "sheet"),
    "strokes": ("id", "face", "grade", "count", "load", "load_kg", "hand", "lap",
                "fresh_sheet", "turned", "iron_in"),
    "reading_set": ("id", "face", "gauge", "method", "headers", "columns", "places",
                    "delimiter"),
    "reading": ("id", "set", "line", "cells"),
    "set_mark": ("id", "set", "state"),
    "note": ("id", "about", "text"),
    "photo": ("id", "face", "sha256", "ending", "size"),
}  # fmt: skip
PAUSE = timedelta(hours=6)
"""A pause as long as this begins a new session, as documented."""
Settings = tuple[tuple[str, str], ...]


class Book:
    """What a person has written down so far, as rows of tables."""

    def __init__(self, now: datetime) -> None:
        self.rows: dict[str, list[dict[str, object]]] = {name: [] for name in TABLES}
        self.now = now
        self._last: datetime | None = None
        self._session = 0

    def wait(self, minutes: float) -> None:
        """Let time pass."""
        self.now += timedelta(minutes=minutes)

    def keep(self, table: str, instead_of: int | None = None, **facts: object) -> int:
        """Write down one fact at the time it is; give its number."""
        if self._last is None or self.now - self._last >= PAUSE:
            self._session += 1
            self.rows["session"].append(
                {"id": self._session, "started_at": self._stamp()}
            )
        self._last = self.now
        number = len(self.rows["entry"]) + 1
        root: object = number
        if instead_of is not None:
            instead_of = self._latest(instead_of)
            root = self.root(instead_of)
        self.rows["entry"].append(
            {
                "id": number,
                "root": root,
                "replaces": instead_of,
                "kind": table,
                "taken_back": 0,
                "session": self._session,
                "entered_at": self._stamp(),
            }
        )
        self.rows[table].append({"id": number, **facts})
        return number

    def root(self, number: int) -> int:
        """Give the entry that this one corrects in the end, or itself."""
        found = self.rows["entry"][number - 1]["root"]
        assert isinstance(found, int)
        return found

    def keep_readings(
        self, face: int, outline: Settings, taken: Readings, target: str | None
    ) -> int:
        """Write down a set and every reading of it, each when it was read."""
        said = {"method": taken.method, **dict(outline)}
        if target is not None:
            said["target"] = target
        said |= dict(taken.headers)
        number = self.keep(
            "reading_set",
            face=face,
            method=taken.method,
            headers=json.dumps(
                [[k, v, at] for at, (k, v) in enumerate(said.items(), start=1)]
            ),
            columns=json.dumps(taken.columns),
            places="[]",
            delimiter=",",
        )
        for line, (row, minutes) in enumerate(
            zip(taken.rows, taken.row_minutes, strict=True), start=1
        ):
            self.wait(minutes)
            self.keep(
                "reading",
                set=number,
                line=line,
                cells=json.dumps(row),
            )
        self.keep("set_mark", set=number, state="finished")
        return number

    def write(self, folder: Path) -> None:
        """Write every table, and what the folder is."""
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "photos").mkdir(exist_ok=True)
        for name, columns in TABLES.items():
            with (folder / f"{name}.csv").open("w", newline="", encoding="utf-8") as to:
                writer = csv.DictWriter(to, columns)
                writer.writeheader()
                writer.writerows(self.rows[name])
        said = {"what": "log of lapping", "version": 2}
        (folder / "log.json").write_text(json.dumps(said), encoding="utf-8")

    def _latest(self, number: int) -> int:
        return max(
            int(str(row["id"]))
            for row in self.rows["entry"]
            if row["root"] == self.root(number)
        )

    def _stamp(self) -> str:
        return self.now.isoformat(timespec="seconds")
