package store

import (
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
)

// ErrNone is that a folder holds no store.
var ErrNone = errors.New("there is no store")

// Read opens the store in a folder to read only, beside a daemon that may be
// writing to it. Its Commit fails.
func Read(dir string) (_ *Store, err error) {
	path := filepath.Join(dir, fileName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w in %s", ErrNone, dir)
	}
	s := &Store{}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.Close())
		}
	}()
	if s.packer, err = newPacker(); err != nil {
		return nil, err
	}
	if s.reader, err = openPool(path, url.Values{"mode": {"ro"}, "_query_only": {"1"}, "_busy_timeout": {"2000"}}, 4); err != nil {
		return nil, err
	}
	var have int64
	if err := s.reader.QueryRow(`SELECT max(version_id) FROM goose_db_version WHERE is_applied`).Scan(&have); err != nil {
		return nil, fmt.Errorf("the store in %s can't be read: %w", dir, err)
	}
	if want, err := newest(); err != nil || have != want {
		return nil, errors.Join(err, fmt.Errorf("the store in %s has schema %d and this program reads %d; the daemon and this command must be of one version, and an older store is brought up to date by fairwindow run", dir, have, want))
	}
	return s, nil
}
