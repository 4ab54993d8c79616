package store

import (
	"context"
	"database/sql"
	"fmt"

	"fairwindow/planner"
)

// insertPresses keeps presses; one whose Once is known is the same press.
func insertPresses(tx *sql.Tx, presses []planner.Press, done *Committed) error {
	for _, p := range presses {
		if p.Kind == "" || p.Key.Boat == "" || p.Happened.IsZero() || p.Entered.IsZero() {
			return fmt.Errorf("a press needs a kind, a boat, when it happened and when it was entered; it has %q, %q, %v and %v",
				p.Kind, p.Key.Boat, p.Happened, p.Entered)
		}
		result, err := tx.Exec(`INSERT INTO presses
			(kind, boat, area, stage, pass, place, happened, entered, by, note, until, once, strikes, terms, for_whom, other_boat, other_area, other_stage)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (once) DO NOTHING`,
			p.Kind, p.Key.Boat, p.Key.Area, p.Key.Stage, p.Pass, maybeText(p.Place),
			millis(p.Happened), millis(p.Entered), p.By, p.Note, maybeMillis(p.Until), maybeText(p.Once),
			maybeID(p.Strikes), maybeText(p.Terms), maybeText(p.For), p.Other.Boat, p.Other.Area, p.Other.Stage)
		if err != nil {
			return fmt.Errorf("press %q on %q: %w", p.Kind, p.Key.Boat, err)
		}
		fresh, err := result.RowsAffected()
		if err != nil {
			return err
		}
		if fresh == 0 {
			if err := samePress(tx, p); err != nil {
				return err
			}
			continue
		}
		if p.ID, err = result.LastInsertId(); err != nil {
			return err
		}
		if err := insertChecks(tx, p.ID, p.Checks); err != nil {
			return fmt.Errorf("press %q on %q: %w", p.Kind, p.Key.Boat, err)
		}
		p.Happened, p.Entered, p.Until = rounded(p.Happened), rounded(p.Entered), rounded(p.Until)
		done.Presses = append(done.Presses, p)
	}
	return nil
}

// samePress checks that a repeat reports what the first one did: a sender that
// used its id for two things must hear of it, or the second would be lost.
// Times may differ, a sender may stamp each try.
func samePress(tx *sql.Tx, p planner.Press) error {
	var kind planner.PressKind
	var key planner.Key
	var pass int
	if err := tx.QueryRow(`SELECT kind, boat, area, stage, pass FROM presses WHERE once = ?`, p.Once).
		Scan(&kind, &key.Boat, &key.Area, &key.Stage, &pass); err != nil {
		return fmt.Errorf("press %q: %w", p.Once, err)
	}
	if kind != p.Kind || key != p.Key || pass != p.Pass {
		return fmt.Errorf("the id %q of this press (%s on %v) was already used for another (%s on %v); send it under a new one",
			p.Once, p.Kind, p.Key, kind, key)
	}
	return nil
}

// Presses gives all that people reported, in the order it happened, then as it was entered.
func (s *Store) Presses(ctx context.Context) ([]planner.Press, error) {
	checks, err := s.checks(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := s.reader.QueryContext(ctx, `SELECT id, kind, boat, area, stage, pass, place, happened, entered, by, note, until, once, strikes, terms, for_whom, other_boat, other_area, other_stage
		FROM presses ORDER BY happened, id`)
	return collect(rows, err, func(rows *sql.Rows) (planner.Press, error) {
		var p planner.Press
		var happened, entered int64
		var until, strikes sql.NullInt64
		var place, once, terms, whom sql.NullString
		if err := rows.Scan(&p.ID, &p.Kind, &p.Key.Boat, &p.Key.Area, &p.Key.Stage, &p.Pass, &place,
			&happened, &entered, &p.By, &p.Note, &until, &once, &strikes, &terms, &whom, &p.Other.Boat, &p.Other.Area, &p.Other.Stage); err != nil {
			return p, err
		}
		p.Place, p.Once, p.Strikes, p.Terms = place.String, once.String, strikes.Int64, terms.String
		p.For, p.Checks = whom.String, checks[p.ID]
		p.Happened, p.Entered, p.Until = fromMillis(happened), fromMillis(entered), fromMaybeMillis(until)
		return p, nil
	})
}
