package sensors

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
)

// GrowingFile reads a file that a logger or a gateway goes on writing, line by
// line: CSV whose first line names the columns, or a JSON document a line (see
// rows). It may be rotated: a file that was renamed is read to its end before
// the one that took its name. Where a copy is made and the file then emptied,
// what is written between the two is gone with the emptying.
type GrowingFile struct {
	options File
	rows    rows
	state   FileState
	alone   bool // what was rotated away beside it is read by others
	number  func(was int) int
}

// File is what a GrowingFile needs.
type File struct {
	Path    string
	Sensors []config.Sensor // those whose File is another are ignored
	Zone    *time.Location  // the yard's
	Decode  Decode
	Intake  Intake
	Clock   clockwork.Clock
	State   FileState // as kept from the last run; zero to begin
}

// FileState is how far a file was read. The caller keeps it, after each Poll
// that moved it; if it is lost the file is read again, and its rows have the
// same keys as before.
type FileState struct {
	Offset int64 `json:"offset"`
	// Line counts the lines before Offset; 0 is not known.
	Line int `json:"line,omitempty"`
	// Last is a digest of the bytes before Offset, by which a file that was
	// replaced by another is told from one that grew.
	Last string `json:"last,omitempty"`
	// File counts the files that stood under this path.
	File int `json:"file,omitempty"`
	// Node is the file itself, whatever it is called now.
	Node string `json:"node,omitempty"`
}

// chunk is the most that is read at once, and so the longest line, bytes.
const chunk = 1 << 20

// lastBytes is how much before the offset is compared, bytes.
const lastBytes = 256

// NewGrowingFile checks the sensors' zones.
func NewGrowingFile(f File) (*GrowingFile, error) {
	var err error
	t := &GrowingFile{options: f, state: f.State, number: func(was int) int { return was + 1 }}
	t.rows, err = newRows(f)
	return t, err
}

// State is how far the file was read and taken in.
func (t *GrowingFile) State() FileState { return t.state }

// Poll takes in the complete lines that were written since the last one; a line
// without its end waits, unless its file was rotated away. A file that is not
// there yet is no error. A file that was replaced is read from its start.
func (t *GrowingFile) Poll(ctx context.Context) error { return t.poll(ctx, false) }

// poll with whole also takes in a last line that has no end.
func (t *GrowingFile) poll(ctx context.Context, whole bool) error {
	f, err := os.Open(t.options.Path)
	if errors.Is(err, os.ErrNotExist) {
		f, err = nil, nil
	}
	if err != nil {
		return err
	}
	if f != nil {
		defer f.Close()
	}
	begun := t.state != FileState{File: t.state.File}
	if begun && (f == nil || !t.state.is(f)) {
		if err := t.finishRotated(ctx, f); err != nil || empty(f) {
			return err
		}
		return t.follow(ctx, f, FileState{File: t.number(t.state.File), Node: node(f)}, whole)
	}
	if f == nil {
		return nil
	}
	from := t.state
	from.Node = node(f)
	return t.follow(ctx, f, from, whole)
}

// finishRotated reads on in what stood under our path before, and in what stood
// there between that and f. While nothing stands there now, the old one may
// still be written, and its last line waits.
func (t *GrowingFile) finishRotated(ctx context.Context, f *os.File) error {
	names := t.rotatedAway()
	for i, name := range names {
		old, err := os.Open(name)
		if err != nil {
			return err // moved on meanwhile: found at the next Poll
		}
		from := t.state
		if i > 0 {
			from = FileState{File: t.number(t.state.File)}
		}
		from.Node = node(old)
		err = t.follow(ctx, old, from, !empty(f) || i < len(names)-1)
		old.Close()
		if err != nil {
			return err
		}
	}
	return nil
}

// room is how much there is to read behind an offset, a chunk at most, with one
// byte more by which the end is seen.
func room(f *os.File, at int64) int64 {
	info, err := f.Stat()
	if err != nil {
		return chunk
	}
	return max(1, min(chunk, info.Size()-at+1))
}

func empty(f *os.File) bool {
	if f == nil {
		return true
	}
	info, err := f.Stat()
	return err != nil || info.Size() == 0
}

