-- What the manager asks: what was put off, told by which plan, and what crews did instead.
-- The moves are worked out of the plans that were told, with each release; those of an
-- older file by the program, as it opens (moves.go).

-- +goose Up
CREATE TABLE moves (
    id      INTEGER PRIMARY KEY,
    release INTEGER NOT NULL REFERENCES releases (id),
    plan    INTEGER NOT NULL,
    at      INTEGER NOT NULL,
    boat    TEXT    NOT NULL,
    area    TEXT    NOT NULL,
    stage   TEXT    NOT NULL,
    move    TEXT    NOT NULL -- JSON
) STRICT;

-- The start that people have of each stage now; gone: the plan told last has none.
CREATE TABLE last_told (
    boat  TEXT    NOT NULL,
    area  TEXT    NOT NULL,
    stage TEXT    NOT NULL,
    start INTEGER NOT NULL,
    place TEXT    NOT NULL,
    gone  INTEGER NOT NULL,
    PRIMARY KEY (boat, area, stage)
) STRICT, WITHOUT ROWID;

-- Up to which release the moves are worked out.
CREATE TABLE moved (release INTEGER NOT NULL) STRICT;
INSERT INTO moved VALUES (0);

-- What crews did, day by day. Nothing is deleted; a correction strikes a line through.
CREATE TABLE crew_log (
    id         INTEGER PRIMARY KEY,
    crew       TEXT    NOT NULL,
    day        TEXT    NOT NULL, -- on the yard's calendar
    boat       TEXT    NOT NULL,
    area       TEXT    NOT NULL,
    stage      TEXT    NOT NULL,
    what       TEXT    NOT NULL,
    hours      REAL    NOT NULL,
    remark     TEXT    NOT NULL,
    by         TEXT    NOT NULL,
    at         INTEGER NOT NULL,
    once       TEXT    UNIQUE,
    struck     INTEGER,
    struck_by  TEXT,
    struck_why TEXT
) STRICT;
CREATE INDEX crew_log_day ON crew_log (day, crew);
