-- Fifty sensors that speak each minute are 26 million readings a year. They are kept
-- by who spoke (a source as it reads one place or boat) and when, in the order of the
-- file, so that the one tree serves every question; names, keys and values are short.
-- What was stored before is moved by the program (convert.go), a chunk at a time.

-- +goose Up
ALTER TABLE readings RENAME TO readings_long;
DROP INDEX readings_at;
DROP INDEX readings_source;
DROP INDEX readings_place;
DROP INDEX readings_boat;

CREATE TABLE spots (
    id     INTEGER PRIMARY KEY,
    source TEXT    NOT NULL,
    place  TEXT    NOT NULL, -- empty: none
    boat   TEXT    NOT NULL, -- empty: none
    folded INTEGER NOT NULL, -- readings before this are in the hours; late ones move it back
    UNIQUE (source, place, boat)
) STRICT;

CREATE TABLE readings (
    spot     INTEGER NOT NULL REFERENCES spots (id),
    at       INTEGER NOT NULL,
    key      BLOB    NOT NULL, -- packed, see key.go
    id       INTEGER NOT NULL, -- counts what came
    late     INTEGER NOT NULL, -- received, ms after at
    measured BLOB    NOT NULL, -- packed, see values.go
    flags    TEXT,             -- JSON, when there are any
    raw      TEXT,
    PRIMARY KEY (spot, at, key)
) STRICT, WITHOUT ROWID;
-- A key by a transport's own number, and one of another making, may leave the time open,
-- which is then that of receipt: such a key is there once whatever the time.
CREATE UNIQUE INDEX readings_numbered ON readings (spot, key) WHERE substr(key, 1, 1) IN (x'23', x'6b');

CREATE TABLE arrivals (last INTEGER NOT NULL) STRICT;
INSERT INTO arrivals SELECT coalesce(max(id), 0) FROM readings_long;

CREATE TABLE hours (
    spot     INTEGER NOT NULL REFERENCES spots (id),
    hour     INTEGER NOT NULL, -- its beginning
    variable TEXT    NOT NULL,
    good     INTEGER NOT NULL, -- how many values nobody doubts; the numbers are theirs
    doubted  INTEGER NOT NULL,
    least    REAL,
    mean     REAL,
    greatest REAL,
    first    REAL,
    last     REAL,
    PRIMARY KEY (spot, hour, variable)
) STRICT, WITHOUT ROWID;
