package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// keptYard is a starter yard's folder and a state folder with what a change keeps.
func keptYard(t *testing.T, c store.Change) (yard, state string) {
	t.Helper()
	yard, state = filepath.Join(t.TempDir(), "yard"), t.TempDir()
	var out, talk bytes.Buffer
	if code := run([]string{"init", yard}, &out, &talk); code != exitYes {
		t.Fatal(talk.String())
	}
	kept, err := store.Open(state)
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	if _, err := kept.Commit(t.Context(), c); err != nil {
		t.Fatal(err)
	}
	return yard, state
}

// sourcesAt is a Monday noon in Lisbon, an hour ahead of UTC.
var sourcesAt = time.Date(2026, 4, 6, 11, 0, 0, 0, time.UTC)

// spoke is one good reading of each sensor of the starter yard, five minutes old,
// and a forecast of an hour ago.
func spoke() store.Change {
	c := store.Change{At: sourcesAt}
	for i, name := range []string{"booth 1", "booth 2", "booth 3", "shed", "tent", "slip", "standing north", "standing south", "weather station"} {
		place := strings.Replace(name, "weather station", "outdoors", 1)
		c.Readings = append(c.Readings, sensors.Reading{
			Source: name, Place: place, At: sourcesAt.Add(-5 * time.Minute), Received: sourcesAt.Add(-5 * time.Minute), Key: fmt.Sprint(i),
			Values: map[conditions.Variable]float64{conditions.AirTemperature: 18, conditions.RelHumidity: 61},
		})
	}
	f := sensors.Forecast{Source: "model", Issued: sourcesAt.Add(-time.Hour), Received: sourcesAt}
	for h := range 48 {
		w := conditions.At(nil, f.Issued.Add(time.Duration(h)*time.Hour))
		w.Air, w.DewPoint, w.Sure = 15, 8, conditions.Foretold
		f.Points = append(f.Points, w)
	}
	c.Forecasts = []store.NewForecast{{Forecast: f}}
	return c
}

