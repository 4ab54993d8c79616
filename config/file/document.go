package file

import (
	"bytes"
	"errors"
	"regexp"
	"strings"

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
	if strings.Contains(err.Error(), "single document") {
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
