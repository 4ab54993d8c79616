package store

import (
	"context"
	"database/sql"
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
	Why      string // it is removed
	Once     string // of the form that said so
}

// BoatRow is a boat as it stands.
type BoatRow struct {
	Boat     config.Boat
	Revision int64 // from 1
	By       string
	At       time.Time
}

func editBoats(tx *sql.Tx, edits []BoatEdit, at time.Time) error {
	for _, e := range edits {
		edit := config.Edit[config.Boat]{To: e.Boat, From: e.Revision, Removed: e.Removed, By: e.By, Why: e.Why, Once: e.Once}
		if err := revise(tx, boatShelf, e.Boat.Name, edit, at); err != nil {
			return err
		}
	}
	return nil
}

func editSystems(tx *sql.Tx, edits []config.Edit[config.System], at time.Time) error {
	for _, e := range edits {
		if err := revise(tx, systemShelf, e.To.Name, e, at); err != nil {
			return err
		}
	}
	return nil
}

// Boats gives the boats in the yard's book, by name.
func (s *Store) Boats(ctx context.Context) ([]BoatRow, error) {
	all, err := latest[config.Boat](ctx, s, boatShelf, false)
	var rows []BoatRow
	for _, v := range all {
		rows = append(rows, BoatRow{Boat: v.Of, Revision: v.Revision, By: v.By, At: v.At})
	}
	return rows, err
}

// RemovedBoats are those taken out of the book, by name.
func (s *Store) RemovedBoats(ctx context.Context) ([]config.Version[config.Boat], error) {
	return latest[config.Boat](ctx, s, boatShelf, true)
}

// Orders gives by name what each boat in the book is, and what it was each time that it
// was taken out of it.
func (s *Store) Orders(ctx context.Context) (map[string][]config.Boat, error) {
	rows, err := s.reader.QueryContext(ctx, `SELECT boat, revision, removed, by, at, why FROM boats b
		WHERE removed OR revision = (SELECT max(revision) FROM boats WHERE name = b.name) ORDER BY name, revision DESC`)
	all, err := collect(rows, err, version[config.Boat])
	orders := map[string][]config.Boat{}
	for _, v := range all {
		orders[v.Of.Name] = append(orders[v.Of.Name], v.Of)
	}
	return orders, err
}

// BoatVersions are all that a boat has been, newest first.
func (s *Store) BoatVersions(ctx context.Context, name string) ([]config.Version[config.Boat], error) {
	return revisions[config.Boat](ctx, s, boatShelf, name)
}

// Systems are those that people wrote on the pages, by name.
func (s *Store) Systems(ctx context.Context) ([]config.Version[config.System], error) {
	return latest[config.System](ctx, s, systemShelf, false)
}

// SystemVersions are all that a system has been, newest first.
func (s *Store) SystemVersions(ctx context.Context, name string) ([]config.Version[config.System], error) {
	return revisions[config.System](ctx, s, systemShelf, name)
}
