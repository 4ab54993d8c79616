package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// Keep says what is still wanted whether or not it is evidence. A zero time keeps all.
type Keep struct {
	ReadingsBefore time.Time // readings measured in hours before this may go into the hours
	HoursBefore    time.Time // hours before this may go
	PlansBefore    time.Time // drafts made before this may go
}

// Deleted counts what Prune took out.
type Deleted struct {
	Readings, Hours, Plans, Problems int64
}

// pruneChunk is how many rows are looked at in one transaction: the guard's
// commits wait while it runs, about 11 ms for deleting so many.
const pruneChunk = 5000

// evidenceSpan is kept on either side of a press on a coat: the hours before a
// start, and after the last pass the protection, at most three days.
const evidenceSpan = 72 * time.Hour

// Prune folds old readings into hours and deletes what is old and no evidence, in short
// transactions, until all is done or the context ends. For good it keeps
//   - readings within three days of the start, a pass or the end of a coat: those
//     of its boat, of its place, and of the air outdoors; where the press named
//     no place, those of every place. A stage that no plan ever called
//     something else counts as a coat.
//   - plans that were told, the latest plan, and the problems of both.
//   - all boats, presses, notices and forecasts.
func (s *Store) Prune(ctx context.Context, keep Keep) (Deleted, error) {
	var deleted Deleted
	if !keep.ReadingsBefore.IsZero() {
		if err := s.pruneReadings(ctx, keep.ReadingsBefore, &deleted); err != nil {
			return deleted, fmt.Errorf("prune readings: %w", err)
		}
	}
	if !keep.HoursBefore.IsZero() {
		err := s.deleteAll(ctx, &deleted.Hours, `DELETE FROM hours WHERE (spot, hour, variable) IN
			(SELECT spot, hour, variable FROM hours WHERE hour < ? LIMIT ?)`, millis(keep.HoursBefore), pruneChunk)
		if err != nil {
			return deleted, fmt.Errorf("prune hours: %w", err)
		}
	}
	if !keep.PlansBefore.IsZero() {
		if err := s.prunePlans(ctx, keep.PlansBefore, &deleted); err != nil {
			return deleted, fmt.Errorf("prune plans: %w", err)
		}
	}
	return deleted, nil
}

// pruneReadings folds the old readings into hours and deletes what is no evidence, spot
// by spot from where it last ended, a chunk of whole hours at a time.
func (s *Store) pruneReadings(ctx context.Context, before time.Time, deleted *Deleted) error {
	rows, err := s.reader.QueryContext(ctx, `SELECT id FROM spots ORDER BY id`)
	spots, err := collect(rows, err, func(rows *sql.Rows) (id int64, err error) { return id, rows.Scan(&id) })
	if err != nil {
		return err
	}
	for _, of := range spots {
		for more := true; more; {
			var gone int64
			err := s.write(ctx, func(tx *sql.Tx) (err error) {
				gone, more, err = s.pruneSpot(tx, of, hourOf(millis(before)))
				return err
			})
			if err != nil {
				return err
			}
			deleted.Readings += gone
		}
	}
	return nil
}

// pruneSpot does one chunk; more: there may be another.
func (s *Store) pruneSpot(tx *sql.Tx, of, before int64) (gone int64, more bool, err error) {
	var from int64
	if err := tx.QueryRow(`SELECT folded FROM spots WHERE id = ?`, of).Scan(&from); err != nil || from >= before {
		return 0, false, err
	}
	// The chunk ends with a whole hour, which may hold more than a chunk.
	to := before
	var last sql.NullInt64
	if err := tx.QueryRow(`SELECT at FROM readings WHERE spot = ? AND at >= ? AND at < ? ORDER BY at LIMIT 1 OFFSET ?`,
		of, from, before, pruneChunk).Scan(&last); err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, false, err
	}
	if last.Valid {
		var first int64
		if err := tx.QueryRow(`SELECT min(at) FROM readings WHERE spot = ? AND at >= ?`, of, from).Scan(&first); err != nil {
			return 0, false, err
		}
		to = max(hourOf(last.Int64), hourOf(first)+hourMillis)
	}
	rows, err := tx.Query(`SELECT r.id, s.source, s.place, s.boat, r.at, r.key, r.late, r.measured, r.flags, NULL
		FROM spots s CROSS JOIN readings r ON r.spot = s.id WHERE s.id = ? AND r.at >= ? AND r.at < ? ORDER BY r.at, r.id`, of, from, to)
	names := map[string]string{}
	readings, err := collect(rows, err, func(rows *sql.Rows) (sensors.Reading, error) { return scanReading(rows, names) })
	if err != nil {
		return 0, false, err
	}
	if err := fold(tx, of, readings); err != nil {
		return 0, false, err
	}
	result, err := tx.Exec(`DELETE FROM readings AS r WHERE spot = ?1 AND at >= ?2 AND at < ?3 AND NOT EXISTS (
		SELECT 1 FROM presses p, spots s WHERE s.id = ?1 AND p.happened BETWEEN r.at - ?4 AND r.at + ?4
		AND p.kind IN (?5, ?6, ?7)
		AND (p.boat = s.boat OR p.place = s.place OR p.place IS NULL OR s.place = ?8 OR (s.place = '' AND s.boat = ''))
		AND (p.pass > 0 OR NOT EXISTS (SELECT 1 FROM stage_kinds k
			WHERE k.boat = p.boat AND k.area = p.area AND k.stage = p.stage AND k.kind <> ?9)))`,
		of, from, to, evidenceSpan.Milliseconds(),
		planner.Started, planner.PassDone, planner.Finished, config.Outdoors, config.Coat)
	if err != nil {
		return 0, false, err
	}
	if gone, err = result.RowsAffected(); err != nil {
		return 0, false, err
	}
	_, err = tx.Exec(`UPDATE spots SET folded = ? WHERE id = ?`, to, of)
	return gone, to < before, err
}

// prunePlans deletes old drafts, then what they alone were made from.
func (s *Store) prunePlans(ctx context.Context, before time.Time, deleted *Deleted) error {
	steps := []struct {
		count *int64
		query string
		args  []any
	}{
		{&deleted.Plans, `DELETE FROM plans WHERE id IN (SELECT id FROM plans WHERE at < ?
			AND id NOT IN (SELECT plan FROM releases) AND id <> (SELECT max(id) FROM plans) LIMIT ?)`,
			[]any{millis(before), pruneChunk}},
		{&deleted.Problems, `DELETE FROM problems WHERE hash IN (SELECT hash FROM problems
			WHERE NOT EXISTS (SELECT 1 FROM plans WHERE problem = problems.hash) LIMIT ?)`, []any{pruneChunk}},
		{new(int64), `DELETE FROM parts WHERE hash IN (SELECT hash FROM parts
			WHERE NOT EXISTS (SELECT 1 FROM problem_parts WHERE part = parts.hash) LIMIT ?)`, []any{pruneChunk}},
	}
	for _, step := range steps {
		if err := s.deleteAll(ctx, step.count, step.query, step.args...); err != nil {
			return err
		}
	}
	return nil
}

// deleteAll runs a deletion of at most a chunk until it finds less than one.
func (s *Store) deleteAll(ctx context.Context, count *int64, query string, args ...any) error {
	for gone := int64(pruneChunk); gone == pruneChunk; {
		err := s.write(ctx, func(tx *sql.Tx) error {
			result, err := tx.Exec(query, args...)
			if err != nil {
				return err
			}
			gone, err = result.RowsAffected()
			return err
		})
		if err != nil {
			return err
		}
		*count += gone
	}
	return nil
}
