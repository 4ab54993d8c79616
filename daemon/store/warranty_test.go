package store

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/planner"
	"fairwindow/sensors"
)

// Whatever is pruned when, in whatever order warranties end and are made longer again: what
// was read in a boat's place within three days of a report of its coat is there, bit for
// bit, until that boat's warranty is over; and what is no boat's is gone once it is old.
func TestNothingIsPrunedBeforeTheWarranty(t *testing.T) {
	t.Parallel()
	empty := filepath.Join(t.TempDir(), "empty")
	open(t, empty).Close()
	const step, steps = 12 * time.Hour, 40
	boats, places := []string{"Alder", "Birch", "Cedar"}, []string{"booth 1", "booth 2"}
	dir, round := t.TempDir(), 0
	rapid.Check(t, func(r *rapid.T) {
		round++
		own := filepath.Join(dir, fmt.Sprint(round))
		if err := os.CopyFS(own, os.DirFS(empty)); err != nil {
			r.Fatal(err)
		}
		s, err := Open(own)
		if err != nil {
			r.Fatal(err)
		}
		defer s.Close()
		unsynced(r, s)
		c, stands := Change{At: noon}, map[string]string{}
		for _, b := range boats {
			stands[b] = rapid.SampledFrom(places).Draw(r, "place")
		}
		for n := range rapid.IntRange(1, 4).Draw(r, "coats") {
			p := press(rapid.SampledFrom([]planner.PressKind{planner.Started, planner.Override, planner.PassDone, planner.Finished}).Draw(r, "kind"),
				fmt.Sprint("coat ", n), noon.Add(time.Duration(rapid.IntRange(0, steps).Draw(r, "coat at"))*step))
			p.Key = planner.Key{Boat: rapid.SampledFrom(boats).Draw(r, "boat"), Area: fmt.Sprint("area ", n), Stage: fmt.Sprint("coat ", n)}
			p.Place = stands[p.Key.Boat]
			c.Presses = append(c.Presses, p)
		}
		for n := range steps {
			for _, place := range places {
				one := reading(n)
				one.Place, one.Source, one.At = place, place, noon.Add(time.Duration(n)*step)
				one.Received, one.Key = one.At, fmt.Sprint(place, n)
				c.Readings = append(c.Readings, one)
			}
		}
		if _, err := s.Commit(t.Context(), c); err != nil {
			r.Fatal(err)
		}
		mayBeGone := map[string]bool{}
		for range rapid.IntRange(1, 4).Draw(r, "times") {
			keep := Keep{ReadingsBefore: noon.Add(time.Duration(rapid.IntRange(0, steps+5).Draw(r, "before")) * step)}
			keep.Over = slices.DeleteFunc(slices.Clone(boats), func(string) bool { return rapid.Bool().Draw(r, "goes on") })
			if _, err := s.Prune(t.Context(), keep); err != nil {
				r.Fatal(err)
			}
			left := map[string]sensors.Reading{}
			rows, err := s.Readings(t.Context(), Query{})
			if err != nil {
				r.Fatal(err)
			}
			for _, one := range rows {
				left[one.Key] = one
			}
			for _, one := range c.Readings {
				behind := slices.ContainsFunc(c.Presses, func(p planner.Press) bool {
					return p.Place == one.Place && one.At.Sub(p.Happened).Abs() <= 72*time.Hour && !slices.Contains(keep.Over, p.Key.Boat)
				})
				old := one.At.Before(keep.ReadingsBefore)
				mayBeGone[one.Key] = mayBeGone[one.Key] || old && !behind
				is, there := left[one.Key]
				switch {
				case !there && !mayBeGone[one.Key]:
					r.Fatalf("%s is gone", one.Key)
				case there && old && !behind:
					r.Fatalf("%s is still there", one.Key)
				case there && (is.Values["air"] != one.Values["air"] || !is.At.Equal(one.At)):
					r.Fatalf("%s was %+v, is %+v", one.Key, one, is)
				}
			}
		}
	})
}
