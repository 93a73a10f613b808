PRAGMA application_id = 1281454156;
PRAGMA user_version = 1;
BEGIN TRANSACTION;
CREATE TABLE entry (
    id INTEGER PRIMARY KEY,
    root INTEGER NOT NULL REFERENCES entry (id),
    replaces INTEGER REFERENCES entry (id) CHECK (replaces < id),
    kind TEXT NOT NULL CHECK (kind IN ('plane', 'face', 'gauge', 'lap', 'paper', 'strokes', 'reading_set', 'reading', 'set_mark', 'note', 'photo')),
    taken_back INTEGER NOT NULL CHECK (taken_back IN (0, 1)),
    session INTEGER NOT NULL REFERENCES session (id),
    entered_at TEXT NOT NULL CHECK (entered_at <> ''),
    CHECK ((replaces IS NULL) = (root = id)),
    CHECK (taken_back = 0 OR replaces IS NOT NULL)
) STRICT;
INSERT INTO "entry" VALUES(1,1,NULL,'plane',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(2,2,NULL,'face',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(3,3,NULL,'strokes',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(4,4,NULL,'reading_set',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(5,5,NULL,'reading',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(6,6,NULL,'reading',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(7,7,NULL,'reading',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(8,8,NULL,'reading',0,1,'2030-01-05T18:30:00+00:00');
INSERT INTO "entry" VALUES(9,9,NULL,'set_mark',0,1,'2030-01-05T18:30:00+00:00');
CREATE TABLE face (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    plane INTEGER REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    settings TEXT NOT NULL CHECK (json_valid(settings)),
    length_mm REAL NOT NULL CHECK (length_mm > 0),
    width_mm REAL NOT NULL CHECK (width_mm > 0),
    target TEXT CHECK (target <> ''),
    target_reason TEXT CHECK (target_reason <> ''),
    zones TEXT NOT NULL CHECK (json_valid(zones))
) STRICT;
INSERT INTO "face" VALUES(2,1,'sole','[["face", "sole"], ["length", "250mm"], ["width", "60mm"]]',250.0,60.0,NULL,NULL,'[]');
CREATE TABLE gauge (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    method TEXT NOT NULL CHECK (method <> ''),
    settings TEXT NOT NULL CHECK (json_valid(settings))
) STRICT;
CREATE TABLE lap (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    kind TEXT NOT NULL CHECK (kind <> ''),
    flatness TEXT CHECK (flatness <> ''),
    flatness_um REAL CHECK (flatness_um > 0),
    face INTEGER REFERENCES entry (id),
    note TEXT CHECK (note <> '')
) STRICT;
CREATE TABLE note (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    about INTEGER NOT NULL REFERENCES entry (id),
    text TEXT NOT NULL CHECK (text <> '')
) STRICT;
CREATE TABLE paper (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    grade TEXT NOT NULL CHECK (grade <> ''),
    sheet TEXT CHECK (sheet <> ''),
    note TEXT CHECK (note <> '')
) STRICT;
CREATE TABLE photo (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    face INTEGER NOT NULL REFERENCES entry (id),
    sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
    ending TEXT NOT NULL,
    size INTEGER NOT NULL CHECK (size > 0),
    note TEXT CHECK (note <> '')
) STRICT;
CREATE TABLE plane (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    name TEXT NOT NULL CHECK (name <> ''),
    kind TEXT NOT NULL CHECK (kind <> ''),
    metal TEXT NOT NULL CHECK (metal <> ''),
    bed_deg REAL CHECK (bed_deg > 0),
    front_deg REAL CHECK (front_deg > 0),
    mouth_mm REAL CHECK (mouth_mm > 0),
    note TEXT CHECK (note <> '')
) STRICT;
INSERT INTO "plane" VALUES(1,'Bramble','bench plane','cast iron',45.0,NULL,NULL,NULL);
CREATE TABLE reading (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    "set" INTEGER NOT NULL REFERENCES entry (id),
    line INTEGER NOT NULL CHECK (line > 0),
    cells TEXT CHECK (cells IS NULL OR json_valid(cells)),
    understood TEXT CHECK (understood IS NULL OR json_valid(understood)),
    place INTEGER CHECK (place >= 0),
    note TEXT CHECK (note <> ''),
    CHECK ((cells IS NULL) = (understood IS NULL)),
    CHECK (cells NOT NULL OR place NOT NULL)
) STRICT;
INSERT INTO "reading" VALUES(5,4,1,'["5", "5", "0"]','{"method": "dial", "along_mm": 5.0, "across_mm": 5.0, "value_um": 0.0, "entered_as": "0", "line": 1}',NULL,NULL);
INSERT INTO "reading" VALUES(6,4,2,'["125", "30", "-12"]','{"method": "dial", "along_mm": 125.0, "across_mm": 30.0, "value_um": -12.0, "entered_as": "-12", "line": 2}',NULL,NULL);
INSERT INTO "reading" VALUES(7,4,3,'["245", "55", "4"]','{"method": "dial", "along_mm": 245.0, "across_mm": 55.0, "value_um": 4.0, "entered_as": "4", "line": 3}',NULL,NULL);
INSERT INTO "reading" VALUES(8,4,4,'["5", "55", "2"]','{"method": "dial", "along_mm": 5.0, "across_mm": 55.0, "value_um": 2.0, "entered_as": "2", "line": 4}',NULL,NULL);
CREATE TABLE reading_set (
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
) STRICT;
INSERT INTO "reading_set" VALUES(4,2,NULL,'dial','[["method", "dial", 1], ["face", "sole", 2], ["length", "250mm", 3], ["width", "60mm", 4], ["unit", "um", 5], ["sense", "high-positive", 6]]','["along", "across", "reading"]','[]',',',NULL,NULL,NULL);
CREATE TABLE session (
    id INTEGER PRIMARY KEY,
    started_at TEXT NOT NULL CHECK (started_at <> '')
) STRICT;
INSERT INTO "session" VALUES(1,'2030-01-05T18:30:00+00:00');
CREATE TABLE set_mark (
    id INTEGER PRIMARY KEY REFERENCES entry (id),
    "set" INTEGER NOT NULL REFERENCES entry (id),
    state TEXT NOT NULL CHECK (state IN ('finished', 'set aside', 'taken up again'))
) STRICT;
INSERT INTO "set_mark" VALUES(9,4,'finished');
CREATE TABLE strokes (
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
) STRICT;
INSERT INTO "strokes" VALUES(3,2,'P240',100,NULL,'light',NULL,'dry',NULL,NULL,NULL,1,0,1,NULL);
CREATE UNIQUE INDEX entry_replaces ON entry (replaces) WHERE replaces NOT NULL;
CREATE INDEX entry_root ON entry (root) WHERE replaces NOT NULL;
CREATE INDEX face_plane ON face (plane);
CREATE INDEX strokes_face ON strokes (face);
CREATE INDEX reading_set_face ON reading_set (face);
CREATE INDEX reading_in_set ON reading ("set", line);
CREATE INDEX set_mark_set ON set_mark ("set");
CREATE INDEX note_about ON note (about);
CREATE INDEX photo_face ON photo (face);
CREATE TRIGGER session_no_update BEFORE update ON session BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER session_no_delete BEFORE delete ON session BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER entry_no_update BEFORE update ON entry BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER entry_no_delete BEFORE delete ON entry BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER plane_no_update BEFORE update ON plane BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER plane_no_delete BEFORE delete ON plane BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER face_no_update BEFORE update ON face BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER face_no_delete BEFORE delete ON face BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER gauge_no_update BEFORE update ON gauge BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER gauge_no_delete BEFORE delete ON gauge BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER lap_no_update BEFORE update ON lap BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER lap_no_delete BEFORE delete ON lap BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER paper_no_update BEFORE update ON paper BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER paper_no_delete BEFORE delete ON paper BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER strokes_no_update BEFORE update ON strokes BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER strokes_no_delete BEFORE delete ON strokes BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER reading_set_no_update BEFORE update ON reading_set BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER reading_set_no_delete BEFORE delete ON reading_set BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER reading_no_update BEFORE update ON reading BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER reading_no_delete BEFORE delete ON reading BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER set_mark_no_update BEFORE update ON set_mark BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER set_mark_no_delete BEFORE delete ON set_mark BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER note_no_update BEFORE update ON note BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER note_no_delete BEFORE delete ON note BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER photo_no_update BEFORE update ON photo BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
CREATE TRIGGER photo_no_delete BEFORE delete ON photo BEGIN SELECT RAISE(ABORT, 'entries are kept; a correction is a new entry'); END;
COMMIT;
