"""What other entries stand on, and cannot be taken back from under them."""

from __future__ import annotations

import sqlite3

from lapping.errors import BadInput
from lapping.log.opening import Log

_STANDS_ON = {
    "plane": (("face", "plane"),),
    "face": (("strokes", "face"), ("reading_set", "face"), ("photo", "face")),
}


def refuse_if_stood_on(log: Log, entry: sqlite3.Row) -> None:
    """Refuse to take back what would leave other entries without a name to find."""
    for table, column in _STANDS_ON.get(entry["kind"], ()):
        (count,) = log.db.execute(
            f"SELECT count(*) FROM {table} AS other WHERE {column} = ? AND NOT EXISTS "
            "(SELECT 1 FROM entry WHERE replaces = other.id)",
            (entry["root"],),
        ).fetchone()
        if count:
            message = (
                f"entry {entry['id']} is a {entry['kind']} that other entries belong "
                "to, and they could not be found without it; take those back first, "
                "or give it another name"
            )
            raise BadInput(message)
