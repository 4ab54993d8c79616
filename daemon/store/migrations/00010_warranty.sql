-- Boats whose warranty is over, and up to when the readings behind their coats were let go
-- of. One whose warranty was made longer leaves again, and what is left is kept.

-- +goose Up
CREATE TABLE warranty_over (
    boat TEXT    NOT NULL PRIMARY KEY,
    upto INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
CREATE INDEX presses_strikes ON presses (strikes) WHERE strikes IS NOT NULL;
