package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"fairwindow/planner"
)

// Release makes a plan the one that people are given.
type Release struct {
	Plan int64
	By   string
}

// release notes that a plan was told, and for each of its stages that never
// had one the first start. To release again what was told last changes nothing.
func (s *Store) release(tx *sql.Tx, r Release, at time.Time) error {
	var packed []byte
	err := tx.QueryRow(`SELECT body FROM plans WHERE id = ?`, r.Plan).Scan(&packed)
	if errors.Is(err, sql.ErrNoRows) {
		return noPlan(r.Plan)
	}
	if err != nil {
		return fmt.Errorf("release plan %d: %w", r.Plan, err)
	}
	plan, err := s.unpackPlan(r.Plan, packed)
	if err != nil {
		return err
	}
	result, err := tx.Exec(`INSERT INTO releases (plan, by, at) SELECT ?1, ?2, ?3
		WHERE ?1 IS NOT (SELECT plan FROM releases ORDER BY id DESC LIMIT 1)`, r.Plan, r.By, millis(at))
	if err != nil {
		return fmt.Errorf("release plan %d: %w", r.Plan, err)
	}
	if fresh, err := result.RowsAffected(); err != nil || fresh == 0 {
		return err
	}
	for _, t := range told(plan) {
		if _, err := tx.Exec(`INSERT INTO first_told (boat, area, stage, start, place, plan) VALUES (?, ?, ?, ?, ?, ?)
			ON CONFLICT DO NOTHING`, t.Key.Boat, t.Key.Area, t.Key.Stage, millis(t.Start), t.Place, r.Plan); err != nil {
			return fmt.Errorf("release plan %d: %w", r.Plan, err)
		}
	}
	id, err := result.LastInsertId()
	if err != nil {
		return err
	}
	return s.keepMoves(tx, id, r, at, plan)
}

// ReleasedSince counts the releases since a time, and those of them by somebody.
func (s *Store) ReleasedSince(ctx context.Context, since time.Time, by string) (all, his int, err error) {
	err = s.reader.QueryRowContext(ctx, `SELECT count(*), count(*) FILTER (WHERE by = ?) FROM releases WHERE at > ?`, by, millis(since)).Scan(&all, &his)
	return all, his, err
}

// told is what a plan says of starts; a stage that found none says nothing.
func told(plan planner.Plan) []planner.Told {
	var all []planner.Told
	for _, st := range plan.Stages {
		if !st.Start.IsZero() {
			all = append(all, planner.Told{Key: st.Key, Start: st.Start, Place: st.Place})
		}
	}
	return all
}

// FirstTold gives, for every stage that ever was in a plan people were given,
// the start they were given first; by start.
func (s *Store) FirstTold(ctx context.Context) ([]planner.Told, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT boat, area, stage, start, place FROM first_told ORDER BY start, boat, area, stage`)
	return collect(rows, err, func(rows *sql.Rows) (planner.Told, error) {
		var t planner.Told
		var start int64
		err := rows.Scan(&t.Key.Boat, &t.Key.Area, &t.Key.Stage, &start, &t.Place)
		t.Start = fromMillis(start)
		return t, err
	})
}
