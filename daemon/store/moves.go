package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// keepMoves works out what a release told anew, and what people have now.
func (s *Store) keepMoves(tx *sql.Tx, release int64, r Release, at time.Time, plan planner.Plan) error {
	rows, err := tx.Query(`SELECT boat, area, stage, start, place, gone FROM last_told`)
	type last struct {
		key  planner.Key
		told waits.Told
	}
	all, err := collect(rows, err, func(rows *sql.Rows) (last, error) {
		var l last
		var start int64
		err := rows.Scan(&l.key.Boat, &l.key.Area, &l.key.Stage, &start, &l.told.Place, &l.told.Gone)
		l.told.Start = fromMillis(start)
		return l, err
	})
	if err != nil {
		return fmt.Errorf("what was told last: %w", err)
	}
	told := map[planner.Key]waits.Told{}
	for _, l := range all {
		told[l.key] = l.told
	}
	for _, m := range waits.Moves(told, plan) {
		m.Plan, m.At, m.By = r.Plan, rounded(at), r.By
		body, err := json.Marshal(m)
		if err != nil {
			return fmt.Errorf("move of %s: %w", m.Key, err)
		}
		if _, err := tx.Exec(`INSERT INTO moves (release, plan, at, boat, area, stage, move) VALUES (?, ?, ?, ?, ?, ?, ?)`,
			release, r.Plan, millis(at), m.Key.Boat, m.Key.Area, m.Key.Stage, string(body)); err != nil {
			return fmt.Errorf("move of %s: %w", m.Key, err)
		}
	}
	for _, st := range plan.Stages {
		if st.State == planner.Running {
			continue
		}
		was, ok := told[st.Key]
		switch {
		case !st.Start.IsZero() && (!ok || was.Gone || !was.Start.Equal(st.Start) || was.Place != st.Place):
			_, err = tx.Exec(`INSERT INTO last_told (boat, area, stage, start, place, gone) VALUES (?, ?, ?, ?, ?, 0)
				ON CONFLICT DO UPDATE SET start = excluded.start, place = excluded.place, gone = 0`,
				st.Key.Boat, st.Key.Area, st.Key.Stage, millis(st.Start), st.Place)
		case st.Start.IsZero() && ok && !was.Gone:
			_, err = tx.Exec(`UPDATE last_told SET gone = 1 WHERE boat = ? AND area = ? AND stage = ?`, st.Key.Boat, st.Key.Area, st.Key.Stage)
		}
		if err != nil {
			return fmt.Errorf("what was told last of %s: %w", st.Key, err)
		}
	}
	if _, err := tx.Exec(`UPDATE moved SET release = ?`, release); err != nil {
		return fmt.Errorf("what was told last: %w", err)
	}
	return nil
}

// moveChunk is how many releases of an older file are worked out in one transaction.
const moveChunk = 50

// catchUp works out the moves of releases that an older program made. It can be broken off
// at any time, and goes on at the next start.
func (s *Store) catchUp(ctx context.Context) error {
	for done := moveChunk; done == moveChunk; {
		err := s.write(ctx, func(tx *sql.Tx) error {
			type release struct {
				id int64
				Release
				at   time.Time
				body []byte
			}
			rows, err := tx.Query(`SELECT r.id, r.plan, r.by, r.at, p.body FROM releases r JOIN plans p ON p.id = r.plan
				WHERE r.id > (SELECT release FROM moved) ORDER BY r.id LIMIT ?`, moveChunk)
			all, err := collect(rows, err, func(rows *sql.Rows) (release, error) {
				var r release
				var at int64
				err := rows.Scan(&r.id, &r.Plan, &r.By, &at, &r.body)
				r.at = fromMillis(at)
				return r, err
			})
			if err != nil {
				return err
			}
			done = len(all)
			for _, r := range all {
				plan, err := s.unpackPlan(r.Plan, r.body)
				if err != nil {
					return err
				}
				if err := s.keepMoves(tx, r.id, r.Release, r.at, plan); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return fmt.Errorf("work out what was put off, of an older file: %w", err)
		}
	}
	return nil
}

// Moves gives the told starts that were told anew since a number, in the order in which
// they were told; all since 0.
func (s *Store) Moves(ctx context.Context, since int64) ([]waits.Move, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT id, move FROM moves WHERE id > ? ORDER BY id`, since)
	return collect(rows, err, func(rows *sql.Rows) (waits.Move, error) {
		var m waits.Move
		var id int64
		var body []byte
		err := rows.Scan(&id, &body)
		if err == nil {
			err = json.Unmarshal(body, &m)
		}
		m.ID = id
		return m, err
	})
}
