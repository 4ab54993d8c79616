package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
)

// Backup writes all that is in the store of a folder into one new file, as it stands at
// one moment, while a daemon may be writing to it. The file appears whole and checked, or
// not at all; one that is there already is refused.
func Backup(ctx context.Context, dir, to string) (err error) {
	if _, err := os.Lstat(to); err == nil {
		return fmt.Errorf("%s is there already; name a new file, or move that one away", to)
	}
	from := filepath.Join(dir, fileName)
	if _, err := os.Stat(from); errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("there is no store in %s", dir)
	}
	folder, err := os.MkdirTemp(filepath.Dir(to), ".backup-*")
	if err != nil {
		return fmt.Errorf("write beside %s: %w", to, err)
	}
	defer func() { err = errors.Join(err, os.RemoveAll(folder)) }()
	part := filepath.Join(folder, fileName)
	source, err := openPool(from, url.Values{"mode": {"ro"}, "_busy_timeout": {"2000"}}, 1)
	if err != nil {
		return err
	}
	defer source.Close()
	if _, err := source.ExecContext(ctx, `VACUUM INTO ?`, part); err != nil {
		return fmt.Errorf("copy %s: %w", from, err)
	}
	if err := check(ctx, part); err != nil {
		return fmt.Errorf("the copy of %s is no good: %w", from, err)
	}
	// It holds the hashes of passwords: not for everybody on the machine to read.
	if err := errors.Join(os.Chmod(part, 0o640), sync(part)); err != nil {
		return fmt.Errorf("write %s: %w", to, err)
	}
	return settle(part, to)
}

// Restore makes a new store in a folder from a backup. It refuses a folder in use or one
// that holds a store, a broken file, and one from a newer program.
func Restore(ctx context.Context, backup, dir string) (err error) {
	if err := check(ctx, backup); err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return fmt.Errorf("make the store's folder: %w", err)
	}
	held, err := lock(dir)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, unlock(held)) }()
	// What is left of a store's journal belongs to that store, and would be taken for this one's.
	there, err := filepath.Glob(filepath.Join(literal(dir), fileName+"*"))
	if err != nil {
		return err
	}
	if len(there) > 0 {
		return fmt.Errorf("%s holds a store already; name an empty folder with --state, or move %s and what begins like it away", dir, there[0])
	}
	part := filepath.Join(dir, "restoring")
	if err := copyFile(backup, part); err != nil {
		return errors.Join(fmt.Errorf("write %s: %w", part, err), os.Remove(part))
	}
	return settle(part, filepath.Join(dir, fileName))
}

// literal is a folder's name as a pattern that matches nothing else.
func literal(dir string) string {
	out := ""
	for _, r := range dir {
		if r == '*' || r == '?' || r == '[' || r == '\\' {
			out += `\`
		}
		out += string(r)
	}
	return out
}

// check says what is wrong with a file that should be a whole store and nobody writes to.
func check(ctx context.Context, path string) error {
	if _, err := os.Stat(path); err != nil {
		return err
	}
	db, err := openPool(path, url.Values{"mode": {"ro"}, "immutable": {"1"}}, 1)
	if err != nil {
		return err
	}
	defer db.Close()
	rows, err := db.QueryContext(ctx, `PRAGMA integrity_check(3)`)
	faults, err := collect(rows, err, func(rows *sql.Rows) (text string, err error) { return text, rows.Scan(&text) })
	if err != nil {
		return fmt.Errorf("%s is no store of fairwindow, or it is broken: %w; take another backup", path, err)
	}
	if len(faults) != 1 || faults[0] != "ok" {
		return fmt.Errorf("%s is broken: %q; take another backup", path, faults)
	}
	var have int64
	if err := db.QueryRowContext(ctx, `SELECT max(version_id) FROM goose_db_version WHERE is_applied`).Scan(&have); err != nil {
		return fmt.Errorf("%s is no store of fairwindow: %w", path, err)
	}
	if want, err := newest(); err != nil || have > want {
		return errors.Join(err, fmt.Errorf("%s was written by a newer fairwindow (its schema is %d, this program knows %d); restore it with that one", path, have, want))
	}
	return nil
}

// settle gives a file that is on the disk its name, unless that is taken.
func settle(part, to string) error {
	err := os.Link(part, to) // unlike a renaming it overwrites nothing
	switch {
	case errors.Is(err, fs.ErrExist):
		return errors.Join(fmt.Errorf("%s is there already; name a new file, or move that one away", to), os.Remove(part))
	case err != nil: // not every file system has links
		err = os.Rename(part, to)
	default:
		err = os.Remove(part)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", to, err)
	}
	return sync(filepath.Dir(to))
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.OpenFile(to, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o640)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close())
}

// sync waits until a file or a folder is on the disk.
func sync(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
