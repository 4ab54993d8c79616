package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// leftOpen reports whether the process before did not close the store: it left its
// write-ahead log, which SQLite takes in at the next opening, up to the last whole
// commit.
func leftOpen(dir string) bool {
	info, err := os.Stat(filepath.Join(dir, fileName+"-wal"))
	return err == nil && info.Size() > 0
}

// LeftOpen reports whether the process that had this store before did not close it, as
// after a crash. Open has then looked through the file and found it whole.
func (s *Store) LeftOpen() bool { return s.leftOpen }

// Sound looks through the whole file: its pages, its indexes against its rows, and what
// rows say of one another. It takes as long as reading the file.
func (s *Store) Sound(ctx context.Context) error {
	if err := s.check(ctx, `PRAGMA integrity_check(5)`); err != nil {
		return err
	}
	rows, err := s.reader.QueryContext(ctx, `PRAGMA foreign_key_check`)
	if err != nil {
		return err
	}
	defer rows.Close()
	if rows.Next() {
		return errors.New("the store is damaged: a row names another that is not there; restore a backup")
	}
	return rows.Err()
}

// check runs one of SQLite's own checks; each answers with one row, ok, or with a row
// for each fault.
func (s *Store) check(ctx context.Context, pragma string) error {
	rows, err := s.reader.QueryContext(ctx, pragma)
	if err != nil {
		return fmt.Errorf("the store can't be checked: %w", err)
	}
	defer rows.Close()
	for rows.Next() {
		var verdict string
		if err := rows.Scan(&verdict); err != nil {
			return err
		}
		if verdict != "ok" {
			return fmt.Errorf("the store is damaged: %s; restore a backup", verdict)
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("the store is damaged: %w; restore a backup", err)
	}
	return nil
}
