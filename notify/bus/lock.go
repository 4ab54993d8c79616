package bus

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// ErrInUse is wrapped by what Open returns while another process has the store folder.
var ErrInUse = errors.New("is in use by another process")

// lock takes the store folder for this process, since the server itself would let two work in one
// folder. The kernel drops it when the process ends, however it ends.
func lock(dir string) (unlock func() error, err error) {
	if err := os.MkdirAll(dir, 0o750); err != nil {
		return nil, fmt.Errorf("bus: store folder: %w", err)
	}
	path := filepath.Join(dir, "lock")
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o640)
	if err != nil {
		return nil, fmt.Errorf("bus: store folder: %w", err)
	}
	if err := syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		file.Close()
		return nil, fmt.Errorf("bus: store folder %s %w: stop it or give another folder", dir, ErrInUse)
	}
	return func() error {
		// Said, not left to the closing: a child that another goroutine is just starting holds a copy
		// of the file until it has become its own program, and with it an unsaid lock.
		return errors.Join(syscall.Flock(int(file.Fd()), syscall.LOCK_UN), file.Close())
	}, nil
}
