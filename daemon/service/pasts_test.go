package service

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// However late readings come, and whatever was asked for before, the past that is kept is
// the past that is worked out anew.
func TestTheKeptPastIsTheWorkedOut(t *testing.T) {
	t.Parallel()
	r := play(t, "gloss")
	count := 0
	rapid.Check(t, func(t *rapid.T) {
		now := r.clock.Now()
		ask := func() {
			from := now.Add(-time.Duration(rapid.IntRange(60, 360).Draw(t, "minutes back")) * time.Minute)
			if _, err := r.svc.Past(r.t.Context(), "booth", from, now); err != nil {
				t.Fatal(err)
			}
		}
		for range rapid.IntRange(1, 4).Draw(t, "batches") {
			var batch []sensors.Reading
			for range rapid.IntRange(1, 5).Draw(t, "readings") {
				count++
				at := now.Add(-time.Duration(rapid.IntRange(0, 400).Draw(t, "minutes ago")) * time.Minute)
				one := sensors.Reading{Source: rapid.SampledFrom([]string{"Ana with probe 1", "Ines with probe 2"}).Draw(t, "source"), Place: "booth", At: at, Received: now, FromDevice: true,
					Key: fmt.Sprint("late ", count), Values: map[conditions.Variable]float64{}}
				for _, v := range []conditions.Variable{conditions.AirTemperature, conditions.RelHumidity, conditions.Surface} {
					if rapid.Bool().Draw(t, "has") {
						one.Values[v] = rapid.Float64Range(15, 25).Draw(t, "value")
					}
				}
				switch rapid.IntRange(0, 3).Draw(t, "of") {
				case 0:
					one.Boat = "Boat One"
				case 1:
					one.Boat, one.Place = "Boat One", ""
				case 2:
					one.Flags = []sensors.Flag{{Fault: sensors.Repeated}}
				}
				batch = append(batch, one)
			}
			ask()
			if err := r.svc.TakeReadings(r.t.Context(), batch); err != nil {
				t.Fatal(err)
			}
		}
		from := now.Add(-6 * time.Hour)
		kept, err := r.svc.Past(r.t.Context(), "booth", from, now)
		if err != nil {
			t.Fatal(err)
		}
		r.svc.pasts.forget()
		anew, err := r.svc.Past(r.t.Context(), "booth", from, now)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := fmt.Sprintf("%+v", kept), fmt.Sprintf("%+v", anew); got != want {
			t.Fatalf("kept\n%s\nworked out\n%s", got, want)
		}
	})
}

// A reading that comes while the past is worked out is not lost with it.
func TestWhatComesInFlightIsNotKept(t *testing.T) {
	var p pasts
	t0 := time.Unix(0, 0).Add(time.Hour)
	times := []time.Time{t0, t0.Add(pastStep), t0.Add(2 * pastStep)}
	found := map[int64]conditions.Moment{}
	for _, at := range times {
		found[at.Unix()] = conditions.Moment{Air: 20}
	}
	_, f := p.begin("booth", "Boat One", "who", times)
	p.came([]sensors.Reading{{Boat: "Boat One", At: times[1]}})
	p.end(f, "who", found)
	known, f := p.begin("booth", "Boat One", "who", times)
	p.end(f, "who", nil)
	if want := map[int64]conditions.Moment{times[0].Unix(): {Air: 20}}; !reflect.DeepEqual(known, want) {
		t.Errorf("kept %v", known)
	}
	if known, _ := p.begin("booth", "Boat One", "another", times); len(known) > 0 {
		t.Errorf("another stands there, and kept is %v", known)
	}
}

// What stands of a place's sensors is looked through again after a reading by hand, else
// after a while.
func TestAccountsAreRenewed(t *testing.T) {
	t.Parallel()
	r := play(t, "gloss")
	sources := func() (names []string) {
		t.Helper()
		all, err := r.svc.Accounts(t.Context(), "booth")
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range all {
			if !a.At.IsZero() {
				names = append(names, a.Source)
			}
		}
		return names
	}
	before := sources()
	hand := sensors.Reading{Source: "Ana with probe 1", Place: "booth", At: r.clock.Now(), Received: r.clock.Now(), Key: "by hand", Values: map[conditions.Variable]float64{conditions.AirTemperature: 20}}
	if err := r.svc.TakeReadings(t.Context(), []sensors.Reading{hand}); err != nil {
		t.Fatal(err)
	}
	if after := sources(); len(after) != len(before)+1 {
		t.Errorf("%q became %q after a reading by hand", before, after)
	}
	known := r.svc.Yard().Sensors[0]
	told := sensors.Reading{Source: known.Name, Place: known.Place, At: r.clock.Now(), Received: r.clock.Now(), Key: "by itself", Values: map[conditions.Variable]float64{conditions.AirTemperature: 20}}
	if err := r.svc.TakeReadings(t.Context(), []sensors.Reading{told}); err != nil {
		t.Fatal(err)
	}
	early := sources()
	r.clock.Advance(accountsFor)
	if late := sources(); known.Place == "booth" && len(late) != len(early)+1 {
		t.Errorf("%q became %q after %s", early, late, accountsFor)
	}
}

// What is held at hand of the last day is what the store has of it, where no source speaks
// so often that it is thinned: with the boat's own readings, since it stands here.
func TestHeardIsWhatTheStoreHas(t *testing.T) {
	t.Parallel()
	r := play(t, "gloss")
	now := r.clock.Now()
	var all []sensors.Reading
	for n, one := range []sensors.Reading{
		{Source: "air", Place: "booth"}, {Source: "puck", Boat: "Boat One"}, {Source: "Ana with probe 1", Place: "booth", Boat: "Boat One"}, {Source: "shed air", Place: "elsewhere"},
	} {
		for _, ago := range []time.Duration{0, 3 * time.Hour, 20 * time.Hour} {
			one.At, one.Received, one.Key = now.Add(-ago), now, fmt.Sprint("heard ", n, ago)
			one.Values = map[conditions.Variable]float64{conditions.AirTemperature: 20 + ago.Hours()/10}
			all = append(all, one)
		}
	}
	if err := r.svc.TakeReadings(t.Context(), all); err != nil {
		t.Fatal(err)
	}
	keys := func(readings []sensors.Reading, err error) string {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		var some []string
		for _, r := range readings {
			some = append(some, r.Key)
		}
		slices.Sort(some)
		return fmt.Sprint(some)
	}
	from, to := now.Add(-24*time.Hour), now.Add(time.Minute)
	got, want := keys(r.svc.Heard(t.Context(), "booth", from, to)), keys(r.svc.Readings(t.Context(), "booth", from, to))
	if got != want || !strings.Contains(got, "heard 1 0s") || strings.Contains(got, "heard 3") {
		t.Errorf("heard %s\nof  %s", got, want)
	}
}
