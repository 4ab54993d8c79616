package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"fairwindow/planner"
)

// setClocks keeps the clock of the last coat on each area.
func setClocks(tx *sql.Tx, clocks []planner.CoatNow) error {
	for _, c := range clocks {
		body, err := json.Marshal(c)
		if err != nil {
			return fmt.Errorf("clock of %v: %w", c.Key, err)
		}
		if _, err := tx.Exec(`INSERT INTO clocks (boat, area, clock) VALUES (?, ?, ?)
			ON CONFLICT DO UPDATE SET clock = excluded.clock`, c.Key.Boat, c.Key.Area, string(body)); err != nil {
			return fmt.Errorf("clock of %v: %w", c.Key, err)
		}
	}
	return nil
}

// Clocks gives the clock of the last coat on each area, also of boats that
// have left; by boat and area.
func (s *Store) Clocks(ctx context.Context) ([]planner.CoatNow, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT clock FROM clocks ORDER BY boat, area`)
	return collect(rows, err, func(rows *sql.Rows) (planner.CoatNow, error) {
		var c planner.CoatNow
		var body []byte
		if err := rows.Scan(&body); err != nil {
			return c, err
		}
		return c, json.Unmarshal(body, &c)
	})
}
