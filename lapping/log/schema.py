"""The tables of the log, as the list of steps that every log has been through.

An entry is numbered in the order it was made. Its content stands in the table of its
kind under the same number; an entry without content says that what it replaces is
taken back. Rows are never changed or deleted, and triggers hold everybody to it.
"""

from __future__ import annotations

APPLICATION_ID = 0x4C61704C
"""Says to any program that reads SQLite files whose file this is ("LapL")."""

KINDS = (
    *("plane", "face", "gauge", "lap", "paper", "strokes", "reading_set", "reading"),
    *("set_mark", "note", "photo"),
)
_FIRST = (
    """CREATE TABLE session (
    id INTEGER PRIMARY KEY,
    started_at TEXT NOT NULL CHECK (started_at <> '')
) STRICT""",
    f"""CREATE TABLE entry (
    id INTEGER PRIMARY KEY,
    root INTEGER NOT NULL REFERENCES entry (id),
    replaces INTEGER REFERENCES entry (id) CHECK (replaces < id),
    kind TEXT NOT NULL CHECK (kind IN {KINDS!r}),
    taken_back INTEGER NOT NULL CHECK (taken_back IN (0, 1)),
    session INTEGER NOT NULL REFERENCES session (id),
    entered_at TEXT NOT NULL CHECK (entered_at <> ''),
    CHECK ((replaces IS NULL) = (root = id)),
    CHECK (taken_back = 0 OR replaces IS NOT NULL)
) STRICT""",
    # Partial, because nearly all entries replace nothing and need not be listed.
    "CREATE UNIQUE INDEX entry_replaces ON entry (replaces) WHERE replaces NOT NULL",
    "CREATE INDEX entry_root ON entry (root) WHERE replaces NOT NULL",
    """CREATE TABLE plane (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    kind TEXT NOT NULL CHECK (kind <> ''),
    metal TEXT NOT NULL CHECK (metal <> ''),
    bed_deg REAL CHECK (bed_deg > 0),
    front_deg REAL CHECK (front_deg > 0),
    mouth_mm REAL CHECK (mouth_mm > 0),
    note TEXT CHECK (note <> '')
) STRICT""",
    """CREATE TABLE face (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    plane INTEGER REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    settings TEXT NOT NULL CHECK (json_valid(settings)),
    length_mm REAL NOT NULL CHECK (length_mm > 0),
    width_mm REAL NOT NULL CHECK (width_mm > 0),
    target TEXT CHECK (target <> ''),
    target_reason TEXT CHECK (target_reason <> ''),
    zones TEXT NOT NULL CHECK (json_valid(zones))
) STRICT""",
    "CREATE INDEX face_plane ON face (plane)",
    """CREATE TABLE gauge (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    method TEXT NOT NULL CHECK (method <> ''),
    settings TEXT NOT NULL CHECK (json_valid(settings))
) STRICT""",
    """CREATE TABLE lap (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    kind TEXT NOT NULL CHECK (kind <> ''),
    flatness TEXT CHECK (flatness <> ''),
    flatness_um REAL CHECK (flatness_um > 0),
    face INTEGER REFERENCES entry (id),
    note TEXT CHECK (note <> '')
) STRICT""",
    """CREATE TABLE paper (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    grade TEXT NOT NULL CHECK (grade <> ''),
    sheet TEXT CHECK (sheet <> ''),
    note TEXT CHECK (note <> '')
) STRICT""",
    """CREATE TABLE strokes (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    face INTEGER NOT NULL REFERENCES entry (id),
    grade TEXT NOT NULL CHECK (grade <> ''),
    count INTEGER CHECK (count > 0),
    minutes REAL CHECK (minutes > 0),
    load TEXT CHECK (load <> ''),
    load_kg REAL CHECK (load_kg > 0),
    lubricant TEXT CHECK (lubricant <> ''),
    direction TEXT CHECK (direction <> ''),
    hand TEXT CHECK (hand <> ''),
    lap INTEGER REFERENCES entry (id),
    fresh_sheet INTEGER NOT NULL CHECK (fresh_sheet IN (0, 1)),
    turned INTEGER NOT NULL CHECK (turned IN (0, 1)),
    iron_in INTEGER NOT NULL CHECK (iron_in IN (0, 1)),
    note TEXT CHECK (note <> ''),
    CHECK ((count IS NULL) <> (minutes IS NULL))
) STRICT""",
    "CREATE INDEX strokes_face ON strokes (face)",
    """CREATE TABLE reading_set (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    face INTEGER NOT NULL REFERENCES entry (id),
    gauge INTEGER REFERENCES entry (id),
    method TEXT NOT NULL CHECK (method <> ''),
    headers TEXT NOT NULL CHECK (json_valid(headers)),
    columns TEXT NOT NULL CHECK (json_valid(columns)),
    places TEXT NOT NULL CHECK (json_valid(places)),
    delimiter TEXT NOT NULL CHECK (delimiter IN (',', ';', char(9))),
    units TEXT CHECK (units <> ''),
    source TEXT CHECK (source <> ''),
    original TEXT CHECK (original <> '')
) STRICT""",
    "CREATE INDEX reading_set_face ON reading_set (face)",
    """CREATE TABLE reading (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    "set" INTEGER NOT NULL REFERENCES entry (id),
    line INTEGER NOT NULL CHECK (line > 0),
    cells TEXT CHECK (cells IS NULL OR json_valid(cells)),
    understood TEXT CHECK (understood IS NULL OR json_valid(understood)),
    place INTEGER CHECK (place >= 0),
    note TEXT CHECK (note <> ''),
    CHECK ((cells IS NULL) = (understood IS NULL)),
    CHECK (cells NOT NULL OR place NOT NULL)
) STRICT""",
    'CREATE INDEX reading_in_set ON reading ("set", line)',
    """CREATE TABLE set_mark (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    "set" INTEGER NOT NULL REFERENCES entry (id),
    state TEXT NOT NULL CHECK (state IN ('finished', 'set aside', 'taken up again'))
) STRICT""",
    'CREATE INDEX set_mark_set ON set_mark ("set")',
    """CREATE TABLE note (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    about INTEGER NOT NULL REFERENCES entry (id),
    text TEXT NOT NULL CHECK (text <> '')
) STRICT""",
    "CREATE INDEX note_about ON note (about)",
    """CREATE TABLE photo (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    face INTEGER NOT NULL REFERENCES entry (id),
    sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
    ending TEXT NOT NULL,
    size INTEGER NOT NULL CHECK (size > 0),
    note TEXT CHECK (note <> '')
) STRICT""",
    "CREATE INDEX photo_face ON photo (face)",
    *(
        f"CREATE TRIGGER {table}_no_{what} BEFORE {what} ON {table} BEGIN "
        "SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END"
        for table in ("session", "entry", *KINDS)
        for what in ("update", "delete")
    ),
)
# A plane's own weight is part of the load on the paper, and was not asked for at first.
_SECOND = ("ALTER TABLE plane ADD COLUMN weight_g REAL CHECK (weight_g > 0)",)
# Photos were kept before anything was read from them.
_THIRD = (
    "ALTER TABLE photo ADD COLUMN shows TEXT "
    "CHECK (shows IN ('after', 'before', 'scratches'))",
    "ALTER TABLE photo ADD COLUMN before INTEGER REFERENCES entry (id)",
    "ALTER TABLE photo ADD COLUMN corners TEXT CHECK (corners <> '')",
    "ALTER TABLE photo ADD COLUMN toe TEXT "
    "CHECK (toe IN ('left', 'right', 'up', 'down'))",
    "ALTER TABLE photo ADD COLUMN previous_direction TEXT "
    "CHECK (previous_direction <> '')",
    "ALTER TABLE photo ADD COLUMN this_direction TEXT CHECK (this_direction <> '')",
)
# What a phone sends again, not knowing whether it came through, must not count twice.
_FOURTH = (
    "ALTER TABLE entry ADD COLUMN sent_as TEXT CHECK (sent_as <> '')",
    "CREATE UNIQUE INDEX entry_sent_as ON entry (sent_as) WHERE sent_as NOT NULL",
)
MIGRATIONS: tuple[tuple[str, ...], ...] = (_FIRST, _SECOND, _THIRD, _FOURTH)
VERSION = len(MIGRATIONS)
