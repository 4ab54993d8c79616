package file

import (
	"bytes"
	"encoding"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"

	"fairwindow/config"
)

// A CSV file of boats has one row for each area; the boat's own columns are
// repeated on each of its rows, or left empty after the first.

// column is one column of the file. Of a boat or of an area, as a pointer to
// the string or the quantity that the cell holds.
type column struct {
	key  string
	boat func(*config.Boat) any
	area func(*config.Area) any
}

var columns = []column{
	{key: "boat", boat: func(b *config.Boat) any { return &b.Name }},
	{key: "owner", boat: func(b *config.Boat) any { return &b.Owner }},
	{key: "length", boat: func(b *config.Boat) any { return &b.Length }},
	{key: "beam", boat: func(b *config.Boat) any { return &b.Beam }},
	{key: "height", boat: func(b *config.Boat) any { return &b.Height }},
	{key: "weight", boat: func(b *config.Boat) any { return &b.Weight }},
	{key: "build", boat: func(b *config.Boat) any { return &b.Build }},
	{key: "colour", boat: func(b *config.Boat) any { return &b.Colour }},
	{key: "skin", boat: func(b *config.Boat) any { return layers{&b.Skin} }},
	{key: "behind", boat: func(b *config.Boat) any { return &b.Behind }},
	{key: "arrives", boat: func(b *config.Boat) any { return &b.Arrives }},
	{key: "promised", boat: func(b *config.Boat) any { return &b.Promised }},
	{key: "warranty", boat: func(b *config.Boat) any { return &b.Warranty }},
	{key: "place", boat: func(b *config.Boat) any { return &b.Place }},
	{key: "area", area: func(a *config.Area) any { return &a.Name }},
	{key: "system", area: func(a *config.Area) any { return &a.System }},
	{key: "size", area: func(a *config.Area) any { return &a.Size }},
	{key: "done", area: func(a *config.Area) any { return &a.Done }},
	{key: "done_at", area: func(a *config.Area) any { return &a.DoneAt }},
	{key: "after", area: func(a *config.Area) any { return &a.After }},
}

// must are the columns without which no boat can be read.
var must = []string{"boat", "length", "beam", "arrives", "promised", "area", "system", "size"}

type quantity interface {
	encoding.TextUnmarshaler
	encoding.TextMarshaler
}

func setCell(field any, text string) error {
	if q, ok := field.(quantity); ok {
		return q.UnmarshalText([]byte(text))
	}
	*field.(*string) = text
	return nil
}

func cell(field any) string {
	if q, ok := field.(quantity); ok {
		text, err := q.MarshalText()
		if err != nil {
			return ""
		}
		return string(text)
	}
	return *field.(*string)
}

// table is a CSV file while it is read.
type table struct {
	name     string
	reader   *csv.Reader
	heads    []*column // by position; nil for a column that is not known
	boats    []config.Boat
	number   map[string]int // a boat's index by its name
	marks    map[string]mark
	mistakes Mistakes
}

// mark is where a path stands in the file.
type mark struct {
	line, column int
	broken       bool
}

func readCSV(name string, data []byte) ([]config.Boat, Mistakes, locator) {
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	// A spreadsheet's usual CSV is in its country's code page, its "Unicode text" in UTF-16.
	line, column, what := notText(data)
	if utf16(data) {
		line, column, what = 1, 1, "the file is in UTF-16"
	}
	if what != "" {
		return nil, Mistakes{{File: name, Line: line, Column: column, What: what, Right: "save the file as CSV in UTF-8"}}, nil
	}
	reader := csv.NewReader(bytes.NewReader(data))
	reader.FieldsPerRecord = -1
	// Spreadsheets set to a decimal comma part with semicolons.
	if first, _, _ := bytes.Cut(data, []byte("\n")); bytes.Count(first, []byte(";")) > bytes.Count(first, []byte(",")) {
		reader.Comma = ';'
	}
	t := &table{name: name, reader: reader, number: map[string]int{}, marks: map[string]mark{}}
	row, err := reader.Read()
	if errors.Is(err, io.EOF) {
		return nil, Mistakes{{File: name, What: "the file is empty", Right: "start with a row of column names: " + strings.Join(headings(), ",")}}, nil
	}
	if err != nil || !t.header(row) {
		t.torn(err)
		return nil, t.mistakes, nil
	}
	for {
		row, err = reader.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.torn(err)
			break
		}
		t.row(row)
	}
	return t.boats, t.mistakes, t.locate
}

func headings() []string {
	all := make([]string, len(columns))
	for i, c := range columns {
		all[i] = c.key
	}
	return all
}

func (t *table) torn(err error) {
	var at *csv.ParseError
	if errors.As(err, &at) {
		t.mistakes = append(t.mistakes, Mistake{File: t.name, Line: at.Line, Column: at.Column, What: "this is not CSV: " + at.Err.Error(), Right: "put quotes around a cell with a comma in it, and double the quotes inside"})
	}
}