// TestSources: who asks how the sources stand reads what each said, and an exit code
// says whether somebody must see to one.
func TestSources(t *testing.T) {
	// Ten days in which the weather station read 1.5 K more than was foretold.
	var pairs []conditions.Pair
	for d := range 10 {
		for h := 0; h < 24; h += 3 {
			issued := sourcesAt.AddDate(0, 0, d-11)
			at := issued.Add(time.Duration(h) * time.Hour)
			foretold := conditions.At(nil, at)
			foretold.Air, foretold.DewPoint, foretold.Sure = 15, 8, conditions.Foretold
			is := foretold
			is.Air, is.Sure = 16.5, conditions.Measured
			pairs = append(pairs, conditions.Pair{Place: "outdoors", Issued: issued, At: at, Forecast: foretold, Observed: is})
		}
	}
	learned, err := json.Marshal(map[string]any{"pairs": map[string]int{"outdoors": len(pairs)}, "experience": conditions.Learn(pairs)})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name   string
		change func(*store.Change)
		code   int
		says   []string
	}{
		{"all well", func(*store.Change) {}, exitYes, []string{
			"booth 1 (booth 1), every 10 min, calibrated until 2027-04-01\n  5 min ago: air 18.0 °C, humidity 61.0 %\n  doubted: none in the last hour, none in the last day\n",
			"forecast model (csv), every 1 h, old after 18 h\n  issued 1 h ago, to Wed 8 Apr 10:00\n", "all is well at Mon 6 Apr 12:00",
		}},
		{"never heard", func(c *store.Change) { c.Readings = c.Readings[1:] }, exitNo, []string{
			"  never heard: air, humidity, hull surface\n  ! silent: nothing was ever heard; it is awaited at topic yard/booth-1/air of the program's own MQTT port, to the letter\n", "somebody must see to: booth 1\n",
		}},
		{"long silent", func(c *store.Change) {
			c.Readings[0].At = sourcesAt.AddDate(0, 0, -20)
			c.Readings[0].Received = c.Readings[0].At
		}, exitNo, []string{"  20 d ago: air 18.0 °C", "! silent: it should speak every 10 min and was last heard 20 d ago"}},
		{"a clock an hour ahead", func(c *store.Change) {
			c.Readings[0].At = sourcesAt.Add(55 * time.Minute)
			c.Readings[0].Flags = []sensors.Flag{{Fault: sensors.FromFuture, Note: "the device's clock is 1 h ahead; set it, or write at zone: by which it goes"}}
		}, exitNo, []string{"  5 min ago: air 18.0 °C", "! clock ahead: the device's clock is 1 h ahead; set it, or write at zone: by which it goes\n"}},
		{"a topic that nobody asks for", func(c *store.Change) {
			c.Memory = map[string]json.RawMessage{"unasked": json.RawMessage(`{"yard/booth-1/air":"2026-04-06T10:59:00Z","yard/boooth-1/air":"2026-04-06T10:00:00Z","long ago":"2026-04-05T10:00:00Z"}`)}
		}, exitYes, []string{"on: yard/boooth-1/air\nall is well"}},
		{"31 minutes silent", func(c *store.Change) { c.Readings[0].At = sourcesAt.Add(-31 * time.Minute) }, exitNo, []string{"was last heard 31 min ago"}},
		{"half an hour silent", func(c *store.Change) { c.Readings[0].At = sourcesAt.Add(-30 * time.Minute) }, exitYes, []string{"  30 min ago: air"}},
		{"no number", func(c *store.Change) {
			c.Readings[0].Values[conditions.AirTemperature] = math.NaN()
			c.Readings[0].Flags = []sensors.Flag{{Of: conditions.AirTemperature, Fault: sensors.NotANumber}}
		}, exitNo, []string{"air not known", "doubted: 1 not a number in the last hour, 1 not a number in the last day", "! air not a number\n"}},
		{"doubted and good again", func(c *store.Change) {
			r := c.Readings[0]
			r.At, r.Received, r.Key = r.At.Add(-2*time.Hour), r.Received.Add(-2*time.Hour), "before"
			r.Flags = []sensors.Flag{{Of: conditions.AirTemperature, Fault: sensors.Spike}}
			c.Readings = append(c.Readings, r)
		}, exitYes, []string{"doubted: none in the last hour, 1 spike in the last day"}},
		{"no forecast", func(c *store.Change) { c.Forecasts = nil }, exitNo, []string{"! none has come", "see to: forecast model"}},
		{"an old forecast", func(c *store.Change) { c.Forecasts[0].Forecast.Issued = sourcesAt.Add(-19 * time.Hour) }, exitNo, []string{"! old: no window opens by it"}},
		{"a forecast that has ended", func(c *store.Change) { c.Forecasts[0].Forecast.Points = c.Forecasts[0].Forecast.Points[:2] }, exitNo, []string{"to Mon 6 Apr 12:00\n  ! it has ended: it foretells nothing of what is to come\n", "see to: forecast model"}},
		{"once a repeat", func(c *store.Change) { c.Readings[0].Flags = []sensors.Flag{{Fault: sensors.Repeated}} }, exitYes, []string{"doubted: 1 possible repeat in the last hour"}},
		{"repeat upon repeat", func(c *store.Change) {
			for i := range 6 {
				r := c.Readings[0]
				r.At, r.Received, r.Key = r.At.Add(-time.Duration(i)*time.Second), r.Received.Add(-time.Duration(i)*time.Second), fmt.Sprint("again", i)
				if i < 4 {
					r.Flags = []sensors.Flag{{Fault: sensors.Repeated}}
				}
				c.Readings = append(c.Readings, r)
			}
		}, exitNo, []string{"! possible repeat: 4 of the last hour's 7 readings; write how often it speaks at every:"}},
		// The coat went on for an hour; the card's time to dust-free at 20 °C is added.
		{"in vapour", func(c *store.Change) {
			k := planner.Key{Boat: "Boat One", Area: "topsides", Stage: "high-build primer"}
			c.Boats = []store.BoatEdit{{By: "a test", Boat: config.Boat{Name: "Boat One", Areas: []config.Area{{Name: "topsides", System: "full refinish"}}}}}
			for i, p := range []planner.Press{
				{Kind: planner.Arrived, Key: planner.Key{Boat: "Boat One"}, Place: "booth 1"}, {Kind: planner.Started, Key: k}, {Kind: planner.PassDone, Key: k, Pass: 1}, {Kind: planner.Finished, Key: k},
			} {
				p.Happened, p.By, p.Once = sourcesAt.Add(time.Duration(i-30)*time.Hour), "a painter", fmt.Sprint(i)
				p.Entered = p.Happened
				c.Presses = append(c.Presses, p)
			}
		}, exitYes, []string{"  in solvent vapour: 3 h, never checked by hand\n"}},
		{"by hand", func(c *store.Change) {
			c.Readings = append(c.Readings, sensors.Reading{Source: "P with meter", Place: "shed", At: sourcesAt.Add(-time.Hour), Received: sourcesAt, Key: "hand", Values: map[conditions.Variable]float64{conditions.Surface: 17}})
		}, exitYes, []string{"P with meter (shed), by hand\n  1 h ago: hull surface 17.0 °C\n"}},
		// The station reads about 1.5 K more, of which a prior keeps a part.
		{"what was learned", func(c *store.Change) { c.Memory = map[string]json.RawMessage{"learned": learned} }, exitYes, []string{"errs in outdoors a day ahead: air by -1.", "of 80 pairs"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c := spoke()
			tt.change(&c)
			yard, state := keptYard(t, c)
			var out, talk bytes.Buffer
			if code := run([]string{"sources", yard, "--state", state, "--at", "2026-04-06 12:00"}, &out, &talk); code != tt.code {
				t.Errorf("exit code %d, want %d: %s", code, tt.code, talk.String())
			}
			for _, want := range tt.says {
				if !strings.Contains(out.String(), want) {
					t.Errorf("it does not say %q:\n%s", want, out.String())
				}
			}
			out.Reset()
			if code := run([]string{"sources", yard, "--state", state, "--at", "2026-04-06 12:00", "--json"}, &out, &talk); code != tt.code {
				t.Errorf("with --json: exit code %d, want %d: %s", code, tt.code, talk.String())
			}
			var is sourcesNow
			if err := json.Unmarshal(out.Bytes(), &is); err != nil || is.Well != (tt.code == exitYes) || len(is.Sensors) < 9 || len(is.Forecasts) != 1 {
				t.Errorf("%v: %s", err, out.String())
			}
		})
	}
}

