-- Systems that people write on the pages, kept as boats are; and why a boat or a system
-- was taken out, and which form said so: a form sent twice counts once.

-- +goose Up
CREATE TABLE systems (
    name     TEXT    NOT NULL,
    revision INTEGER NOT NULL,
    removed  INTEGER NOT NULL,
    by       TEXT    NOT NULL,
    at       INTEGER NOT NULL,
    system   TEXT    NOT NULL, -- JSON
    why      TEXT    NOT NULL DEFAULT '',
    once     TEXT,
    PRIMARY KEY (name, revision)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX systems_once ON systems (once) WHERE once IS NOT NULL;

ALTER TABLE boats ADD COLUMN why TEXT NOT NULL DEFAULT '';
ALTER TABLE boats ADD COLUMN once TEXT;
CREATE UNIQUE INDEX boats_once ON boats (once) WHERE once IS NOT NULL;
