package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"fairwindow/planner"
)

// Keep says what is still wanted whether or not it is evidence. A zero time keeps all.
type Keep struct {
	ReadingsBefore time.Time // readings measured in hours before this may go into the hours
	HoursBefore    time.Time // hours before this may go
	PlansBefore    time.Time // drafts made before this may go
	// Over are the boats whose warranty is over: what lies behind their coats may go
	// as other readings do. Of all others it stays.
	Over []string
}

// Deleted counts what Prune took out.
type Deleted struct {
	Readings, Hours, Plans, Problems int64
}

// pruneChunk is how many rows are looked at in one transaction: the guard's
// commits wait while it runs, about 11 ms for deleting so many.
const pruneChunk = 5000

// Prune folds old readings into hours and deletes what is old and no evidence, in short
// transactions, until all is done or the context ends. Until a boat's warranty is Over it
// keeps the readings behind its coats (see evidence.go): those of the boat, of the places
// where it stood, and of the air outdoors. For good it keeps
//   - plans that were told, the latest plan, the draft behind a coat that was begun
//     before any plan was told, and the problems of all of them.
//   - all boats, presses, notices and forecasts.
func (s *Store) Prune(ctx context.Context, keep Keep) (Deleted, error) {
	var deleted Deleted
	if !keep.ReadingsBefore.IsZero() {
		p := pruner{s, hourOf(millis(keep.ReadingsBefore)), keep.Over, -1, nil}
		if err := p.prepare(ctx); err != nil {
			return deleted, fmt.Errorf("prune readings: what is evidence: %w", err)
		}
		if err := p.readings(ctx, &deleted); err != nil {
			return deleted, fmt.Errorf("prune readings: %w", err)
		}
		if err := p.letGo(ctx, &deleted); err != nil {
			return deleted, fmt.Errorf("prune readings of coats whose warranty is over: %w", err)
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

// prunePlans deletes old drafts, then what they alone were made from.
func (s *Store) prunePlans(ctx context.Context, before time.Time, deleted *Deleted) error {
	steps := []struct {
		count *int64
		query string
		args  []any
	}{
		{&deleted.Plans, `DELETE FROM plans WHERE id IN (SELECT id FROM plans WHERE at < ?
			AND id NOT IN (SELECT plan FROM releases) AND id <> (SELECT max(id) FROM plans)
			AND id NOT IN (SELECT coalesce((SELECT id FROM plans WHERE at <= p.happened ORDER BY id DESC LIMIT 1), 0)
				FROM presses p WHERE p.kind IN (?, ?) AND NOT EXISTS (SELECT 1 FROM releases WHERE at <= p.happened)) LIMIT ?)`,
			[]any{millis(before), planner.Started, planner.Override, pruneChunk}},
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