// TestReadingInUnits: in a US yard values are worded in its units.
func TestReadingInUnits(t *testing.T) {
	var out bytes.Buffer
	x := 20.0
	printAccount(&out, "US", sensors.Account{Source: "s", Place: "booth", At: sourcesAt, Every: unit.Duration(time.Minute),
		Values: map[conditions.Variable]*float64{conditions.AirTemperature: &x}}, sourcesAt)
	if !strings.Contains(out.String(), "air 68.0 °F") {
		t.Error(out.String())
	}
}

// TestSourcesAddress: what an address answered last is said, until the yard file names another.
func TestSourcesAddress(t *testing.T) {
	source := config.Forecast{Name: "model", Format: "csv", URL: "https://weather.example/a.csv?key=hush"}
	failed := sensors.AddressState{Failed: 2, Why: "the server answered 503 Service Unavailable", Next: sourcesAt.Add(3 * time.Minute)}
	failed.Of = sensors.NewAddress(sensors.AddressOptions{Source: source, Client: http.DefaultClient, Clock: clockwork.NewFakeClockAt(sourcesAt)}).State().Of
	text, err := json.Marshal(failed)
	if err != nil {
		t.Fatal(err)
	}
	c := spoke()
	c.Memory = map[string]json.RawMessage{"address/model": text}
	yard, state := keptYard(t, c)
	path := filepath.Join(yard, "yard.yaml")
	written, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const says = "  ! the server answered 503 Service Unavailable; it is asked again at Mon 6 Apr 12:03\n"
	for address, code := range map[string]int{source.URL: exitNo, "https://weather.example/b.csv": exitYes} {
		if err := os.WriteFile(path, []byte(strings.Replace(string(written), "    folder: forecasts", "    url: "+address, 1)), 0o600); err != nil {
			t.Fatal(err)
		}
		var out, talk bytes.Buffer
		if got := run([]string{"sources", yard, "--state", state, "--at", "2026-04-06 12:00"}, &out, &talk); got != code || strings.Contains(out.String(), says) != (code == exitNo) {
			t.Errorf("%s: exit code %d: %s%s", address, got, out.String(), talk.String())
		}
	}
}

// TestSourcesOfBoats: a probe in a hull asks for somebody until its boat is there.
func TestSourcesOfBoats(t *testing.T) {
	for name, says := range map[string]string{
		"Boat One": "", "Boat Oen": `  ! of a boat that is not here: there is no boat "Boat Oen", so nothing goes by it; there are Boat One` + "\n",
	} {
		c := spoke()
		c.Boats = []store.BoatEdit{{By: "a test", Boat: config.Boat{Name: "Boat One", Areas: []config.Area{{Name: "topsides", System: "full refinish"}}}}}
		r := c.Readings[0]
		r.Source, r.Place, r.Boat, r.Key = "probe", "", name, "probe"
		c.Readings = append(c.Readings, r)
		yard, state := keptYard(t, c)
		path := filepath.Join(yard, "yard.yaml")
		written, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		text := strings.Replace(string(written), "\nsensors:\n", "\nsensors:\n  - {name: probe, boat: "+name+", topic: yard/probe, values: {surface: {path: s}}}\n", 1)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		var out, talk bytes.Buffer
		code := run([]string{"sources", yard, "--state", state, "--at", "2026-04-06 12:00"}, &out, &talk)
		if code != map[bool]int{true: exitYes, false: exitNo}[says == ""] || strings.Contains(out.String(), "of a boat that is not here") != (says != "") || !strings.Contains(out.String(), says) {
			t.Errorf("%s: exit code %d: %s%s", name, code, out.String(), talk.String())
		}
	}
}
