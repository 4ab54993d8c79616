package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"fairwindow/planner/waits"
)

// LogDay keeps lines of the daily log, all or none; a line whose Once is known is there already.
func (s *Store) LogDay(ctx context.Context, lines []waits.Logged, by ...Signature) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		for _, l := range lines {
			if l.Crew == "" || l.Day == "" || l.By == "" || l.At.IsZero() {
				return fmt.Errorf("a line of the log needs a crew, a day, a name and when it was entered; it has %q, %q, %q and %v", l.Crew, l.Day, l.By, l.At)
			}
			if _, err := tx.Exec(`INSERT INTO crew_log (crew, day, boat, area, stage, what, hours, remark, by, at, once)
				VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (once) DO NOTHING`,
				l.Crew, l.Day, l.Boat, l.Area, l.Stage, l.What, l.Hours, l.Remark, l.By, millis(l.At), maybeText(l.Once)); err != nil {
				return fmt.Errorf("log of crew %q on %s: %w", l.Crew, l.Day, err)
			}
		}
		if len(lines) == 0 {
			return nil
		}
		return sign(tx, lines[0].At, by...)
	})
}

// ErrStruck says that a line of the log is struck through already.
var ErrStruck = errors.New("it is struck through already")

// StrikeLog strikes a line through; who struck it first stays.
func (s *Store) StrikeLog(ctx context.Context, id int64, by, why string, at time.Time, hand ...Signature) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		result, err := tx.Exec(`UPDATE crew_log SET struck = ?, struck_by = ?, struck_why = ? WHERE id = ? AND struck IS NULL`, millis(at), by, why, id)
		if err != nil {
			return fmt.Errorf("strike line %d of the log: %w", id, err)
		}
		switch n, err := result.RowsAffected(); {
		case err != nil:
			return err
		case n == 0:
			return fmt.Errorf("line %d of the log: %w", id, ErrStruck)
		}
		return sign(tx, at, hand...)
	})
}

// CrewLog gives the lines of days from one to another, both included, struck ones too.
func (s *Store) CrewLog(ctx context.Context, first, last string) ([]waits.Logged, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT id, crew, day, boat, area, stage, what, hours, remark, by, at, struck, coalesce(struck_by, ''), coalesce(struck_why, '')
		FROM crew_log WHERE day BETWEEN ? AND ? ORDER BY day, crew, id`, first, last)
	return collect(rows, err, func(rows *sql.Rows) (waits.Logged, error) {
		var l waits.Logged
		var at int64
		var struck sql.NullInt64
		err := rows.Scan(&l.ID, &l.Crew, &l.Day, &l.Boat, &l.Area, &l.Stage, &l.What, &l.Hours, &l.Remark, &l.By, &at, &struck, &l.StruckBy, &l.StruckWhy)
		l.At, l.Struck = fromMillis(at), fromMaybeMillis(struck)
		return l, err
	})
}
