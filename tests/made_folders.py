"""A folder of tables as another program would write it: no more than it must."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

Pairs = Sequence[tuple[str, str]]
SOLE = (
    *(("face", "sole"), ("length", "250 mm"), ("width", "60 mm")),
    ("mouth", "80 mm to 86 mm, across 5 mm to 55 mm"),
)
SLAB = (("face", "lap"), ("length", "450 mm"), ("width", "300 mm"))
SIDE = (
    *(("face", "side"), ("length", "250 mm"), ("width", "50 mm")),
    ("left_edge", "sole"),
)
DIAL = (("unit", "um"), ("sense", "high-positive"), ("repeatability", "2 um"))


@dataclass(slots=True, kw_only=True)
class HandMade:
    """Rows as they are written down, each entry at its time."""

    now: datetime = datetime(2031, 3, 1, 9, 0, tzinfo=UTC)
    tables: dict[str, list[dict[str, object]]] = field(default_factory=dict)
    last: int = 0

    def wait(self, minutes: float) -> None:
        self.now += timedelta(minutes=minutes)

    def enter(self, table: str, **facts: object) -> int:
        self.last += 1
        self.tables.setdefault("entry", []).append(
            {"id": self.last, "entered_at": self.now.isoformat()}
        )
        self.tables.setdefault(table, []).append({"id": self.last, **facts})
        return self.last

    def face(self, name: str, lines: Pairs, plane: int | None = None) -> int:
        sizes = {key: value.split()[0] for key, value in lines}
        return self.enter(
            "face",
            plane=plane,
            name=name,
            settings=json.dumps(lines),
            length_mm=sizes["length"],
            width_mm=sizes["width"],
        )

    def read(
        self,
        face: int,
        lines: Pairs,
        rows: Iterable[Sequence[object]],
        *,
        method: str = "dial",
        gauge: Pairs = DIAL,
        columns: Sequence[str] = ("along", "across", "reading"),
    ) -> int:
        said = [("method", method), *lines, *gauge]
        number = self.enter(
            "reading_set",
            face=face,
            method=method,
            headers=json.dumps([[k, v, i] for i, (k, v) in enumerate(said, 1)]),
            columns=json.dumps(columns),
        )
        for row in rows:
            self.enter("reading", set=number, cells=json.dumps([str(c) for c in row]))
        self.enter("set_mark", set=number, state="finished")
        return number

    def write(self, folder: Path) -> Path:
        folder.mkdir()
        (folder / "log.json").write_text('{"what": "log of lapping", "version": 2}')
        for table, rows in self.tables.items():
            columns = list(dict.fromkeys(key for row in rows for key in row))
            with (folder / f"{table}.csv").open("w", newline="") as to:
                writer = csv.DictWriter(to, columns)
                writer.writeheader()
                writer.writerows(rows)
        return folder
