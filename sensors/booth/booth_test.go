package booth

import (
	"math"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
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
	table, err := Read("t.csv", []byte("\ufeff# by hand\r\ntime;mode;air_F;humidity;heater_W;outdoors_air;outdoors_dew_point_C;door\r\n"+
		"2026-04-06 09:00;curing;68;72,9;120500;10,5;4;shut\r\n2026-04-06T09:00:00Z;idle;NA;70;;;;\r\n"), lisbon)
	if err != nil {
		t.Fatal(err)
	}
	if len(table.Seen) != 2 || !table.Outdoors {
		t.Fatalf("%+v", table)
	}
	a, b := table.Seen[0], table.Seen[1]
	if !a.At.Equal(time.Date(2026, 4, 6, 8, 0, 0, 0, time.UTC)) || a.Mode != conditions.Curing || math.Abs(float64(a.Air)-20) > 1e-9 || a.Heats != 120.5 {
		t.Errorf("%+v", a)
	}
	// 20 °C with a dew point of 15 °C: 72.91 %, the vapour pressures of a NASA/JPL paper.
	if math.Abs(float64(a.DewPoint)-15) > 0.05 {
		t.Errorf("dew point %v", a.DewPoint)
	}
	if o := a.Outdoors; o.Air != 10.5 || o.DewPoint != 4 || o.Sure != conditions.Measured || !o.At.Equal(a.At) {
		t.Errorf("outdoors: %+v", o)
	}
	// A humidity without its air tells no dew point; what was not read is not known.
	if unit.Known(b.Air) || unit.Known(b.DewPoint) || unit.Known(b.Heats) || b.Outdoors.Sure != conditions.Unknown {
		t.Errorf("%+v", b)
	}
	if notes := strings.Join(table.Notes, "\n"); len(table.Notes) != 2 || !strings.Contains(notes, "outdoors_air names no unit") || !strings.Contains(notes, "column door is not used; those that are: time, mode") {
		t.Error(notes)
	}
}

// The hour that a clock change doubles goes in the order of the file.
func TestReadOverAClockChange(t *testing.T) {
	table, err := Read("t.csv", []byte("time,mode,air_C\n2026-10-25 00:30,idle,10\n2026-10-25 01:30,idle,10\n2026-10-25 01:30,idle,10\n"), lisbon)
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(table.Seen); i++ {
		if d := table.Seen[i].At.Sub(table.Seen[i-1].At); d != time.Hour {
			t.Errorf("row %d comes %v after the one before", i, d)
		}
	}
	if table.Outdoors {
		t.Error("there is no column of the air outdoors")
	}
}

func TestReadSaysWhatIsWrong(t *testing.T) {
	const head = "time,mode,air_C,heater\n"
	for text, want := range map[string]string{
		"":                                     "t.csv: no header",
		head:                                   "t.csv: no readings after the header",
		"time,air\n":                           "t.csv:1: no column mode; the header should look like time,mode,",
		"time,mode,air_C,air_F\n":              "t.csv:1: column air_F: there is one of air already",
		"time,mode,air,humidity,dew_point":     "t.csv:1: columns humidity and dew_point: give one of the two",
		"time,mode,air,outdoors_humidity":      "t.csv:1: no column outdoors_air beside",
		head + "2026-04-06 09:00,idle\n":       "t.csv:2: 2 cells under 4 columns",
		head + "monday,idle,20,\n":             `t.csv:2: column time: "monday" is not a time; write it like`,
		head + "2026-03-29 01:30,idle,20,\n":   "does not exist on the clock of Europe/Lisbon",
		head + "2026-04-06 09:00,off,20,\n":    `t.csv:2: column mode: "off" is not what a booth does; write idle, spraying or curing`,
		head + "2026-04-06 09:00,,20,\n":       "t.csv:2: column mode: it is blank",
		head + "2026-04-06 09:00,idle,warm,\n": `t.csv:2: column air_C: "warm C" is not a value`,
		head + "2026-04-06 09:00,idle,20,40\n": `t.csv:2: column heater: "40" has no unit; a power is written in BTU/h, W, kW`,
		head + "2026-04-06 09:00,idle,20,\n2026-04-06 09:00,idle,20,\n": "t.csv:3: column time: 2026-04-06 09:00 is not after the line before it",
		head + "2026-04-06 09:00,idle,20,\n2027-06-06 09:00,idle,20,\n": "t.csv:3: column time: 2027-06-06 09:00 is more than 400 days after",
	} {
		if _, err := Read("t.csv", []byte(text), lisbon); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q:\n%v, want\n%s", text, err, want)
		}
	}
	table, err := Read("t.csv", []byte("time,mode,air_C,dew_pont,heater\n2026-04-06 09:00,idle,968,3,-4 kW\n2026-04-06 10:00,idle,999,3,40 kW\n"), lisbon)
	if err != nil || unit.Known(table.Seen[1].Air) || unit.Known(table.Seen[0].Heats) || table.Seen[1].Heats != 40 {
		t.Errorf("%v %+v", err, table)
	}
	if want := "column dew_pont is not used; did you mean dew_point?\nt.csv:2: column air_C: 968 lies beyond -60 to 100 °C: left out, with any like it\nt.csv:2: column heater: -4 kW lies beyond 0 to 20000 kW: left out, with any like it"; strings.Join(table.Notes, "\n") != want {
		t.Errorf("%s", strings.Join(table.Notes, "\n"))
	}
}

// FuzzRead reads anything: an error that names the file, or readings in the order
// of time, of a known mode, with values that can be believed.
func FuzzRead(f *testing.F) {
	f.Add("time,mode,air\n2026-04-06 09:00,idle,20\n")
	f.Add(example + "\n2026-04-06T09:00:00Z,curing,20,5,40,4,3\n2026-04-06T10:00:00Z,spraying,,,NA,4,3\n")
	f.Add("time;mode;air_F;humidity_%;heater;outdoors_air;outdoors_humidity\n2026-10-25 01:30;idle;68;70,5;40 kW;1;101\n2026-10-25 01:30;idle;68;1;1e3 W;1;2\n")
	f.Fuzz(func(t *testing.T, text string) {
		table, err := Read("t.csv", []byte(text), lisbon)
		if err != nil {
			if !strings.HasPrefix(err.Error(), "t.csv:") {
				t.Fatal(err)
			}
			return
		}
		for i, s := range table.Seen {
			if i > 0 && !s.At.After(table.Seen[i-1].At) {
				t.Fatalf("row %d at %v after %v", i, s.At, table.Seen[i-1].At)
			}
			if _, err := modeOf(string(s.Mode)); err != nil {
				t.Fatal(err)
			}
			for _, v := range []unit.Temperature{s.Air, s.Outdoors.Air} {
				if !math.IsNaN(float64(v)) && !(v >= -60 && v <= 100) {
					t.Fatalf("%+v", s)
				}
			}
			if !math.IsNaN(float64(s.Heats)) && !(s.Heats >= 0) {
				t.Fatalf("%+v", s)
			}
			if (s.Outdoors.Sure == conditions.Measured) != unit.Known(s.Outdoors.Air) {
				t.Fatalf("%+v", s.Outdoors)
			}
		}
	})
}
