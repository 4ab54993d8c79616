package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"encoding/json"
	"errors"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/notify"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// Change is a fact and all that it caused, to be kept whole or not at all.
type Change struct {
	At        time.Time // the one now of the transaction
	Readings  []sensors.Reading
	Forecasts []NewForecast
	Boats     []BoatEdit
	Systems   []config.Edit[config.System]
	Presses   []planner.Press
	Terms     map[string]json.RawMessage // that Presses name, by their digest
	Entries   []record.Entry
	Signed    []NewSignature
	Plan      *NewPlan
	Release   *Release
	Clocks    []planner.CoatNow // each replaces the clock of its area
	Notices   []notify.Notice
	// Deliveries are what people are to be told of Notices or of earlier ones; Dropped and
	// Hastened change those that are held.
	Deliveries []notify.Delivery
	Dropped    []notify.Dropped
	Hastened   []notify.Moved
	Signatures []Signature                // whose hand it is
	Memory     map[string]json.RawMessage // of the guard and the cycle; a nil value deletes
}

// Committed is what a Change added. What was there already is left out.
type Committed struct {
	Readings  []sensors.Reading // with their IDs
	Repeats   int               // readings whose key was known
	Forecasts []int64           // one ID each, also for those that were known
	Presses   []planner.Press   // with their IDs
	Entries   []record.Entry    // with their IDs
	Signed    []record.Signature
	Plan      int64 // the ID, also if the plan was known; 0 without one
	Notices   []notify.Notice
}

// Commit keeps a change. When it returns without an error, the change is on
// the disk; with one, nothing of it is. A *ConflictError says that somebody
// else changed a boat or a system first. The context is heeded until writing begins.
func (s *Store) Commit(ctx context.Context, c Change) (Committed, error) {
	if c.At.IsZero() {
		return Committed{}, errors.New("a change needs its time")
	}
	var done Committed
	err := s.write(ctx, func(tx *sql.Tx) error {
		done = Committed{}
		if err := s.insertReadings(tx, c.Readings, &done); err != nil {
			return err
		}
		if err := s.insertForecasts(tx, c.Forecasts, &done); err != nil {
			return err
		}
		if err := editBoats(tx, c.Boats, c.At); err != nil {
			return err
		}
		if err := editSystems(tx, c.Systems, c.At); err != nil {
			return err
		}
		if err := insertPresses(tx, c.Presses, &done); err != nil {
			return err
		}
		if err := s.insertRecord(tx, c, &done); err != nil {
			return err
		}
		if err := s.insertPlan(tx, c, &done); err != nil {
			return err
		}
		if err := setClocks(tx, c.Clocks); err != nil {
			return err
		}
		if err := setMemory(tx, c.Memory); err != nil {
			return err
		}
		if err := insertNotices(tx, c.Notices, &done); err != nil {
			return err
		}
		if err := insertDeliveries(tx, c.Deliveries); err != nil {
			return err
		}
		if err := changeDeliveries(tx, c.Dropped, c.Hastened, c.At); err != nil {
			return err
		}
		return sign(tx, c.At, c.Signatures...)
	})
	if err != nil {
		return Committed{}, err
	}
	return done, nil
}

// write runs one write transaction. Within it no context may end a statement:
// SQLite would roll back, and what follows would be kept outside any
// transaction. After a fault the connection is given up for the same reason.
func (s *Store) write(ctx context.Context, do func(*sql.Tx) error) (err error) {
	if s.writer == nil {
		return errors.New("the store is open to read only; a change goes through the running daemon")
	}
	defer func() { err = explained(err) }()
	conn, err := s.writer.Conn(ctx)
	if err != nil {
		return err
	}
	defer conn.Close()
	tx, err := conn.BeginTx(context.WithoutCancel(ctx), nil)
	if err != nil {
		return err
	}
	kept := false
	defer func() {
		if !kept {
			_ = tx.Rollback()
			_ = conn.Raw(func(any) error { return driver.ErrBadConn })
		}
	}()
	if err := do(tx); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	kept = true
	return nil
}
