-- What each person is told of each notice, by which way. A row is written with its
-- notice; what goes out in one message shares a letter, named before the first try.

-- +goose Up
CREATE TABLE deliveries (
    seq       INTEGER PRIMARY KEY AUTOINCREMENT,
    id        TEXT    NOT NULL,
    revision  INTEGER NOT NULL,
    person    TEXT    NOT NULL,
    way       TEXT    NOT NULL,
    due       INTEGER NOT NULL,
    why       TEXT    NOT NULL,
    letter    TEXT,             -- of what was tried
    begun     INTEGER,          -- the letter's first try
    retry     INTEGER,          -- not before this
    tries     INTEGER NOT NULL DEFAULT 0,
    sent      INTEGER,
    withdrawn INTEGER,          -- not told: dropped before it was tried, or given up
    ground    TEXT,             -- why withdrawn
    error     TEXT,             -- the last one
    UNIQUE (id, revision, person, way),
    FOREIGN KEY (id, revision) REFERENCES notices (id, revision)
) STRICT;
CREATE INDEX deliveries_open ON deliveries (due) WHERE sent IS NULL AND withdrawn IS NULL;

-- Who called a notice heard, and which revision of it.
CREATE TABLE heard (
    id       TEXT    NOT NULL,
    revision INTEGER NOT NULL,
    by       TEXT    NOT NULL,
    at       INTEGER NOT NULL,
    PRIMARY KEY (id, revision, by)
) STRICT, WITHOUT ROWID;

-- Browsers that may be rung.
CREATE TABLE subscriptions (
    endpoint TEXT    NOT NULL PRIMARY KEY,
    person   TEXT    NOT NULL,
    p256dh   TEXT    NOT NULL,
    auth     TEXT    NOT NULL,
    at       INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
