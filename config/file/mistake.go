// Package file turns what the yard wrote down in files into config's plain
// data and back. It answers one question: what does this file say, and where
// exactly is it wrong? Every mistake is found at once, each with its line,
// column and a way out.
package file

import (
	"fmt"
	"slices"
	"sort"
	"strings"
)

// Mistake is one thing wrong in a file.
type Mistake struct {
	File    string `json:"file"`
	Line    int    `json:"line"`   // from 1; 0 for the file as a whole
	Column  int    `json:"column"` // from 1
	Path    string `json:"path,omitempty"`
	What    string `json:"what"`
	Right   string `json:"right,omitempty"` // what would be right
	Warning bool   `json:"warning,omitempty"`
}

// String is the mistake on one line: file:line:column: what; what would be right.
func (m Mistake) String() string {
	var b strings.Builder
	b.WriteString(m.File)
	if m.Line > 0 {
		fmt.Fprintf(&b, ":%d:%d", m.Line, m.Column)
	}
	b.WriteString(": ")
	if m.Warning {
		b.WriteString("warning: ")
	}
	b.WriteString(m.What)
	if m.Right != "" {
		b.WriteString("; " + m.Right)
	}
	return b.String()
}

// Mistakes are all mistakes of a file, in its order, warnings among them.
type Mistakes []Mistake

// Error lists the mistakes, one a line.
func (m Mistakes) Error() string {
	lines := make([]string, len(m))
	for i, one := range m {
		lines[i] = one.String()
	}
	return strings.Join(lines, "\n")
}

// Err is nil if there are no mistakes but warnings, else the mistakes. Only a
// file with a nil Err may be used.
func (m Mistakes) Err() error {
	for _, one := range m {
		if !one.Warning {
			return m
		}
	}
	return nil
}

// sorted is the mistakes in the file's order. What stands once in the file and is read in
// several places, through an alias, is wrong once.
func (m Mistakes) sorted() Mistakes {
	sort.SliceStable(m, func(i, j int) bool {
		if m[i].Line != m[j].Line {
			return m[i].Line < m[j].Line
		}
		return m[i].Column < m[j].Column
	})
	return slices.CompactFunc(m, func(a, b Mistake) bool {
		a.Path, b.Path = "", ""
		return a.Line > 0 && a == b
	})
}
