package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"fairwindow/planner"
)

// NewPlan is a plan with the problem it was made from.
type NewPlan struct {
	Plan     planner.Plan
	Problem  planner.Problem
	Released bool // told at once, by By
	By       string
}

// PlanRow is a plan as it was kept.
type PlanRow struct {
	ID         int64
	Plan       planner.Plan
	Released   bool
	ReleasedBy string
	ReleasedAt time.Time // last; zero: never
	At         time.Time
	Problem    string // hash of the problem it was made from
}

// insertPlan keeps a change's plan and does its releases. The same plan of the
// same problem is kept once.
func (s *Store) insertPlan(tx *sql.Tx, c Change, done *Committed) error {
	if n := c.Plan; n != nil {
		hash, err := s.insertProblem(tx, n.Problem)
		if err != nil {
			return err
		}
		body, err := json.Marshal(n.Plan)
		if err != nil {
			return fmt.Errorf("the plan has no JSON form: %w", err)
		}
		sum := digest(body)
		if _, err := tx.Exec(`INSERT INTO plans (at, problem, digest, body) VALUES (?, ?, ?, ?) ON CONFLICT (problem, digest) DO NOTHING`,
			millis(c.At), hash, sum, s.packer.pack(body)); err != nil {
			return fmt.Errorf("plan: %w", err)
		}
		if err := tx.QueryRow(`SELECT id FROM plans WHERE problem = ? AND digest = ?`, hash, sum).Scan(&done.Plan); err != nil {
			return fmt.Errorf("plan: %w", err)
		}
		if err := noteKinds(tx, n.Plan); err != nil {
			return fmt.Errorf("plan: %w", err)
		}
		if n.Released {
			if err := s.release(tx, Release{Plan: done.Plan, By: n.By}, c.At); err != nil {
				return err
			}
		}
	}
	if c.Release != nil {
		return s.release(tx, *c.Release, c.At)
	}
	return nil
}

// noteKinds notes which stages are coats; see prune.
func noteKinds(tx *sql.Tx, p planner.Plan) error {
	note, err := tx.Prepare(`INSERT INTO stage_kinds (boat, area, stage, kind) VALUES (?, ?, ?, ?)
		ON CONFLICT DO UPDATE SET kind = excluded.kind WHERE kind <> excluded.kind`)
	if err != nil {
		return err
	}
	defer note.Close()
	for _, st := range p.Stages {
		if _, err := note.Exec(st.Key.Boat, st.Key.Area, st.Key.Stage, st.Kind); err != nil {
			return err
		}
	}
	return nil
}

const selectPlan = `SELECT p.id, p.at, p.problem, p.body, r.by, r.at FROM plans p
	LEFT JOIN releases r ON r.id = (SELECT max(id) FROM releases WHERE plan = p.id) `

// Plan gives one plan by its ID.
func (s *Store) Plan(ctx context.Context, id int64) (PlanRow, error) {
	row, ok, err := s.PlanIf(ctx, id)
	if err == nil && !ok {
		err = noPlan(id)
	}
	return row, err
}

// PlanIf gives one plan by its ID; false if there is none.
func (s *Store) PlanIf(ctx context.Context, id int64) (PlanRow, bool, error) {
	return s.onePlan(ctx, selectPlan+`WHERE p.id = ?`, id)
}

// LatestPlan gives the plan that was made last, told or not; false if there is none.
func (s *Store) LatestPlan(ctx context.Context) (PlanRow, bool, error) {
	return s.onePlan(ctx, selectPlan+`ORDER BY p.id DESC LIMIT 1`)
}

// LatestTold gives the plan that people were last given; false if there is none.
func (s *Store) LatestTold(ctx context.Context) (PlanRow, bool, error) {
	return s.onePlan(ctx, selectPlan+`WHERE p.id = (SELECT plan FROM releases ORDER BY id DESC LIMIT 1)`)
}

// PlanBehind gives the plan that people had been given at a time, else the newest draft
// of then; false if there was none yet.
func (s *Store) PlanBehind(ctx context.Context, at time.Time) (PlanRow, bool, error) {
	row, ok, err := s.onePlan(ctx, selectPlan+`WHERE p.id = (SELECT plan FROM releases WHERE at <= ? ORDER BY at DESC, id DESC LIMIT 1)`, millis(at))
	if ok || err != nil {
		return row, ok, err
	}
	return s.onePlan(ctx, selectPlan+`WHERE p.at <= ? ORDER BY p.id DESC LIMIT 1`, millis(at))
}

// PlanAsOf gives the newest plan that had been made at a time, or that people had been
// told; false if there was none.
func (s *Store) PlanAsOf(ctx context.Context, at time.Time, told bool) (PlanRow, bool, error) {
	if told {
		return s.onePlan(ctx, selectPlan+`WHERE p.id = (SELECT plan FROM releases WHERE at <= ? ORDER BY id DESC LIMIT 1)`, millis(at))
	}
	return s.onePlan(ctx, selectPlan+`WHERE p.id = (SELECT id FROM plans WHERE at <= ? ORDER BY id DESC LIMIT 1)`, millis(at))
}

// Plans gives the plans that were made last, newest first; all without a limit.
func (s *Store) Plans(ctx context.Context, limit int) ([]PlanRow, error) {
	rows, err := s.reader.QueryContext(ctx, selectPlan+`ORDER BY p.id DESC LIMIT ?`, limited(limit))
	return collect(rows, err, s.scanPlan)
}

func (s *Store) onePlan(ctx context.Context, query string, args ...any) (PlanRow, bool, error) {
	rows, err := s.reader.QueryContext(ctx, query, args...)
	found, err := collect(rows, err, s.scanPlan)
	if err != nil || len(found) == 0 {
		return PlanRow{}, false, err
	}
	return found[0], true, nil
}

func (s *Store) scanPlan(rows *sql.Rows) (PlanRow, error) {
	var row PlanRow
	var at int64
	var packed []byte
	var by sql.NullString
	var told sql.NullInt64
	if err := rows.Scan(&row.ID, &at, &row.Problem, &packed, &by, &told); err != nil {
		return row, err
	}
	row.At, row.Released, row.ReleasedBy = fromMillis(at), by.Valid, by.String
	row.ReleasedAt = fromMaybeMillis(told)
	var err error
	row.Plan, err = s.unpackPlan(row.ID, packed)
	return row, err
}

func (s *Store) unpackPlan(id int64, packed []byte) (planner.Plan, error) {
	var plan planner.Plan
	text, err := s.packer.unpack(packed)
	if err == nil {
		err = json.Unmarshal(text, &plan)
	}
	if err != nil {
		return plan, fmt.Errorf("plan %d: %w", id, err)
	}
	return plan, nil
}

func noPlan(id int64) error { return fmt.Errorf("there is no plan %d", id) }
