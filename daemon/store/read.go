package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
)

// Read opens the store in a folder to read only, beside a daemon that may be
// writing to it. Its Commit fails.
func Read(dir string) (_ *Store, err error) {
	path := filepath.Join(dir, fileName)
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("there is no store in %s", dir)
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
	if err := s.reader.PingContext(context.Background()); err != nil {
		return nil, fmt.Errorf("the store in %s can't be read: %w", dir, err)
	}
	return s, nil
}
