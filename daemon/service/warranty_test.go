package service

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// Years later the record of a boat is what it was, with all that was measured from one coat
// to the next, until its warranty is over; then the readings go as others did.
func TestTheRecordStandsUntilTheWarrantyEnds(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	const day = 24 * time.Hour
	ctx, boat := t.Context(), planner.Key{Boat: "Boat One"}
	r.press(planner.Press{Kind: planner.Moved, Key: boat, Place: "booth", Happened: at(-20, 8, 0)})
	r.coat(first, at(-14, 8, 0), at(-14, 9, 0))
	r.coat(second, at(-1, 8, 0), at(-1, 9, 0))
	var all []sensors.Reading
	for h := range 19 * 72 {
		when := at(-19, 0, 20*h)
		all = append(all, sensors.Reading{Key: fmt.Sprint(h), Source: "air", Place: "booth", At: when, Received: when, FromDevice: true, Values: map[conditions.Variable]float64{
			conditions.AirTemperature: 20, conditions.RelHumidity: 50 + float64(h%7), conditions.Surface: 19}})
	}
	// Straight into the store: the service would doubt readings of weeks ago.
	if _, err := r.svc.store.Commit(ctx, store.Change{At: r.clock.Now(), Readings: all}); err != nil {
		t.Fatal(err)
	}
	digest := func() string {
		d, err := r.recordNow().Digest()
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	pruned := func(now time.Time) {
		t.Helper()
		if err := r.svc.prune(ctx, now); err != nil {
			t.Fatal(err)
		}
	}
	if w := r.recordNow().Coats[1].Recoat; w == nil || w.Uncounted > 0 {
		t.Fatalf("the recoat window is not measured: %+v", w)
	}
	was := digest()
	pruned(at(9000, 0, 0)) // not launched
	if digest() != was {
		t.Error("the record changed before the boat was launched")
	}
	r.press(planner.Press{Kind: planner.Launched, Key: boat})
	launched, was := r.clock.Now(), digest()
	kept := func() config.Kept {
		k, err := r.svc.Kept(ctx, "Boat One")
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	if k := kept(); k.By != config.ByYard || !k.Until.Equal(launched.Add(1095*day)) {
		t.Errorf("kept until %+v", k)
	}
	pruned(launched.Add(1095*day - time.Minute))
	if digest() != was {
		t.Error("the record changed a minute before its evidence may go")
	}
	own := r.boat()
	own.Of.Warranty = "2032-01-31"
	r.keeps(r.svc.EditBoats(ctx, edits(own.Of, own.Revision)))
	pruned(launched.Add(1100 * day))
	if k := kept(); digest() != was || k.By != config.ByBoat {
		t.Errorf("the boat's own warranty does not count: %+v", k)
	}
	r.keeps(r.svc.EditBoats(ctx, []config.Edit[config.Boat]{{To: own.Of, From: own.Revision + 1, By: "Rui", Removed: true, Why: "delivered"}}))
	pruned(launched.Add(1100 * day))
	if digest() != was {
		t.Error("taken out of the book, the boat has another record")
	}
	own.Of.Warranty = "" // another job, whose warranty is the yard's
	r.keeps(r.svc.EditBoats(ctx, edits(own.Of, 0)))
	if k := kept(); digest() != was || k.By != config.ByBoat {
		t.Errorf("taken out of the book, its evidence went too early, kept by %+v", k)
	}
	pruned(at(9000, 0, 0))
	if is := r.recordNow(); len(is.Coats) != 2 || len(is.Coats[0].Gaps) == 0 {
		t.Errorf("years after the warranty the readings are still there: %d coats", len(is.Coats))
	}
}

func TestWhenABoatWasLaunched(t *testing.T) {
	t.Parallel()
	press := func(k planner.PressKind, day int) planner.Press {
		return planner.Press{Kind: k, Key: planner.Key{Boat: "a", Stage: "s"}, Happened: at(day, 8, 0)}
	}
	for name, test := range map[string]struct {
		presses []planner.Press
		day     int // -1: it is here
	}{
		"never":                       {[]planner.Press{press(planner.Started, 1)}, -1},
		"once":                        {[]planner.Press{press(planner.Started, 1), press(planner.Launched, 3)}, 3},
		"twice":                       {[]planner.Press{press(planner.Launched, 3), press(planner.Launched, 2)}, 3},
		"and came back":               {[]planner.Press{press(planner.Launched, 3), press(planner.Arrived, 9)}, -1},
		"and was coated again":        {[]planner.Press{press(planner.Override, 9), press(planner.Launched, 3)}, -1},
		"and was launched once more":  {[]planner.Press{press(planner.Launched, 3), press(planner.Started, 9), press(planner.Launched, 12)}, 12},
		"and somebody held it, later": {[]planner.Press{press(planner.Launched, 3), press(planner.Held, 9)}, 3},
	} {
		got, ok := launchedLast(test.presses)["a"]
		if ok != (test.day >= 0) || ok && !got.Equal(at(test.day, 8, 0)) {
			t.Errorf("%s: %s, %v", name, got, ok)
		}
	}
}

// A boat that was here twice has the longer of two warranties, in whatever order.
func TestTheLongerWarrantyCounts(t *testing.T) {
	t.Parallel()
	y := config.Yard{Zone: "UTC", Keep: config.Keep{Warranty: config.Lasting(24 * time.Hour)}}
	launched := at(0, 0, 0)
	of := func(all ...string) []config.Boat {
		var out []config.Boat
		for _, w := range all {
			out = append(out, config.Boat{Warranty: w})
		}
		return out
	}
	for want, all := range map[string][]string{"2030-01-02": {"2029-05-05", "2030-01-01", ""}, "": {"forever", "2029-05-05"}, "2026-05-05": {""}} {
		for range all {
			all = append(all[1:], all[0])
			got := ""
			if k := keptOf(y, of(all...), launched); !k.Until.IsZero() {
				got = k.Until.Format(time.DateOnly)
			}
			if got != want {
				t.Errorf("%q are kept until %q, want %q", slices.Clone(all), got, want)
			}
		}
	}
	if keptOf(y, nil, launched).Over(launched.AddDate(99, 0, 0)) {
		t.Error("what is not in the book may go")
	}
}