// header reads the row of column names, and reports whether the rest can be read.
func (t *table) header(row []string) bool {
	given := map[string]bool{}
	for i, head := range row {
		line, col := t.reader.FieldPos(i)
		key := strings.ToLower(strings.TrimSpace(head))
		if key == "" {
			t.heads = append(t.heads, nil)
			continue
		}
		found := columnNamed(key)
		t.heads = append(t.heads, found)
		switch {
		case found == nil:
			right := "use " + list(headings())
			if near, ok := config.Near(key, headings()); ok {
				right = fmt.Sprintf("did you mean %s?", near)
				given[near] = true
			}
			t.mistakes = append(t.mistakes, Mistake{File: t.name, Line: line, Column: col, What: fmt.Sprintf("there is no column %q", key), Right: right})
		case given[key]:
			t.mistakes = append(t.mistakes, Mistake{File: t.name, Line: line, Column: col, What: fmt.Sprintf("column %q is there twice", key), Right: "write each column once"})
		}
		given[key] = true
	}
	for _, key := range must {
		if !given[key] {
			t.mistakes = append(t.mistakes, Mistake{File: t.name, Line: 1, Column: 1, What: fmt.Sprintf("the column %q is missing", key), Right: "write the columns " + list(must) + " at least"})
		}
	}
	return len(t.mistakes) == 0
}

func columnNamed(key string) *column {
	for i := range columns {
		if columns[i].key == key {
			return &columns[i]
		}
	}
	return nil
}

// row reads one area, and its boat where that is new.
func (t *table) row(row []string) {
	var boat config.Boat
	var area config.Area
	path := fmt.Sprintf("boats[%d]", len(t.boats))
	name := ""
	for i, text := range row {
		if i < len(t.heads) && t.heads[i] != nil && t.heads[i].key == "boat" {
			name = strings.TrimSpace(text)
		}
	}
	number, known := t.number[name]
	if known {
		path = fmt.Sprintf("boats[%d]", number)
		boat = t.boats[number]
	}
	inside := fmt.Sprintf("%s.areas[%d]", path, len(boat.Areas))
	empty, noArea := true, true
	for i, text := range row {
		text = strings.TrimSpace(text)
		empty = empty && text == ""
		if i >= len(t.heads) {
			if text != "" {
				line, col := t.reader.FieldPos(i)
				t.mistakes = append(t.mistakes, Mistake{File: t.name, Line: line, Column: col, What: fmt.Sprintf("%q stands in no column", text), Right: "put quotes around a cell with a comma in it"})
			}
			continue
		}
		switch head := t.heads[i]; {
		case head == nil:
		case head.area != nil:
			noArea = noArea && text == ""
			t.set(inside+"."+head.key, i, head.area(&area), text)
		case !known:
			t.set(path+"."+head.key, i, head.boat(&boat), text)
		default:
			t.agrees(i, head, &boat, text)
		}
	}
	if empty {
		return
	}
	line, col := t.reader.FieldPos(0)
	if !known {
		number = len(t.boats)
		t.number[name] = number
		t.boats = append(t.boats, boat)
		t.marks[path] = mark{line: line, column: col}
	}
	if !noArea {
		t.marks[inside] = mark{line: line, column: col}
		t.boats[number].Areas = append(t.boats[number].Areas, area)
	}
}

func (t *table) set(path string, i int, field any, text string) {
	line, col := t.reader.FieldPos(i)
	m := mark{line: line, column: col}
	if err := setCell(field, text); err != nil {
		m.broken = true
		what, right, _ := strings.Cut(err.Error(), "; ")
		t.mistakes = append(t.mistakes, Mistake{File: t.name, Line: line, Column: col, Path: path, What: what, Right: right})
	}
	t.marks[path] = m
}

// agrees checks that a boat's later row says of the boat what its first row said.
func (t *table) agrees(i int, head *column, boat *config.Boat, text string) {
	var again config.Boat
	if text == "" {
		return
	}
	if err := setCell(head.boat(&again), text); err == nil && cell(head.boat(&again)) == cell(head.boat(boat)) {
		return
	}
	line, col := t.reader.FieldPos(i)
	t.mistakes = append(t.mistakes, Mistake{
		File: t.name, Line: line, Column: col,
		What:  fmt.Sprintf("boat %q has another %s (%s) further up than here (%s)", boat.Name, head.key, cell(head.boat(boat)), text),
		Right: "write the same on all rows of a boat, or leave it empty after the first",
	})
}

// locate finds a path, or the row that it would be in.
func (t *table) locate(path string) (line, column int, known bool) {
	for {
		if m, ok := t.marks[path]; ok {
			return m.line, m.column, m.broken
		}
		cut := strings.LastIndexByte(path, '.')
		if cut < 0 {
			return 1, 1, false
		}
		path = path[:cut]
	}
}

func writeCSV(boats []config.Boat) ([]byte, error) {
	var out bytes.Buffer
	w := csv.NewWriter(&out)
	if err := w.Write(headings()); err != nil {
		return nil, err
	}
	for _, b := range boats {
		areas := b.Areas
		if len(areas) == 0 {
			areas = []config.Area{{}}
		}
		for _, a := range areas {
			row := make([]string, len(columns))
			for i, c := range columns {
				if c.boat != nil {
					row[i] = cell(c.boat(&b))
				} else {
					row[i] = cell(c.area(&a))
				}
			}
			if err := w.Write(row); err != nil {
				return nil, err
			}
		}
	}
	w.Flush()
	return out.Bytes(), w.Error()
}
