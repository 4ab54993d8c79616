package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"golang.org/x/sys/unix"
)

// InUseError says that another process has the folder.
type InUseError struct {
	Dir     string
	Process string // its id, as it wrote it
}

func (e *InUseError) Error() string {
	return fmt.Sprintf("%s is used by another fairwindow (process %s); stop it, or give this one a folder of its own", e.Dir, e.Process)
}

// lock takes the folder for this process. The lock dies with the process, so
// a file left behind by a crash does not bar the next start.
func lock(dir string) (*os.File, error) {
	file, err := os.OpenFile(filepath.Join(dir, "lock"), os.O_RDWR|os.O_CREATE, 0o640)
	if err != nil {
		return nil, fmt.Errorf("lock the store: %w", err)
	}
	if err := unix.Flock(int(file.Fd()), unix.LOCK_EX|unix.LOCK_NB); err != nil {
		defer file.Close()
		if !errors.Is(err, unix.EWOULDBLOCK) {
			return nil, fmt.Errorf("lock the store in %s: %w", dir, err)
		}
		process := "unknown"
		if text, err := os.ReadFile(file.Name()); err == nil && len(text) > 0 {
			process = strings.TrimSpace(string(text))
		}
		return nil, &InUseError{Dir: dir, Process: process}
	}
	if err := errors.Join(file.Truncate(0), writeProcess(file)); err != nil {
		return nil, errors.Join(fmt.Errorf("lock the store: %w", err), file.Close())
	}
	return file, nil
}

// unlock says that the folder is free rather than leave it to the closing: a child that another
// goroutine is just starting holds a copy of the file until it has become its own program.
func unlock(file *os.File) error {
	if err := unix.Flock(int(file.Fd()), unix.LOCK_UN); err != nil {
		return errors.Join(err, file.Close())
	}
	return file.Close()
}

func writeProcess(file *os.File) error {
	_, err := file.WriteAt(fmt.Appendf(nil, "%d\n", os.Getpid()), 0)
	return err
}
