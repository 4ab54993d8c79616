package sensors

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
)

// documentLimit is the longest forecast document, bytes. Real ones are below 1 MiB.
const documentLimit = 8 << 20

// Folder takes in the forecasts that something else puts into a directory. It
// keeps in memory which files it has seen; after a restart it offers them again
// with the same Received, which is the file's time, so an old file never passes
// for a new forecast.
type Folder struct {
	options FolderOptions
	seen    map[string]seenFile
}

// FolderOptions is what a Folder needs.
type FolderOptions struct {
	Source config.Forecast
	Zone   *time.Location // the yard's
	Parse  Parse
	Intake ForecastIntake
	Clock  clockwork.Clock
	Failed func(file string, err error) // told once of each file that is no forecast; may be nil
}

type seenFile struct {
	size   int64
	mod    time.Time
	digest [sha256.Size]byte
}

// NewFolder watches the source's Folder.
func NewFolder(o FolderOptions) *Folder {
	return &Folder{options: o, seen: map[string]seenFile{}}
}

// Poll takes in files that are new or have changed, the oldest first, so that what is
// said of the folder last is of its newest file also after a restart. A file that is no
// forecast, or is still being written, is told to Failed and tried again when it
// changes. Names that begin with a dot or end in .tmp or ~ are someone's work in
// progress. The error is of the folder or of the intake; files that were not
// taken in because of it are offered again at the next Poll.
func (f *Folder) Poll(ctx context.Context) error {
	names, err := f.oldestFirst()
	if err != nil {
		return fmt.Errorf("forecast %s: %w", f.options.Source.Name, err)
	}
	there := map[string]bool{}
	for _, name := range names {
		there[name] = true
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := f.file(ctx, name); err != nil {
			return fmt.Errorf("forecast %s: %s: %w", f.options.Source.Name, name, err)
		}
	}
	for name := range f.seen {
		if !there[name] {
			delete(f.seen, name)
		}
	}
	return nil
}

// oldestFirst is the folder's files that may be whole forecasts; of one time by name.
func (f *Folder) oldestFirst() ([]string, error) {
	entries, err := os.ReadDir(f.options.Source.Folder)
	if err != nil {
		return nil, err
	}
	var names []string
	times := map[string]time.Time{}
	for _, e := range entries {
		name := e.Name()
		if !e.Type().IsRegular() || strings.HasPrefix(name, ".") || strings.HasSuffix(name, ".tmp") || strings.HasSuffix(name, "~") {
			continue
		}
		info, err := e.Info()
		if err != nil {
			continue // taken away since the folder was listed
		}
		names, times[name] = append(names, name), info.ModTime()
	}
	slices.SortStableFunc(names, func(a, b string) int { return times[a].Compare(times[b]) })
	return names, nil
}

func (f *Folder) file(ctx context.Context, name string) error {
	body, s, err := f.read(name)
	if errors.Is(err, os.ErrNotExist) {
		return nil // replaced or taken away since the folder was listed
	}
	before, known := f.seen[name]
	if known && before.size == s.size && before.mod.Equal(s.mod) && before.digest == s.digest {
		return nil
	}
	if err != nil {
		f.failed(name, s, err)
		return nil
	}
	if known && before.digest == s.digest {
		f.seen[name] = s // touched, not changed
		return nil
	}
	received := s.mod
	if now := f.options.Clock.Now(); received.After(now) {
		received = now
	}
	d := Document{
		Source: f.options.Source.Name, Format: f.options.Source.Format, Body: body,
		Received: received.UTC(), Zone: f.options.Zone,
	}
	parsed, err := f.options.Parse(d)
	if err != nil {
		f.failed(name, s, err)
		return nil
	}
	if err := f.options.Intake(ctx, d, parsed); err != nil {
		return err
	}
	f.seen[name] = s
	return nil
}

func (f *Folder) failed(name string, s seenFile, err error) {
	f.seen[name] = s
	if f.options.Failed != nil {
		f.options.Failed(name, unnamed(f.options.Source.Name, err))
	}
}

// read opens the file once, so that one that is replaced meanwhile is read
// whole, old or new. A file of known size and time is not read again.
func (f *Folder) read(name string) ([]byte, seenFile, error) {
	file, err := os.Open(filepath.Join(f.options.Source.Folder, name))
	if err != nil {
		return nil, seenFile{}, err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return nil, seenFile{}, err
	}
	s := seenFile{size: info.Size(), mod: info.ModTime()}
	if before, known := f.seen[name]; known && before.size == s.size && before.mod.Equal(s.mod) {
		return nil, before, nil
	}
	body, err := io.ReadAll(io.LimitReader(file, documentLimit+1))
	if err == nil && len(body) > documentLimit {
		err = fmt.Errorf("longer than %d MiB; that is no forecast", documentLimit>>20)
	}
	s.digest = sha256.Sum256(body)
	return body, s, err
}
