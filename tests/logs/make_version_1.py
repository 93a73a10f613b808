"""Write ``version_1.sql``: an invented log as the first schema kept it.

Run once, when there was no other; it is here to say where the file came from. The file
must not be made anew with a later schema, so this writes with the first one alone.
"""

from __future__ import annotations

import sqlite3
from pathlib import Path

from lapping.log.schema import APPLICATION_ID, MIGRATIONS

AT = "2030-01-05T18:30:00+00:00"
SOLE = '[["face", "sole"], ["length", "250mm"], ["width", "60mm"]]'
ROWS = (("5", "5", "0"), ("125", "30", "-12"), ("245", "55", "4"), ("5", "55", "2"))
TARGET = Path(__file__).with_name("version_1.sql")


def main() -> None:
    """Write the file."""
    db = sqlite3.connect(":memory:", isolation_level=None)
    for step in MIGRATIONS[0]:
        db.execute(step)
    db.execute("INSERT INTO session VALUES (1, ?)", (AT,))
    kinds = ["plane", "face", "strokes", "reading_set", *["reading"] * 4, "set_mark"]
    for number, kind in enumerate(kinds, start=1):
        db.execute(
            "INSERT INTO entry VALUES (?, ?, NULL, ?, 0, 1, ?)",
            (number, number, kind, AT),
        )
    db.execute(
        "INSERT INTO plane VALUES (1, 'Bramble', 'bench plane', 'cast iron', 45.0, "
        "NULL, NULL, NULL)"
    )
    db.execute(
        f"INSERT INTO face VALUES (2, 1, 'sole', '{SOLE}', 250.0, 60.0, NULL, NULL, "
        "'[]')"
    )
    db.execute(
        "INSERT INTO strokes VALUES (3, 2, 'P240', 100, NULL, 'light', NULL, 'dry', "
        "NULL, NULL, NULL, 1, 0, 1, NULL)"
    )
    db.execute(
        "INSERT INTO reading_set VALUES (4, 2, NULL, 'dial', "
        '\'[["method", "dial", 1], ["face", "sole", 2], ["length", "250mm", 3], '
        '["width", "60mm", 4], ["unit", "um", 5], ["sense", "high-positive", 6]]\', '
        "'[\"along\", \"across\", \"reading\"]', '[]', ',', NULL, NULL, NULL)"
    )
    for line, (along, across, typed) in enumerate(ROWS, start=1):
        db.execute(
            "INSERT INTO reading VALUES (?, 4, ?, ?, ?, NULL, NULL)",
            (
                4 + line,
                line,
                f'["{along}", "{across}", "{typed}"]',
                f'{{"method": "dial", "along_mm": {along}.0, "across_mm": {across}.0, '
                f'"value_um": {typed}.0, "entered_as": "{typed}", "line": {line}}}',
            ),
        )
    db.execute("INSERT INTO set_mark VALUES (9, 4, 'finished')")
    marks = (f"application_id = {APPLICATION_ID}", "user_version = 1")
    lines = [*(f"PRAGMA {mark};" for mark in marks), *db.iterdump()]
    TARGET.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
