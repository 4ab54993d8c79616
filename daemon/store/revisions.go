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

// shelf is a table of what people edit, a row for each revision.
type shelf struct{ table, column, noun string }

var (
	boatShelf   = shelf{"boats", "boat", "boat"}
	systemShelf = shelf{"systems", "system", "system"}
)

// ConflictError says that a boat or a system is no longer as the editor saw it.
type ConflictError struct {
	Noun     string // boat or system
	Name     string
	Edited   int64 // the revision that was edited
	Revision int64 // the revision that stands; 0 if there is none
	Removed  bool
	By       string // who made it
	At       time.Time
}

func (e *ConflictError) Error() string {
	switch {
	case e.Revision == 0:
		return fmt.Sprintf("there is no %s %q to change; put it in as a new one", e.Noun, e.Name)
	case e.Removed:
		return fmt.Sprintf("%s %q was taken out by %s at %s; put it in again as a new one", e.Noun, e.Name, e.By, e.At.Format(time.RFC3339))
	case e.Edited == 0:
		return fmt.Sprintf("there is a %s %q already, last changed by %s at %s; give the new one another name", e.Noun, e.Name, e.By, e.At.Format(time.RFC3339))
	}
	return fmt.Sprintf("%s %q was changed by %s at %s: it is at revision %d, you edited revision %d; look at it again and repeat your change",
		e.Noun, e.Name, e.By, e.At.Format(time.RFC3339), e.Revision, e.Edited)
}

// revise adds a revision for an edit. An edit that asks for what stands already, and
// one whose form was kept before, add none, so that one sent twice is no conflict with
// itself. Of what is removed only the name counts: what was last known of it stays.
func revise[T any](tx *sql.Tx, on shelf, name string, e config.Edit[T], at time.Time) error {
	fault := func(err error) error { return fmt.Errorf("%s %q: %w", on.noun, name, err) }
	if name == "" {
		return fmt.Errorf("a %s needs a name", on.noun)
	}
	body, err := json.Marshal(e.To)
	if err != nil {
		return fault(err)
	}
	if e.Once != "" {
		var known bool
		if err := tx.QueryRow(`SELECT EXISTS (SELECT 1 FROM `+on.table+` WHERE once = ?)`, e.Once).Scan(&known); err != nil || known {
			if err != nil {
				return fault(err)
			}
			return nil
		}
	}
	stands := ConflictError{Noun: on.noun, Name: name, Edited: e.From}
	var old string
	var changed int64
	err = tx.QueryRow(`SELECT revision, removed, by, at, `+on.column+` FROM `+on.table+` WHERE name = ? ORDER BY revision DESC LIMIT 1`, name).
		Scan(&stands.Revision, &stands.Removed, &stands.By, &changed, &old)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return fault(err)
	}
	stands.At = fromMillis(changed)
	if stands.Revision > 0 && stands.Removed == e.Removed && (e.Removed || old == string(body)) {
		return nil
	}
	fresh := e.From == 0 && !e.Removed && (stands.Revision == 0 || stands.Removed)
	edited := stands.Revision > 0 && !stands.Removed && e.From == stands.Revision
	if !fresh && !edited {
		return &stands
	}
	if e.Removed {
		body = []byte(old)
	}
	if _, err := tx.Exec(`INSERT INTO `+on.table+` (name, revision, removed, by, at, `+on.column+`, why, once) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
		name, stands.Revision+1, e.Removed, e.By, millis(at), string(body), e.Why, maybeText(e.Once)); err != nil {
		return fault(err)
	}
	return nil
}

// latest are the last revisions by name, of what is there or of what was removed.
func latest[T any](ctx context.Context, s *Store, on shelf, removed bool) ([]config.Version[T], error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT `+on.column+`, revision, removed, by, at, why FROM `+on.table+` b WHERE removed = ?
		AND revision = (SELECT max(revision) FROM `+on.table+` WHERE name = b.name) ORDER BY name`, removed)
	return collect(rows, err, version[T])
}

// revisions are all of one name, newest first.
func revisions[T any](ctx context.Context, s *Store, on shelf, name string) ([]config.Version[T], error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT `+on.column+`, revision, removed, by, at, why FROM `+on.table+` WHERE name = ? ORDER BY revision DESC`, name)
	return collect(rows, err, version[T])
}

func version[T any](rows *sql.Rows) (config.Version[T], error) {
	var v config.Version[T]
	var body []byte
	var at int64
	if err := rows.Scan(&body, &v.Revision, &v.Removed, &v.By, &at, &v.Why); err != nil {
		return v, err
	}
	v.At = fromMillis(at)
	return v, json.Unmarshal(body, &v.Of)
}
