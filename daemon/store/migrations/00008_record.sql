-- What makes a record of coats: corrections that strike, the terms a coat was reported
-- under, what people enter besides presses, and who signed.

-- +goose Up
ALTER TABLE presses ADD COLUMN strikes INTEGER REFERENCES presses (id);
ALTER TABLE presses ADD COLUMN terms TEXT; -- the digest of a row of terms

CREATE TABLE terms (
    digest TEXT NOT NULL PRIMARY KEY, -- SHA-256 of the JSON
    body   BLOB NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE entries (
    id      INTEGER PRIMARY KEY,
    boat    TEXT    NOT NULL,
    area    TEXT    NOT NULL,
    stage   TEXT    NOT NULL,
    at      INTEGER NOT NULL,
    entered INTEGER NOT NULL,
    by      TEXT    NOT NULL,
    once    TEXT UNIQUE,
    strikes INTEGER REFERENCES entries (id),
    entry   TEXT    NOT NULL -- JSON
) STRICT;
CREATE INDEX entries_boat ON entries (boat, id);

CREATE TABLE sign_offs (
    id     INTEGER PRIMARY KEY,
    boat   TEXT    NOT NULL,
    area   TEXT    NOT NULL, -- empty, as stage: the whole boat
    stage  TEXT    NOT NULL,
    act    TEXT    NOT NULL,
    by     TEXT    NOT NULL,
    role   TEXT    NOT NULL,
    at     INTEGER NOT NULL,
    remark TEXT    NOT NULL,
    digest TEXT    NOT NULL, -- of body; empty where a record was opened again
    once   TEXT UNIQUE,
    body   BLOB              -- the record as it was signed, packed
) STRICT;
CREATE INDEX sign_offs_boat ON sign_offs (boat, id);