// node tells a file from all others that are there, whatever their names.
func node(f *os.File) string {
	info, err := f.Stat()
	if err != nil {
		return ""
	}
	return nodeOf(info)
}

func nodeOf(info os.FileInfo) string {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		return fmt.Sprintf("%d-%d", s.Dev, s.Ino)
	}
	return ""
}

// is reports whether a state is of this file: it is the same one, as far as that
// is known, and what was read of it stands in it.
func (s FileState) is(f *os.File) bool {
	return (s.Node == "" || s.Node == node(f)) && s.stands(f)
}

// stands reports whether the bytes before the offset are there.
func (s FileState) stands(f *os.File) bool {
	if s.Offset == 0 {
		return true
	}
	last, err := before(f, s.Offset)
	return err == nil && last == s.Last
}

// before digests the bytes before an offset; "" if the file ends sooner.
func before(f *os.File, offset int64) (string, error) {
	n := min(offset, lastBytes)
	buf := make([]byte, n)
	_, err := f.ReadAt(buf, offset-n)
	if err == io.EOF {
		return "", nil
	}
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(buf)
	return hex.EncodeToString(sum[:8]), nil
}

// linesBefore counts the lines that end before an offset.
func linesBefore(f *os.File, offset int64) (int, error) {
	n, text := 0, bufio.NewReader(io.NewSectionReader(f, 0, offset))
	for {
		_, err := text.ReadSlice('\n')
		switch {
		case err == io.EOF:
			return n, nil
		case err == nil:
			n++
		case err != bufio.ErrBufferFull:
			return n, err
		}
	}
}

// follow takes in a file from where it was read to.
func (t *GrowingFile) follow(ctx context.Context, f *os.File, from FileState, whole bool) error {
	head, start, err := t.rows.head(f)
	if err != nil {
		return err
	}
	if t.rows.titled && start == 0 {
		if from.Offset == 0 {
			t.state = from
		}
		return nil // its first line is not complete
	}
	at := max(from.Offset, start)
	if from.Line == 0 {
		if from.Line, err = linesBefore(f, at); err != nil {
			return err
		}
	}
	buf := make([]byte, room(f, at))
	for ctx.Err() == nil {
		n, err := f.ReadAt(buf, at)
		if err != nil && err != io.EOF {
			return fmt.Errorf("%s: %w", f.Name(), err)
		}
		end := bytes.LastIndexByte(buf[:n], '\n') + 1
		if whole && err == io.EOF || end == 0 && n == chunk {
			end = n // a line longer than any row: kept, as unreadable pieces
		}
		if end == 0 {
			if from.Offset == 0 {
				t.state = from // it has been seen
			}
			return nil
		}
		if from, err = t.step(ctx, f, head, buf[:end], at, from); err != nil {
			return fmt.Errorf("%s: %w", f.Name(), err)
		}
		at += int64(end)
	}
	return ctx.Err()
}

// step takes in complete lines, a batch at a time. The state moves with each
// batch, only after the intake has committed it.
func (t *GrowingFile) step(ctx context.Context, f *os.File, head columns, text []byte, at int64, from FileState) (FileState, error) {
	now := t.options.Clock.Now()
	var readings []Reading
	next, lines := at, from.Line
	for len(text) > 0 {
		line := text
		if i := bytes.IndexByte(text, '\n'); i >= 0 {
			line = text[:i+1]
		}
		text = text[len(line):]
		if len(bytes.TrimSpace(line)) > 0 {
			readings = append(readings, t.rows.read(line, head, Message{
				Received: now, Sequence: fmt.Sprintf("%d/%d", from.File, next), Where: filepath.Base(f.Name()) + ":" + strconv.Itoa(lines+1),
			})...)
		}
		next += int64(len(line))
		lines += bytes.Count(line, []byte{'\n'})
		if len(readings) < batch && len(text) > 0 {
			continue
		}
		if len(readings) > 0 {
			if err := t.options.Intake(ctx, readings); err != nil {
				return from, err
			}
			readings = nil // the intake may keep it
		}
		last, err := before(f, next)
		if err != nil {
			return from, err
		}
		from.Offset, from.Line, from.Last = next, lines, last
		t.state = from
	}
	return from, nil
}
