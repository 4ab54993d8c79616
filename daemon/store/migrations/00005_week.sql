-- +goose Up
-- The stage of another boat that a stage comes after, by people's word.
ALTER TABLE presses ADD COLUMN other_boat  TEXT NOT NULL DEFAULT '';
ALTER TABLE presses ADD COLUMN other_area  TEXT NOT NULL DEFAULT '';
ALTER TABLE presses ADD COLUMN other_stage TEXT NOT NULL DEFAULT '';
