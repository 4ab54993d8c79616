package surface

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

var lisbon = func() *time.Location {
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		panic(err)
	}
	return zone
}()

func TestRead(t *testing.T) {
	table, err := Read("t.csv", []byte("\ufeff# by hand\r\ntime;port_F;deck;air_C;dew_point_C\r\n2026-04-06 09:00;68;20,5;20;15\r\n2026-04-06T08:30:00Z;NA;21 C;20;\r\n"), lisbon)
	if err != nil {
		t.Fatal(err)
	}
	if len(table.Facets) != 2 || table.Facets[0].Name != "port" || table.Facets[1].Name != "deck" || len(table.Rows) != 2 {
		t.Fatalf("%+v", table)
	}
	nine := time.Date(2026, 4, 6, 8, 0, 0, 0, time.UTC)
	if port := table.Facets[0].Readings; len(port) != 1 || !port[0].At.Equal(nine) || math.Abs(float64(port[0].Value)-20) > 1e-9 {
		t.Errorf("port: %+v", port)
	}
	if deck := table.Facets[1].Readings; len(deck) != 2 || deck[0].Value != 20.5 || deck[1].Value != 21 {
		t.Errorf("deck: %+v", deck)
	}
	// 20 °C with a dew point of 15: 72.95 %, pvlib-python's test_atmosphere.
	if rh := table.Humidity; len(rh) != 1 || math.Abs(float64(rh[0].Value)-72.95) > 0.1 {
		t.Errorf("humidity: %+v", rh)
	}
	if len(table.Notes) != 1 || !strings.Contains(table.Notes[0], "deck names no unit") {
		t.Error(table.Notes)
	}
}

// The hour that a clock change doubles goes in the order of the file.
func TestReadOverAClockChange(t *testing.T) {
	table, err := Read("t.csv", []byte("time,surface_C\n2026-10-25 00:30,10\n2026-10-25 01:30,10\n2026-10-25 01:30,10\n2026-10-25 02:30,10\n"), lisbon)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(table.Rows); i++ {
		if d := table.Rows[i].Sub(table.Rows[i-1]); d != time.Hour {
			t.Errorf("row %d comes %v after the one before", i, d)
		}
	}
}

func TestReadSaysWhatIsWrong(t *testing.T) {
	const head = "time,port_C\n"
	for text, want := range map[string]string{
		"":                               "t.csv: no header",
		head:                             "t.csv: no readings after the header",
		"when,port\n":                    "t.csv:1: no column time",
		"time,humidity\n":                "t.csv:1: no column of surface temperatures",
		"time,port,air\n":                "t.csv:1: air and dew_point tell the humidity together",
		"time,port_C,port_F\n":           "t.csv:1: column port_F: there is one of that name already",
		"time,port_%\n":                  "t.csv:1: column port_%: ",
		"time,,port\n":                   "t.csv:1: column 2 has no name",
		head + "2026-04-06 09:00\n":      "t.csv:2: 1 cells under 2 columns",
		head + "monday,20\n":             `t.csv:2: column time: "monday" is not a time; write it like`,
		head + "2026-03-29 01:30,20\n":   "does not exist on the clock of Europe/Lisbon",
		head + "2026-04-06 09:00,warm\n": `t.csv:2: column port_C: "warm C" is not a value`,
		head + "2026-04-06 09:00,20\n2026-04-06 09:00,20\n": "t.csv:3: column time: 2026-04-06 09:00 is not after the line before it",
		head + "2026-04-06 09:00,20\n2027-06-06 09:00,20\n": "t.csv:3: column time: 2027-06-06 09:00 is more than 400 days after",
	} {
		if _, err := Read("t.csv", []byte(text), lisbon); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q:\n%v, want\n%s", text, err, want)
		}
	}
	table, err := Read("t.csv", []byte(head+"2026-04-06 09:00,968\n2026-04-06 10:00,999\n"), lisbon)
	if err != nil || len(table.Facets[0].Readings) != 0 || len(table.Notes) != 1 || !strings.HasPrefix(table.Notes[0], "t.csv:2: column port_C: 968") {
		t.Errorf("%v %+v", err, table)
	}
}

