package planner

import (
	"testing"
	"time"

	"fairwindow/config"
)

// TestWhoCannotKeepToItGoesElsewhere: a boat was told a booth that is shut since for the
// whole plan; it goes to the other one.
func TestWhoCannotKeepToItGoesElsewhere(t *testing.T) {
	p := problem(fleet(2)...)
	second := p.Yard.Places[0]
	second.Name = "booth 2"
	p.Yard.Places = append(p.Yard.Places, second)
	first := solved(t, p)
	p.Told, p.Turns = told(first), first.Turns
	p.First = p.Told
	shut := stageOf(t, first, "boat 01", "prime").Place
	p.Yard.Closures = append(p.Yard.Closures, config.Closure{Place: shut, From: monday.Format("2006-01-02"), To: monday.Add(60 * 24 * time.Hour).Format("2006-01-02")})
	m, err := newModel(p)
	if err != nil {
		t.Fatal(err)
	}
	s, kept := m.asTold()
	if kept || len(s.missed) > 0 {
		t.Errorf("kept %v; %d stages have no start", kept, len(s.missed))
	}
	if s := stageOf(t, solved(t, p), "boat 01", "prime"); s.Place == shut {
		t.Errorf("prime is planned in %s, which is shut", s.Place)
	}
}
