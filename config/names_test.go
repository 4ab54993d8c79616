package config

import (
	"strings"
	"testing"
)

// A name stands in a page's address and on a board: "." and ".." lead elsewhere there
// (RFC 3986, 5.2.4), a line of letters can't be read, and what is not seen tells nothing apart
// (U+200B, zero width space, and U+202E, right-to-left override, of Unicode's category Cf). HTML
// shows several spaces as one and none at an end (CSS Text 3, 4.1, white-space: normal).
func TestNamesFitAnAddressAndABoard(t *testing.T) {
	for name, want := range map[string]string{
		".": "has a meaning of its own", "..": "has a meaning of its own", strings.Repeat("ö", 81): "81 letters",
		strings.Repeat("ö", 80): "", "Boat A/B": "", "...": "", "Bö å Ελλάς 海": "",
		"Boat\u200b Tern": "nobody can see", "Boat\u202e Tern": "nobody can see", "Boat\tTern": "nobody can see",
		"Esperan\xe7a": "nobody can see", "Esperan\ufffda": "nobody can see",
		"Boat Tern ": "a space too many", " Boat Tern": "a space too many", "Boat  Tern": "a space too many",
	} {
		c := &checker{}
		named(c, "boats", "boat", "boat", []Boat{{Name: name}}, func(b Boat) string { return b.Name })
		switch {
		case want == "" && len(c.faults) > 0:
			t.Errorf("%q: %v", name, c.faults)
		case want != "" && (len(c.faults) != 1 || !strings.Contains(c.faults[0].What, want)):
			t.Errorf("%q: %v, want %q", name, c.faults, want)
		}
	}
}
