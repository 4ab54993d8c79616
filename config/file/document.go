package file

import (
	"bytes"
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"

	"fairwindow/config"
)

// document is a YAML file while it is read.
type document struct {
	name     string
	root     *yaml.Node
	readable bool // there is a root to look at
	mistakes Mistakes
	// broken are the nodes in which a mistake was found, guessed the keys that a
	// mistyped one beside them seems to mean. What a check says about either is
	// only the consequence.
	broken  map[*yaml.Node]bool
	guessed map[*yaml.Node][]string
	walked  map[visit]bool // aliased nodes that shape has seen
}

// open reads a YAML file into a pointer to a struct, strictly. It goes on after
// a mistake; the struct then lacks what could not be read.
func open(name string, data []byte, into any) *document {
	d := &document{name: name, broken: map[*yaml.Node]bool{}, guessed: map[*yaml.Node][]string{}, walked: map[visit]bool{}}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if len(bytes.TrimSpace(data)) == 0 {
		d.mistakes = Mistakes{{File: name, What: "the file is empty", Right: "start from the starter yard"}}
		return d
	}
	if line, column, what := notText(data); what != "" {
		d.mistakes = Mistakes{{File: name, Line: line, Column: column, What: what, Right: "save the file as plain text in UTF-8"}}
		return d
	}
	var root yaml.Node
	if err := yaml.Load(data, &root); err != nil {
		d.unreadable(err)
		return d
	}
	d.root, d.readable = &root, true
	if root.Kind == yaml.DocumentNode && len(root.Content) == 1 {
		d.root = root.Content[0]
	}
	d.shape(into)
	if err := yaml.Load(data, into); err != nil {
		d.values(err)
	}
	return d
}

// notText finds the first byte that no text has: YAML's own words for it name no line.
// UTF-16 is text when it begins with its mark.
func notText(data []byte) (line, column int, what string) {
	if utf16(data) {
		return 0, 0, ""
	}
	line, column = 1, 1
	for len(data) > 0 {
		r, size := utf8.DecodeRune(data)
		switch {
		case r == utf8.RuneError && size == 1:
			return line, column, fmt.Sprintf("the byte %#02x is no text in UTF-8", data[0])
		case r < ' ' && r != '\t' && r != '\n' && r != '\r', r == 0x7f:
			return line, column, fmt.Sprintf("there is a control character here, %U", r)
		case r == '\n':
			line, column = line+1, 0
		}
		column++
		data = data[size:]
	}
	return 0, 0, ""
}

// utf16 reports whether data begins with the mark of UTF-16, in either order of bytes.
func utf16(data []byte) bool {
	return bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff"))
}

// unreadable reports a file that is no YAML at all, or more than one document.
func (d *document) unreadable(err error) {
	d.readable = false
	m := Mistake{File: d.name, What: "this is not YAML: " + err.Error(), Right: "check the indentation, the quotes and the colons hereabouts"}
	var at *yaml.LoadError
	if errors.As(err, &at) {
		m.Line, m.Column = at.Mark.Line, at.Mark.Column
		if m.Line == 0 {
			m.Line, m.Column = at.ContextMark.Line, at.ContextMark.Column
		}
		m.What = "this is not YAML: " + at.Message
	}
	switch {
	case strings.Contains(err.Error(), "no documents"):
		m.What, m.Right = "the file is empty but for comments", "start from the starter yard"
	case strings.Contains(err.Error(), "single document"):
		m.What, m.Right = "there is more than one document in the file", "leave out the lines with ---"
	}
	d.mistakes = append(d.mistakes, m)
}

var doubled = regexp.MustCompile(`^mapping key (".*") already defined at line (\d+)$`)

// values reports values that their types refused, such as a temperature
// without its unit. What shape found already is not said again.
func (d *document) values(err error) {
	var many *yaml.LoadErrors
	if !errors.As(err, &many) {
		if len(d.mistakes) == 0 {
			d.unreadable(err)
		}
		d.readable = false
		return
	}
	for _, e := range many.Errors {
		node := nodeAt(d.root, e.Mark.Line, e.Mark.Column)
		if node != nil && d.broken[node] {
			continue
		}
		if node != nil {
			d.broken[node] = true
		}
		what, right := e.Message, ""
		if cause := e.Unwrap(); cause != nil {
			what = cause.Error()
		}
		if before, after, ok := strings.Cut(what, "; "); ok {
			what, right = before, after
		}
		if twice := doubled.FindStringSubmatch(e.Message); twice != nil {
			what, right = "the key "+twice[1]+" is there twice, also on line "+twice[2], "write each key once"
			d.readable = false // nothing of that group was read
		}
		d.mistakes = append(d.mistakes, Mistake{File: d.name, Line: e.Mark.Line, Column: e.Mark.Column, What: what, Right: right})
	}
}

// faults adds what the checks found, at the places in the file that they mean.
func (d *document) faults(faults []config.Fault) {
	for _, f := range faults {
		at, known := d.find(f.Path)
		if known {
			continue
		}
		d.mistakes = append(d.mistakes, Mistake{
			File: d.name, Line: at.Line, Column: at.Column,
			Path: f.Path, What: f.What, Right: f.Right, Warning: f.Warning,
		})
	}
}
