package file_test

import (
	"slices"
	"strings"
	"testing"

	"fairwindow/config/file"
)

func TestStarterHasNoMistakes(t *testing.T) {
	yardText, boatText := file.Starter()
	yard, mistakes := file.Yard("yard.yaml", yardText)
	if len(mistakes) > 0 {
		t.Fatalf("the starter yard:\n%s", mistakes.Error())
	}
	boats, mistakes := file.BoatsFor(yard, "boats.yaml", boatText)
	if len(mistakes) > 0 {
		t.Fatalf("the starter boats:\n%s", mistakes.Error())
	}
	if len(yard.Places) != 8 || len(yard.Crews) != 4 || len(boats) != 6 {
		t.Errorf("got %d places, %d crews, %d boats; want 8, 4, 6", len(yard.Places), len(yard.Crews), len(boats))
	}
}

// Whoever takes the # away from an example of the starter yard has a yard without mistakes.
func TestStarterExamples(t *testing.T) {
	starter, _ := file.Starter()
	for name, c := range map[string]struct {
		without     string // what the example stands in the place of
		first, last string // its lines
	}{
		"sensors log in": {"", "#   mqtt_login:", "#   tls:"},
		"one of several": {"", "#   leaf:", "#   domain:"},
		"own cluster":    {"bus:\n  listen: 127.0.0.1:4450 # where other programs hear the notices\n  mqtt: 127.0.0.1:1850   # where sensors send to\n", "# bus:", "#   credentials:"},
		"money":          {"", "# rates:", "#   boat_day:"},
		"equipment":      {"", "# equipment:", "#   - {name: compressor"},
		"people":         {"", "# mail:", "# sign_in:"},
		"an address":     {"", "#   - {name: met", "#   - {name: met"},
	} {
		t.Run(name, func(t *testing.T) {
			lines := strings.SplitAfter(strings.Replace(string(starter), c.without, "", 1), "\n")
			at := slices.IndexFunc(lines, func(l string) bool { return strings.HasPrefix(l, c.first) })
			for last := false; !last; at++ {
				if at < 0 || at == len(lines) {
					t.Fatalf("the starter yard has no %q to %q", c.first, c.last)
				}
				last = strings.HasPrefix(lines[at], c.last)
				lines[at] = strings.TrimPrefix(lines[at], "# ")
			}
			_, mistakes := file.Yard("yard.yaml", []byte(strings.Join(lines, "")))
			for _, m := range mistakes {
				if !m.Warning || name != "equipment" { // nothing takes the compressor yet
					t.Error(m)
				}
			}
		})
	}
}
