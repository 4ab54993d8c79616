package sensors

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
)

// CSVFile reads a CSV file that a logger or a gateway goes on writing. Its
// first line names the columns, which the sensors' fields and times call by
// name; comma, semicolon or tab separate (semicolon files may have decimal
// commas). A line is one record: no line breaks inside quotes.
type CSVFile struct {
	options File
	zones   map[string]*time.Location
	state   FileState
}

// File is what a CSVFile needs.
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
	// Last is a digest of the bytes before Offset, by which a file that was
	// replaced by another is told from one that grew.
	Last string `json:"last,omitempty"`
	// File counts the files that stood under this path.
	File int `json:"file,omitempty"`
}

// chunk is the most that is read at once, and so the longest line, bytes.
const chunk = 1 << 20

// lastBytes is how much before the offset is compared, bytes.
const lastBytes = 256

// NewCSVFile checks the sensors' zones.
func NewCSVFile(f File) (*CSVFile, error) {
	t := &CSVFile{options: f, state: f.State}
	t.options.Sensors = nil
	for _, s := range f.Sensors {
		if s.File == f.Path {
			t.options.Sensors = append(t.options.Sensors, s)
		}
	}
	var err error
	t.zones, err = zones(t.options.Sensors, f.Zone)
	return t, err
}

// State is how far the file was read and taken in.
func (t *CSVFile) State() FileState { return t.state }

// Poll takes in the complete lines that were written since the last one; a line
// without its end waits. A file that is not there yet is no error. A file that
// was cut short or replaced is read from its start; what was written to the
// old one after the last Poll is gone with it, so poll often or rotate by
// starting a new file after a pause.
func (t *CSVFile) Poll(ctx context.Context) error {
	f, err := os.Open(t.options.Path)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	defer f.Close()
	if err := t.recognise(f); err != nil {
		return fmt.Errorf("%s: %w", t.options.Path, err)
	}
	header, start, err := head(f)
	if err != nil || start == 0 {
		return err
	}
	at := max(t.state.Offset, start)
	for ctx.Err() == nil {
		n, err := t.step(ctx, f, header, at)
		if err != nil {
			return fmt.Errorf("%s: %w", t.options.Path, err)
		}
		if n == 0 {
			return nil
		}
		at += n
	}
	return ctx.Err()
}

// recognise starts over when the bytes before the offset are no longer there.
func (t *CSVFile) recognise(f *os.File) error {
	if t.state.Offset == 0 {
		return nil
	}
	last, err := before(f, t.state.Offset)
	if err != nil {
		return err
	}
	if last != t.state.Last {
		t.state = FileState{File: t.state.File + 1}
	}
	return nil
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

type columns struct {
	names []string
	comma rune
}

// head reads the first line; start is where the rows begin, 0 while it is incomplete.
func head(f *os.File) (h columns, start int64, err error) {
	buf := make([]byte, chunk)
	n, err := f.ReadAt(buf, 0)
	if err != nil && err != io.EOF {
		return h, 0, err
	}
	end := bytes.IndexByte(buf[:n], '\n')
	if end < 0 {
		return h, 0, nil
	}
	line := strings.TrimPrefix(string(buf[:end]), "\ufeff")
	h.comma = Separator(line)
	h.names, err = Cells(line, h.comma)
	if err != nil {
		return h, 0, fmt.Errorf("%s:1: the header is not CSV: %w", f.Name(), err)
	}
	return h, int64(end) + 1, nil
}

// step takes in one chunk of complete lines and returns its length. The state
// moves only after the intake has committed.
func (t *CSVFile) step(ctx context.Context, f *os.File, h columns, at int64) (int64, error) {
	buf := make([]byte, chunk)
	n, err := f.ReadAt(buf, at)
	if err != nil && err != io.EOF {
		return 0, err
	}
	end := bytes.LastIndexByte(buf[:n], '\n') + 1
	if end == 0 && n == chunk {
		end = n // a line longer than any row: kept, as unreadable pieces
	}
	if end == 0 {
		return 0, nil
	}
	var readings []Reading
	offset := at
	now := t.options.Clock.Now()
	for _, line := range bytes.SplitAfter(buf[:end], []byte("\n")) {
		if len(bytes.TrimSpace(line)) > 0 {
			readings = append(readings, t.row(string(line), h, offset, now)...)
		}
		offset += int64(len(line))
	}
	if len(readings) > 0 {
		if err := t.options.Intake(ctx, readings); err != nil {
			return 0, err
		}
	}
	next := FileState{Offset: at + int64(end), File: t.state.File}
	if next.Last, err = before(f, next.Offset); err != nil {
		return 0, err
	}
	t.state = next
	return int64(end), nil
}

// row hands a line to Decode as a flat JSON object of its cells by column.
func (t *CSVFile) row(line string, h columns, offset int64, now time.Time) []Reading {
	m := Message{Topic: t.options.Path, Received: now, Sequence: fmt.Sprintf("%d/%d", t.state.File, offset)}
	cells, err := Cells(line, h.comma)
	if err != nil || len(cells) != len(h.names) {
		m.Payload = []byte(strings.TrimRight(line, "\r\n"))
	} else {
		row := map[string]string{}
		for i, name := range h.names {
			row[name] = cells[i]
		}
		m.Payload, _ = json.Marshal(row) // a map of strings always marshals
	}
	var readings []Reading
	for _, s := range t.options.Sensors {
		readings = append(readings, t.options.Decode(s, m, t.zones[s.Name])...)
	}
	return readings
}
