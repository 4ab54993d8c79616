package store

import (
	"context"
	"database/sql"
	"fmt"

	"fairwindow/planner"
)

// insertChecks keeps the answers that came with a press.
func insertChecks(tx *sql.Tx, press int64, checks []planner.Point) error {
	for turn, c := range checks {
		if _, err := tx.Exec(`INSERT INTO checks (press, turn, point, go, why) VALUES (?, ?, ?, ?, ?)`,
			press, turn, c.Words, c.Go, c.Why); err != nil {
			return fmt.Errorf("the answer to %q: %w", c.Words, err)
		}
	}
	return nil
}

// checks are all answers, by press, in the order of the list.
func (s *Store) checks(ctx context.Context) (map[int64][]planner.Point, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT press, point, go, why FROM checks ORDER BY press, turn`)
	by := map[int64][]planner.Point{}
	_, err = collect(rows, err, func(rows *sql.Rows) (int64, error) {
		var press int64
		var c planner.Point
		err := rows.Scan(&press, &c.Words, &c.Go, &c.Why)
		by[press] = append(by[press], c)
		return press, err
	})
	return by, err
}
