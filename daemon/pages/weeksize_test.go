package pages

import (
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// fullYard is forty boats in twelve places, some 700 stages over six weeks, a tenth of
// them elsewhere or at another time than people were told.
func fullYard() *fake {
	f := newFake()
	kinds := []config.PlaceKind{config.Booth, config.Booth, config.Booth, config.Shed, config.Tent, config.Slip}
	f.yard.Places = nil
	for i := range 12 {
		f.yard.Places = append(f.yard.Places, config.Place{Name: fmt.Sprintf("Place %d", i+1), Kind: kinds[i%len(kinds)], Boats: 1})
	}
	names := []string{"wash", "mask", "fair", "sand 80", "high-build primer", "overnight cure", "longboard 150", "blow and wipe", "finish primer", "primer cure", "sand 320", "wipe", "tack", "topcoat", "unmask", "inspect", "cure to launch"}
	plan := planner.Plan{At: now}
	f.boats = nil
	for boat := range 40 {
		name, place := fmt.Sprintf("Boat Number %d", boat), f.yard.Places[boat%12].Name
		f.boats = append(f.boats, config.Boat{Name: name})
		at := now.Add(time.Duration(boat/12*12*24+boat%12) * time.Hour)
		plan.Blocks = append(plan.Blocks, planner.Block{Boat: name, Place: place, From: at, To: at.AddDate(0, 0, 12)})
		plan.Launches = append(plan.Launches, planner.Launch{Boat: name, Promised: at.AddDate(0, 0, 12), Likely: at.AddDate(0, 0, 11+boat%3)})
		for n, stage := range names {
			s := planner.Planned{
				Key: planner.Key{Boat: name, Area: "topsides", Stage: stage}, Place: place, Crew: "paint", Start: at.Add(time.Duration(n*16) * time.Hour), State: states[1+n%3], Chance: .9,
			}
			s.End = s.Start.Add(6 * time.Hour)
			if n%5 == 4 {
				s.Kind, s.Protected = config.Coat, s.End.Add(8*time.Hour)
			}
			if n%4 == 3 {
				s.Work = []planner.Span{{From: s.Start, To: s.Start.Add(2 * time.Hour)}, {From: s.Start.Add(4 * time.Hour), To: s.End}}
			}
			// As in a full yard: half the boats go on beyond what the plan reaches.
			if boat%2 == 1 && n > 9 {
				s.Start, s.End, s.Protected, s.Work, s.Place, s.State = time.Time{}, time.Time{}, time.Time{}, nil, "", planner.Unplaced
				s.Waits = []planner.Wait{{From: at, To: at.AddDate(0, 0, 42), Cause: planner.EarlierMoved, Evidence: planner.Evidence{Other: planner.Key{Boat: name, Area: "topsides", Stage: names[n-1]}, Note: names[n-1] + " has no start"}}}
			}
			plan.Stages = append(plan.Stages, s)
		}
	}
	f.draft, f.told = plan, plan
	f.told.Stages = append([]planner.Planned(nil), plan.Stages...)
	for i := range f.told.Stages {
		if i%10 == 0 && !f.told.Stages[i].Start.IsZero() {
			f.told.Stages[i].Start = f.told.Stages[i].Start.Add(-3 * time.Hour)
		}
	}
	return f
}

// TestAFullYardStaysSmall: a phone on a bad line can fetch the board of forty boats.
func TestAFullYardStaysSmall(t *testing.T) {
	f := fullYard()
	for path, last := range map[string]string{
		"/": "primer cure on Boat Number 0 topsides", "/?days=14": "cure to launch, ", "/?days=42": "Boat Number 35 holds Place 12",
		"/?plan=side": "primer cure on Boat Number 0 topsides", "/?days=14&plan=side": "cure to launch, ", "/?days=42&plan=told": "Boat Number 35 holds Place 12",
	} {
		_, body := get(t, f, path)
		t.Logf("%s: %d bytes", path, len(body))
		if n := strings.Count(body, "sand 320 has no start"); n > 0 {
			t.Errorf("%s tells %d times that a stage waits for the one before it", path, n)
		}
		if len(body) > 150_000 {
			t.Errorf("%s is %d bytes, at most 150 kB", path, len(body))
		}
		has(t, body, last)
	}
}

// BenchmarkWeek is the server's time for the week of forty boats: at most 50 ms.
func BenchmarkWeek(b *testing.B) {
	for _, path := range []string{"/", "/?plan=side", "/?days=42"} {
		b.Run(path, func(b *testing.B) {
			handler := handlerOf(b, fullYard())
			size := 0
			for b.Loop() {
				w := httptest.NewRecorder()
				handler.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
				size = w.Body.Len()
			}
			b.ReportMetric(float64(b.Elapsed().Milliseconds())/float64(b.N), "ms/page")
			b.ReportMetric(float64(size)/1000, "kB")
		})
	}
}
