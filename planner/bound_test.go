package planner

import (
	"testing"
	"time"
)

// TestBound: of one boat, each minute until its launch costs a fiftieth of a cost-minute
// and each late minute one: the bound is that of its work straight on, and no less.
func TestBound(t *testing.T) {
	p := problem(fleet(1)...)
	m, err := newModel(p)
	if err != nil {
		t.Fatal(err)
	}
	work := time.Duration(m.workload(0)) * step
	w := m.yard.Weights
	late := max(0, p.At.Add(work).Sub(m.boats[0].promised).Minutes())
	if want := int64(w.Waiting*work.Minutes() + w.Lateness*late); work == 0 || m.bound() != want {
		t.Errorf("%d for %v of work, want %d", m.bound(), work, want)
	}
}
