-- Whose work a press is about where somebody else pressed for him, and how the yard's
-- go / no-go list was answered with it: who and when are the press's own.

-- +goose Up
ALTER TABLE presses ADD COLUMN for_whom TEXT;

CREATE TABLE checks (
    press INTEGER NOT NULL REFERENCES presses (id),
    turn  INTEGER NOT NULL, -- in the list
    point TEXT    NOT NULL, -- as the list had it then
    go    INTEGER NOT NULL, -- 1 or 0
    why   TEXT    NOT NULL,
    PRIMARY KEY (press, turn)
) STRICT, WITHOUT ROWID;
