-- Times are Unix milliseconds, UTC. JSON columns named body and packed are
-- zstd-compressed; what is asked for by value has a column of its own.

-- +goose Up
CREATE TABLE readings (
    id          INTEGER PRIMARY KEY,
    key         TEXT    NOT NULL UNIQUE,
    source      TEXT    NOT NULL,
    place       TEXT,
    boat        TEXT,
    at          INTEGER NOT NULL,
    received    INTEGER NOT NULL,
    from_device INTEGER NOT NULL,
    measured    TEXT    NOT NULL, -- JSON: variable to value
    flags       TEXT,             -- JSON, when there are any
    raw         TEXT
) STRICT;
CREATE INDEX readings_at ON readings (at);
CREATE INDEX readings_source ON readings (source, at);
CREATE INDEX readings_place ON readings (place, at) WHERE place IS NOT NULL;
CREATE INDEX readings_boat ON readings (boat, at) WHERE boat IS NOT NULL;

CREATE TABLE forecasts (
    id       INTEGER PRIMARY KEY,
    source   TEXT    NOT NULL,
    issued   INTEGER NOT NULL,
    received INTEGER NOT NULL,
    digest   TEXT    NOT NULL, -- of what was made of it: a corrected issue is a new row
    body     BLOB    NOT NULL,
    raw      BLOB,             -- as it came, packed
    UNIQUE (source, issued, digest)
) STRICT;

CREATE TABLE boats (
    name     TEXT    NOT NULL,
    revision INTEGER NOT NULL,
    removed  INTEGER NOT NULL,
    by       TEXT    NOT NULL,
    at       INTEGER NOT NULL,
    boat     TEXT    NOT NULL, -- JSON
    PRIMARY KEY (name, revision)
) STRICT, WITHOUT ROWID;

CREATE TABLE presses (
    id       INTEGER PRIMARY KEY,
    kind     TEXT    NOT NULL,
    boat     TEXT    NOT NULL,
    area     TEXT    NOT NULL,
    stage    TEXT    NOT NULL,
    pass     INTEGER NOT NULL,
    place    TEXT,
    happened INTEGER NOT NULL,
    entered  INTEGER NOT NULL,
    by       TEXT    NOT NULL,
    note     TEXT    NOT NULL,
    until    INTEGER,
    once     TEXT UNIQUE
) STRICT;
CREATE INDEX presses_happened ON presses (happened, id);

CREATE TABLE problems (
    hash TEXT NOT NULL PRIMARY KEY, -- SHA-256 of the canonical JSON
    rest BLOB NOT NULL              -- the small fields, packed
) STRICT;
CREATE TABLE parts (
    hash TEXT NOT NULL PRIMARY KEY,
    body BLOB NOT NULL
) STRICT;
CREATE TABLE problem_parts (
    problem TEXT NOT NULL REFERENCES problems (hash) ON DELETE CASCADE,
    field   TEXT NOT NULL,
    part    TEXT NOT NULL REFERENCES parts (hash),
    PRIMARY KEY (problem, field)
) STRICT, WITHOUT ROWID;
CREATE INDEX problem_parts_part ON problem_parts (part);

CREATE TABLE plans (
    id      INTEGER PRIMARY KEY,
    at      INTEGER NOT NULL,
    problem TEXT    NOT NULL REFERENCES problems (hash),
    digest  TEXT    NOT NULL,
    body    BLOB    NOT NULL,
    UNIQUE (problem, digest)
) STRICT;
CREATE TABLE releases (
    id   INTEGER PRIMARY KEY,
    plan INTEGER NOT NULL REFERENCES plans (id),
    by   TEXT    NOT NULL,
    at   INTEGER NOT NULL
) STRICT;
CREATE INDEX releases_plan ON releases (plan);

CREATE TABLE first_told (
    boat  TEXT    NOT NULL,
    area  TEXT    NOT NULL,
    stage TEXT    NOT NULL,
    start INTEGER NOT NULL,
    place TEXT    NOT NULL,
    plan  INTEGER NOT NULL REFERENCES plans (id),
    PRIMARY KEY (boat, area, stage)
) STRICT, WITHOUT ROWID;
CREATE INDEX first_told_plan ON first_told (plan);
-- What kind each stage is, as planned: presses do not say, and evidence hangs on it.
CREATE TABLE stage_kinds (
    boat  TEXT NOT NULL,
    area  TEXT NOT NULL,
    stage TEXT NOT NULL,
    kind  TEXT NOT NULL,
    PRIMARY KEY (boat, area, stage)
) STRICT, WITHOUT ROWID;

CREATE TABLE clocks (
    boat  TEXT NOT NULL,
    area  TEXT NOT NULL,
    clock TEXT NOT NULL, -- JSON
    PRIMARY KEY (boat, area)
) STRICT, WITHOUT ROWID;

CREATE TABLE notices (
    seq      INTEGER PRIMARY KEY AUTOINCREMENT,
    id       TEXT    NOT NULL,
    revision INTEGER NOT NULL,
    at       INTEGER NOT NULL,
    notice   TEXT    NOT NULL, -- JSON
    sent     INTEGER,
    UNIQUE (id, revision)
) STRICT;
CREATE INDEX notices_at ON notices (at);
CREATE INDEX notices_unsent ON notices (seq) WHERE sent IS NULL;

CREATE TABLE memory (
    name  TEXT NOT NULL PRIMARY KEY,
    value TEXT NOT NULL -- JSON
) STRICT;
