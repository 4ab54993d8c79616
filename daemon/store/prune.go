package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// Keep says what is still wanted whether or not it is evidence. A zero time keeps all.
type Keep struct {
	ReadingsBefore time.Time // readings measured before this may go
	PlansBefore    time.Time // drafts made before this may go
}

// Deleted counts what Prune took out.
type Deleted struct {
	Readings, Plans, Problems int64
}

// pruneChunk is how many rows are looked at in one transaction: the guard's
// commits wait while it runs, about 11 ms for deleting so many.
const pruneChunk = 5000

// evidenceSpan is kept on either side of a press on a coat: the hours before a
// start, and after the last pass the protection, at most three days.
const evidenceSpan = 72 * time.Hour

// Prune deletes what is old and no evidence, in short transactions, until all
// is done or the context ends. For good it keeps
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
	if !keep.PlansBefore.IsZero() {
		if err := s.prunePlans(ctx, keep.PlansBefore, &deleted); err != nil {
			return deleted, fmt.Errorf("prune plans: %w", err)
		}
	}
	return deleted, nil
}

// pruneReadings goes through the old readings by id, a chunk at a time.
func (s *Store) pruneReadings(ctx context.Context, before time.Time, deleted *Deleted) error {
	var from int64
	for {
		var to sql.NullInt64
		var gone int64
		err := s.write(ctx, func(tx *sql.Tx) error {
			if err := tx.QueryRow(`SELECT max(id) FROM (SELECT id FROM readings WHERE id > ? ORDER BY id LIMIT ?)`,
				from, pruneChunk).Scan(&to); err != nil || !to.Valid {
				return err
			}
			result, err := tx.Exec(`DELETE FROM readings AS r WHERE id > ?1 AND id <= ?2 AND at < ?3 AND NOT EXISTS (
				SELECT 1 FROM presses p WHERE p.happened BETWEEN r.at - ?4 AND r.at + ?4
				AND p.kind IN (?5, ?6, ?7)
				AND (p.boat = r.boat OR p.place = r.place OR p.place IS NULL OR r.place = ?8 OR coalesce(r.place, r.boat) IS NULL)
				AND (p.pass > 0 OR NOT EXISTS (SELECT 1 FROM stage_kinds k
					WHERE k.boat = p.boat AND k.area = p.area AND k.stage = p.stage AND k.kind <> ?9)))`,
				from, to.Int64, millis(before), evidenceSpan.Milliseconds(),
				planner.Started, planner.PassDone, planner.Finished, config.Outdoors, config.Coat)
			if err != nil {
				return err
			}
			gone, err = result.RowsAffected()
			return err
		})
		if err != nil || !to.Valid {
			return err
		}
		deleted.Readings += gone
		from = to.Int64
	}
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
		for gone := int64(pruneChunk); gone == pruneChunk; {
			err := s.write(ctx, func(tx *sql.Tx) error {
				result, err := tx.Exec(step.query, step.args...)
				if err != nil {
					return err
				}
				gone, err = result.RowsAffected()
				return err
			})
			if err != nil {
				return err
			}
			*step.count += gone
		}
	}
	return nil
}
