package sensors

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// quiet is how long a file must not have changed before its last line is taken
// for whole though it has no end. Common practice, no source.
const quiet = time.Minute

// DropFolder reads every file that is put into a folder under a name of one
// pattern, such as drop/*.csv: each as a GrowingFile, oldest first. A file that
// is renamed within the folder is the same one still.
type DropFolder struct {
	options Drop
	state   DropState
}

// Drop is what a DropFolder needs.
type Drop struct {
	File           // Path is the pattern; State is not used
	From DropState // as kept from the last run; zero to begin
	// Keep is handed what is to be kept: each file's number before it is read, by
	// which its rows are known again, and how far it was read afterwards.
	Keep func(context.Context, DropState) error
}

// DropState is how far the files of a folder were read.
type DropState struct {
	Files map[string]FileState `json:"files,omitempty"` // by name within the folder
	Next  int                  `json:"next,omitempty"`  // the number of the next new file
}

// IsPattern reports whether a file's name stands for many.
func IsPattern(path string) bool { return strings.ContainsAny(path, "*?[") }

// NewDropFolder checks the pattern and the sensors' zones.
func NewDropFolder(o Drop) (*DropFolder, error) {
	if _, err := filepath.Match(filepath.Base(o.Path), ""); err != nil {
		return nil, fmt.Errorf("%s is no pattern of file names: %w", o.Path, err)
	}
	if _, err := newRows(o.File); err != nil {
		return nil, err
	}
	d := &DropFolder{options: o, state: DropState{Files: map[string]FileState{}, Next: o.From.Next}}
	maps.Copy(d.state.Files, o.From.Files)
	return d, nil
}

// Poll takes in what is new in every file. One that fails does not stop the others.
func (d *DropFolder) Poll(ctx context.Context) error {
	found, err := d.list()
	if err != nil {
		return err
	}
	names := d.order(found)
	if err := d.enter(ctx, names, found); err != nil {
		return err
	}
	var faults []error
	for _, name := range names {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err := d.read(ctx, name, found[name]); err != nil {
			faults = append(faults, err)
		}
	}
	return errors.Join(faults...)
}

// list is what the folder holds under names of the pattern.
func (d *DropFolder) list() (map[string]os.FileInfo, error) {
	entries, err := os.ReadDir(filepath.Dir(d.options.Path))
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	found := map[string]os.FileInfo{}
	for _, e := range entries {
		if ok, _ := filepath.Match(filepath.Base(d.options.Path), e.Name()); !ok {
			continue
		}
		if info, err := e.Info(); err == nil && info.Mode().IsRegular() {
			found[e.Name()] = info
		}
	}
	return found, nil
}

// enter knows renamed files again and gives new ones their numbers.
func (d *DropFolder) enter(ctx context.Context, names []string, found map[string]os.FileInfo) error {
	changed := d.rename(found)
	for _, name := range names {
		if _, known := d.state.Files[name]; !known && found[name] != nil {
			d.state.Files[name] = FileState{File: d.next(0), Node: nodeOf(found[name])}
			changed = true
		}
	}
	if !changed {
		return nil
	}
	return d.keep(ctx)
}

func (d *DropFolder) next(int) int {
	d.state.Next++
	return d.state.Next
}

func (d *DropFolder) keep(ctx context.Context) error {
	return d.options.Keep(ctx, DropState{Files: maps.Clone(d.state.Files), Next: d.state.Next})
}

// rename moves the states of files that have another name now.
func (d *DropFolder) rename(found map[string]os.FileInfo) bool {
	by := map[string]string{} // names by node
	for name, info := range found {
		by[nodeOf(info)] = name
	}
	moved := map[string]FileState{}
	for name, s := range d.state.Files {
		now, there := by[s.Node]
		if there && now != name && d.stands(now, s) {
			moved[now] = s
			delete(d.state.Files, name)
		}
	}
	maps.Copy(d.state.Files, moved)
	return len(moved) > 0
}

func (d *DropFolder) stands(name string, s FileState) bool {
	f, err := os.Open(d.path(name))
	if err != nil {
		return false
	}
	defer f.Close()
	return s.is(f)
}

func (d *DropFolder) path(name string) string {
	return filepath.Join(filepath.Dir(d.options.Path), name)
}

// order is every name that is there or was, oldest first: those that are gone
// may have been renamed out of the pattern with lines unread.
func (d *DropFolder) order(found map[string]os.FileInfo) []string {
	names := slices.Collect(maps.Keys(found))
	slices.SortFunc(names, func(a, b string) int {
		if c := found[a].ModTime().Compare(found[b].ModTime()); c != 0 {
			return c
		}
		return strings.Compare(a, b)
	})
	var gone []string
	for name := range d.state.Files {
		if found[name] == nil {
			gone = append(gone, name)
		}
	}
	slices.Sort(gone)
	return append(gone, names...)
}

// read takes in one file; info is nil if it is gone.
func (d *DropFolder) read(ctx context.Context, name string, info os.FileInfo) error {
	was, known := d.state.Files[name]
	if !known {
		return nil // renamed
	}
	one := &GrowingFile{options: d.options.File, state: was, alone: true, number: d.next}
	one.options.Path = d.path(name)
	one.rows, _ = newRows(d.options.File) // as checked before
	err := one.poll(ctx, info != nil && d.options.Clock.Since(info.ModTime()) >= quiet)
	d.state.Files[name] = one.state
	if info == nil && err == nil && len(one.rotatedAway()) == 0 {
		delete(d.state.Files, name) // gone for good
	} else if one.state == was {
		return err
	}
	return errors.Join(err, d.keep(ctx))
}