func TestGapsAreNotMeasured(t *testing.T) {
	table, err := Read("t.csv", []byte("time,surface_C\n2026-04-06 09:10,20\n2026-04-06 09:20,22\n2026-04-06 09:30,20\n2026-04-06 12:00,20\n"), lisbon)
	if err != nil {
		t.Fatal(err)
	}
	gap := table.Gap(4 * time.Hour)
	if gap != 30*time.Minute {
		t.Errorf("a gap of %v; every 10 min, so 30", gap)
	}
	from := table.Rows[0].Add(-10 * time.Minute)
	spells := table.Spells(from, table.Rows[3], gap)[0]
	var blind time.Duration
	at := from
	for _, s := range spells {
		if !unit.Known(s.Coldest) {
			blind += s.Until.Sub(at)
		}
		at = s.Until
	}
	if !at.Equal(table.Rows[3]) || blind != 150*time.Minute {
		t.Errorf("until %v, %v not measured; want 2 h 30 min", at, blind)
	}
	// 09:10 to 09:15 on the way from 20 to 22 °C: the colder end opens, the warmer closes.
	if s := spells[2]; s.Coldest != 20 || s.Warmest != 21 {
		t.Errorf("%+v", s)
	}
	if then := table.Until(table.Rows[1]); len(then.Rows) != 2 || then.Last(0).Coldest != 22 || table.Last(0).Coldest != 20 {
		t.Errorf("%+v", then)
	}
}

// Spells follow each other without a hole and stay within what was measured.
func TestAnySpellsStayWithinTheReadings(t *testing.T) {
	start := time.Date(2026, 4, 6, 8, 0, 0, 0, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		f := Facet{Name: "surface"}
		low, high := unit.Temperature(math.Inf(1)), unit.Temperature(math.Inf(-1))
		at := start
		for _, v := range rapid.SliceOfN(rapid.Float64Range(-20, 60), 1, 20).Draw(t, "values") {
			at = at.Add(time.Duration(rapid.IntRange(1, 120).Draw(t, "minutes")) * time.Minute)
			f.Readings = append(f.Readings, Reading[unit.Temperature]{at, unit.Temperature(v)})
			low, high = min(low, unit.Temperature(v)), max(high, unit.Temperature(v))
		}
		table := Table{Facets: []Facet{f}}
		until := at.Add(time.Duration(rapid.IntRange(0, 100).Draw(t, "more")) * time.Minute)
		before := start
		for _, s := range table.Spells(start, until, time.Hour)[0] {
			if d := s.Until.Sub(before); d <= 0 || d > piece {
				t.Fatalf("a spell of %v", d)
			}
			before = s.Until
			if unit.Known(s.Coldest) != unit.Known(s.Warmest) {
				t.Fatalf("half known: %+v", s)
			}
			if unit.Known(s.Coldest) && !(s.Coldest <= s.Warmest && s.Coldest >= low-1e-9 && s.Warmest <= high+1e-9) {
				t.Fatalf("%+v of readings from %v to %v", s, low, high)
			}
		}
		if !before.Equal(until) {
			t.Fatalf("until %v, want %v", before, until)
		}
	})
}

// FuzzRead reads anything: an error that names the file, or rows in the order of
// time with values that can be believed.
func FuzzRead(f *testing.F) {
	f.Add("time,surface\n2026-04-06 09:00,20\n")
	f.Add("time;port_F;deck_C;humidity_%\n2026-04-06T09:00:00Z;68;20,5;70\n2026-04-06 10:10;NA;;101\n")
	f.Add("time,air,dew_point,coldest,warmest\n2026-10-25 01:30,1,2,3,4\n2026-10-25 01:30,1,2,3,4\n")
	f.Fuzz(func(t *testing.T, text string) {
		table, err := Read("t.csv", []byte(text), lisbon)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "t.csv:") {
				t.Fatal(err)
			}
			return
		}
		for i := 1; i < len(table.Rows); i++ {
			if !table.Rows[i].After(table.Rows[i-1]) {
				t.Fatalf("row %d at %v after %v", i, table.Rows[i], table.Rows[i-1])
			}
		}
		for _, x := range table.Facets {
			for _, r := range x.Readings {
				if !(r.Value >= coldestSurface && r.Value <= hottestSurface) {
					t.Fatal(r)
				}
			}
		}
		for _, r := range table.Humidity {
			if !(r.Value >= 0 && r.Value <= 101) {
				t.Fatal(r)
			}
		}
		if last := table.Rows[len(table.Rows)-1]; last.Sub(table.Rows[0]) > longest {
			t.Fatal(last)
		}
	})
}
