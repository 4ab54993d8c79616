package store

import (
	"errors"
	"fmt"

	"github.com/mattn/go-sqlite3"
)

// TroubleError is what keeps the database from working whatever is asked of it: What it
// means and what to do, in words.
type TroubleError struct {
	What string
	Err  error
}

func (e *TroubleError) Error() string { return fmt.Sprintf("%s (%v)", e.What, e.Err) }
func (e *TroubleError) Unwrap() error { return e.Err }

// explained finds such trouble in what the database says.
func explained(err error) error {
	var fault sqlite3.Error
	if !errors.As(err, &fault) {
		return err
	}
	what := ""
	switch fault.Code {
	case sqlite3.ErrFull:
		what = "the disk with the state folder is full: free some room, no restart is needed"
	case sqlite3.ErrIoErr:
		what = "the disk with the state folder does not take or give what it should: is it full, worn or unplugged?"
	case sqlite3.ErrReadonly, sqlite3.ErrPerm:
		what = "the state folder may not be written: give its files to the user that runs fairwindow, or mount the disk to be written"
	case sqlite3.ErrCantOpen:
		what = "the database in the state folder can't be opened: is the folder there, and its user's?"
	case sqlite3.ErrCorrupt, sqlite3.ErrNotADB:
		what = "the database is damaged: stop the daemon, move the state folder away, keep it, and restore the last backup with fairwindow restore"
	default:
		return err
	}
	return &TroubleError{what, err}
}
