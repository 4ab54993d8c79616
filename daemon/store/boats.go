package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"fairwindow/config"
)

// BoatEdit puts a boat in, changes it or takes it out. Only its name counts
// when it is removed: what was last known of it stays in the file.
type BoatEdit struct {
	Boat     config.Boat
	Removed  bool
	Revision int64 // the one that was edited; 0 for a new boat
	By       string
}

// BoatRow is a boat as it stands.
type BoatRow struct {
	Boat     config.Boat
	Revision int64 // from 1
	By       string
	At       time.Time
}

// ConflictError says that a boat is no longer as the editor saw it.
type ConflictError struct {
	Boat     string
	Edited   int64 // the revision that was edited
	Revision int64 // the revision that stands; 0 if there is none
	Removed  bool
	By       string // who made it
	At       time.Time
}

func (e *ConflictError) Error() string {
	switch {
	case e.Revision == 0:
		return fmt.Sprintf("there is no boat %q to change; put it in as a new one", e.Boat)
	case e.Removed:
		return fmt.Sprintf("boat %q was taken out by %s at %s; put it in again as a new one", e.Boat, e.By, e.At.Format(time.RFC3339))
	case e.Edited == 0:
		return fmt.Sprintf("there is a boat %q already, last changed by %s at %s; give the new one another name", e.Boat, e.By, e.At.Format(time.RFC3339))
	}
	return fmt.Sprintf("boat %q was changed by %s at %s: it is at revision %d, you edited revision %d; look at it again and repeat your change",
		e.Boat, e.By, e.At.Format(time.RFC3339), e.Revision, e.Edited)
}

// editBoats adds a revision for each edit. An edit that asks for what stands
// already adds none, so that one sent twice is no conflict with itself.
func editBoats(tx *sql.Tx, edits []BoatEdit, at time.Time) error {
	for _, e := range edits {
		name := e.Boat.Name
		if name == "" {
			return errors.New("a boat needs a name")
		}
		body, err := json.Marshal(e.Boat)
		if err != nil {
			return fmt.Errorf("boat %q: %w", name, err)
		}
		stands := ConflictError{Boat: name, Edited: e.Revision}
		var old string
		var changed int64
		err = tx.QueryRow(`SELECT revision, removed, by, at, boat FROM boats WHERE name = ? ORDER BY revision DESC LIMIT 1`, name).
			Scan(&stands.Revision, &stands.Removed, &stands.By, &changed, &old)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("boat %q: %w", name, err)
		}
		stands.At = fromMillis(changed)
		if stands.Revision > 0 && stands.Removed == e.Removed && (e.Removed || old == string(body)) {
			continue
		}
		fresh := e.Revision == 0 && !e.Removed && (stands.Revision == 0 || stands.Removed)
		edited := stands.Revision > 0 && !stands.Removed && e.Revision == stands.Revision
		if !fresh && !edited {
			return &stands
		}
		if e.Removed {
			body = []byte(old)
		}
		if _, err := tx.Exec(`INSERT INTO boats (name, revision, removed, by, at, boat) VALUES (?, ?, ?, ?, ?, ?)`,
			name, stands.Revision+1, e.Removed, e.By, millis(at), string(body)); err != nil {
			return fmt.Errorf("boat %q: %w", name, err)
		}
	}
	return nil
}

// Boats gives the boats in the yard's book, by name.
func (s *Store) Boats(ctx context.Context) ([]BoatRow, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT boat, revision, by, at FROM boats b WHERE NOT removed
		AND revision = (SELECT max(revision) FROM boats WHERE name = b.name) ORDER BY name`)
	return collect(rows, err, func(rows *sql.Rows) (BoatRow, error) {
		var row BoatRow
		var body []byte
		var at int64
		if err := rows.Scan(&body, &row.Revision, &row.By, &at); err != nil {
			return row, err
		}
		row.At = fromMillis(at)
		return row, json.Unmarshal(body, &row.Boat)
	})
}
