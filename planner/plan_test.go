package planner

import (
	"encoding/json"
	"strings"
	"testing"
	"time"
)

// What has no start within the plan has no dates in JSON: year 1 would be taken for one.
func TestNoDateWhereThereIsNone(t *testing.T) {
	p := problem(fleet(1)...)
	p.Horizon = 30 * time.Hour
	plan := solved(t, p)
	if last := plan.Stages[len(plan.Stages)-1]; !last.Start.IsZero() {
		t.Fatalf("%s starts within 30 h", last.Key)
	}
	text, err := json.Marshal(plan)
	if at := strings.Index(string(text), "0001-01-01"); err != nil || at >= 0 {
		t.Errorf("%v: …%s", err, text[max(0, at-200):at+20])
	}
}
