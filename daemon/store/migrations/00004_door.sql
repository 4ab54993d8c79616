-- Who may come in, and whose hand each change is. Of secrets only what can't be used is
-- kept: passwords as argon2id, words as their SHA-256 (print).

-- +goose Up
CREATE TABLE passwords (
    person TEXT    NOT NULL PRIMARY KEY,
    phc    TEXT    NOT NULL, -- $argon2id$v=19$m=…,t=…,p=…$salt$tag
    at     INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- A word with which a person sets his password; a later one takes the place of the earlier.
CREATE TABLE invitations (
    person TEXT    NOT NULL PRIMARY KEY,
    print  BLOB    NOT NULL UNIQUE,
    by     TEXT    NOT NULL,
    at     INTEGER NOT NULL,
    until  INTEGER NOT NULL
) STRICT;

CREATE TABLE sessions (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    print   BLOB    NOT NULL UNIQUE,
    person  TEXT    NOT NULL,
    role    TEXT    NOT NULL, -- as it was when he signed in
    address TEXT    NOT NULL,
    device  TEXT    NOT NULL,
    begun   INTEGER NOT NULL,
    seen    INTEGER NOT NULL
) STRICT;
CREATE INDEX sessions_person ON sessions (person);

CREATE TABLE tokens (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    print   BLOB    NOT NULL UNIQUE,
    name    TEXT    NOT NULL,
    scopes  TEXT    NOT NULL, -- words with blanks between
    owner   TEXT    NOT NULL, -- the person whose it is; empty: the yard's
    by      TEXT    NOT NULL,
    at      INTEGER NOT NULL,
    used    INTEGER,          -- lately, not to the minute
    revoked INTEGER
) STRICT;

-- One row for each change by a person's hand, written with it.
CREATE TABLE signatures (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    at      INTEGER NOT NULL,
    kind    TEXT    NOT NULL,
    about   TEXT    NOT NULL,
    by      TEXT    NOT NULL,
    role    TEXT    NOT NULL,
    address TEXT    NOT NULL,
    device  TEXT    NOT NULL,
    through TEXT    NOT NULL, -- the path of the page that took it
    once    TEXT    UNIQUE    -- of what may be sent again and counts once
) STRICT;
CREATE INDEX signatures_by ON signatures (by, at);
CREATE INDEX signatures_at ON signatures (at);
