// Package store answers one question: what has the yard been told, and what
// did it say? It keeps readings, forecasts, boats, presses, plans and notices
// in one SQLite file; all SQL is here.
//
// What Commit returned without an error is on the disk. A fact and the notices
// that it caused are one transaction. Whatever is committed twice, as after a
// crash, counts once. Times are kept in UTC to the millisecond.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"

	_ "github.com/mattn/go-sqlite3" // the driver "sqlite3"
)

// fileName is the database within the folder.
const fileName = "fairwindow.db"

// Store is an open database. Its methods may be called from many goroutines.
type Store struct {
	lock *os.File
	// writer has one connection, which takes the write lock as a transaction
	// begins: one that reads first and writes later would fail at once if
	// another had committed between. Readers never wait for it.
	writer *sql.DB
	reader *sql.DB
	packer *packer
	// leftOpen: the process before did not close it.
	leftOpen bool
}

// Open opens the store in a folder, which it makes if need be, and brings an
// older file up to date. A folder in use by another fairwindow, and a file
// written by a newer one, are refused.
func Open(dir string) (_ *Store, err error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, fmt.Errorf("make the store's folder: %w", err)
	}
	s := &Store{}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.Close())
		}
	}()
	if s.lock, err = lock(dir); err != nil {
		return nil, err
	}
	s.leftOpen = leftOpen(dir)
	path := filepath.Join(dir, fileName)
	if s.packer, err = newPacker(); err != nil {
		return nil, err
	}
	if s.writer, err = openPool(path, url.Values{
		"_journal_mode": {"WAL"},
		"_synchronous":  {"FULL"}, // the driver's own default loses the last commits with the power
		"_busy_timeout": {"2000"}, // a context does not end a wait for a lock
		"_txlock":       {"immediate"},
		"_foreign_keys": {"1"},
	}, 1); err != nil {
		return nil, err
	}
	if err = migrate(context.Background(), s.writer, path); err != nil {
		return nil, err
	}
	if err = s.convert(context.Background()); err != nil {
		return nil, err
	}
	if err = s.catchUp(context.Background()); err != nil {
		return nil, err
	}
	if s.reader, err = openPool(path, url.Values{
		"mode":          {"ro"},
		"_query_only":   {"1"},
		"_busy_timeout": {"2000"},
	}, 4); err != nil {
		return nil, err
	}
	if s.leftOpen {
		// The quick check leaves the indexes out, which takes most of the time.
		if err = s.check(context.Background(), `PRAGMA quick_check(5)`); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// openPool opens a pool whose every connection has the same settings: a
// PRAGMA run on the pool would reach one of them only. The "file:" is needed,
// without it the driver drops what it does not know, such as mode=ro.
func openPool(path string, settings url.Values, connections int) (*sql.DB, error) {
	absolute, err := filepath.Abs(path)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	db, err := sql.Open("sqlite3", "file:"+(&url.URL{Path: absolute}).EscapedPath()+"?"+settings.Encode())
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", path, err)
	}
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	return db, nil
}

// Close closes the store; calls under way end first. It may be called twice.
func (s *Store) Close() error {
	var faults []error
	for _, pool := range []*sql.DB{s.reader, s.writer} {
		if pool != nil {
			faults = append(faults, pool.Close())
		}
	}
	if s.packer != nil {
		s.packer.close()
	}
	if s.lock != nil {
		if err := unlock(s.lock); !errors.Is(err, os.ErrClosed) {
			faults = append(faults, err)
		}
	}
	return errors.Join(faults...)
}
