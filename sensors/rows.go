package sensors

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"fairwindow/config"
)

// rows makes readings of the lines of a file. In CSV the first line names the
// columns, which the sensors' fields and times call by name; comma, semicolon
// or tab separate (semicolon files may have decimal commas); a line is one
// record, with no line breaks inside quotes. A file whose name ends in .jsonl or
// .ndjson has a JSON document in each line.
type rows struct {
	path    string
	titled  bool // the first line names the columns
	sensors []config.Sensor
	zones   map[string]*time.Location
	decode  Decode
}

func newRows(f File) (rows, error) {
	r := rows{path: f.Path, titled: !jsonLines(f.Path), decode: f.Decode}
	for _, s := range f.Sensors {
		if s.File == f.Path {
			r.sensors = append(r.sensors, s)
		}
	}
	var err error
	r.zones, err = zones(r.sensors, f.Zone)
	return r, err
}

func jsonLines(path string) bool {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".jsonl", ".ndjson":
		return true
	}
	return false
}

type columns struct {
	names []string
	twice map[string]bool // names that several have
	comma rune
}

// doubled says which column of a sensor's nobody can tell from another; empty if none.
func (h columns) doubled(s config.Sensor) string {
	if len(h.twice) == 0 {
		return ""
	}
	asked := []string{s.Time}
	for _, f := range s.Values {
		asked = append(asked, f.Path)
	}
	slices.Sort(asked)
	for _, name := range asked {
		if h.twice[name] {
			return fmt.Sprintf("two columns are called %q, and nobody knows which is meant", name)
		}
	}
	return ""
}

// head reads the first line; start is where the rows begin, 0 while it is
// incomplete and where there are no titles.
func (r rows) head(f *os.File) (h columns, start int64, err error) {
	if !r.titled {
		return h, 0, nil
	}
	buf := make([]byte, room(f, 0))
	n, err := f.ReadAt(buf, 0)
	if err != nil && err != io.EOF {
		return h, 0, err
	}
	end := bytes.IndexByte(buf[:n], '\n')
	if end < 0 {
		return h, 0, nil
	}
	line := strings.TrimPrefix(letters(buf[:end]), "\ufeff")
	h.comma = Separator(line)
	h.names, err = Cells(line, h.comma)
	if err != nil {
		return h, 0, fmt.Errorf("%s:1: the header is not CSV: %w", f.Name(), err)
	}
	seen := map[string]bool{}
	h.twice = map[string]bool{}
	for _, name := range h.names {
		if seen[name] && name != "" {
			h.twice[name] = true
		}
		seen[name] = true
	}
	return h, int64(end) + 1, nil
}

// letters is a line as text. What is no UTF-8 is taken for Latin-1, in which loggers often
// write: their degrees and micros stand there in every Western code page.
func letters(line []byte) string {
	if utf8.Valid(line) {
		return string(line)
	}
	text := make([]rune, len(line))
	for i, b := range line {
		text[i] = rune(b)
	}
	return string(text)
}

// read hands a line to Decode: as it is, or as a flat JSON object of its cells by column.
func (r rows) read(line []byte, h columns, m Message) []Reading {
	m.Topic, m.Payload = r.path, bytes.Clone(bytes.TrimRight(line, "\r\n"))
	as := m.Payload // as it stands in the file
	if r.titled {
		cells, err := Cells(letters(line), h.comma)
		switch {
		case err != nil:
			m.Broken = err.Error()
		case len(cells) != len(h.names):
			m.Broken = fmt.Sprintf("%d cells under the %d columns %s", len(cells), len(h.names), strings.Join(h.names, ", "))
		default:
			row := make(map[string]string, len(cells))
			for i, name := range h.names {
				row[name] = cells[i]
			}
			m.Payload, _ = json.Marshal(row) // a map of strings always marshals
		}
	}
	var readings []Reading
	for _, s := range r.sensors {
		one := m
		if why := h.doubled(s); why != "" && one.Broken == "" {
			one.Payload, one.Broken = as, why
		}
		readings = append(readings, r.decode(s, one, r.zones[s.Name])...)
	}
	return readings
}
