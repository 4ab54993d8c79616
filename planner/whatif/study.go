package whatif

import (
	"fmt"
	"strings"
	"time"

	"fairwindow/planner"
)

// Study is one question that takes the planner seconds: a change tried, or a kept plan made
// again.
type Study struct {
	ID     string
	Text   string // the change in words; empty where a plan is made again
	Plan   int64  // the kept plan that is made again
	Asked  time.Time
	By     string
	Ahead  int       // how many are done before it
	Done   time.Time // zero: not yet
	Answer *Answer
	Remade *planner.Remade
	Fault  string // why there is no answer, as a sentence for people
}

// ParseAll reads changes with semicolons between them.
func ParseAll(text string) ([]planner.Change, error) {
	var all []planner.Change
	for _, part := range splitChanges(text) {
		c, err := Parse(part)
		if err != nil {
			return nil, err
		}
		all = append(all, c)
	}
	if len(all) == 0 {
		return nil, errNothing()
	}
	return all, nil
}

func splitChanges(text string) []string {
	var parts []string
	for _, part := range strings.Split(text, ";") {
		if part = strings.TrimSpace(part); part != "" {
			parts = append(parts, part)
		}
	}
	return parts
}

func errNothing() error {
	return fmt.Errorf("say what would be otherwise, like %q", Forms()[0])
}
