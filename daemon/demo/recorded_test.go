package demo

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
	"fairwindow/sensors/record"
)

func year(y int) Recording {
	return Recording{From: time.Date(y, 1, 2, 0, 0, 0, 0, time.UTC), To: time.Date(y, 12, 30, 0, 0, 0, 0, time.UTC)}
}

// count counts faults of a kind, of whole hours or of values.
func count(faults []record.Fault, what sensors.Fault, hours bool) int {
	n := 0
	for _, f := range faults {
		if f.Fault == what && (f.Of == "") == hours {
			n++
		}
	}
	return n
}

// newark_2013_hourly.csv, EWR: one wind of 1048 mph, dew points that contradict
// the humidity by more than 5 % (90 rows of the whole file, counted apart with
// WMO's formula), one row of NA.
func TestNewarkKeepsItsFaults(t *testing.T) {
	o := year(2013)
	o.Site = Site{40.69, -74.17}
	hours, faults, err := Recorded("newark_2013_hourly.csv", shared(t, "newark_2013_hourly.csv"), o)
	if err != nil {
		t.Fatal(err)
	}
	if len(hours) != 362*24+1 {
		t.Errorf("%d hours", len(hours))
	}
	var gale record.Fault
	for _, f := range faults {
		if f.Fault == sensors.OutOfRange {
			gale = f
		}
	}
	if gale.Line != 1011 || gale.Of != conditions.WindSpeed || !gale.At.Equal(time.Date(2013, 2, 12, 8, 0, 0, 0, time.UTC)) {
		t.Fatalf("the wind of 1048 mph is not found: %+v", gale)
	}
	near(t, "said", gale.Was, 1048.36058*0.44704, 1e-6)
	truth := outdoors(hours, gale.At)
	if truth.Wind > 25 || truth.Said == nil || truth.Said.Wind < 460 {
		t.Errorf("the truth is %+v", truth)
	}
	for what, want := range map[sensors.Fault]int{sensors.OutOfRange: 1, sensors.Contradiction: 90, sensors.Repeated: 0, sensors.Missing: 4} {
		if got := count(faults, what, false); got != want {
			t.Errorf("%d × %s, want %d", got, what, want)
		}
	}
	if got := count(faults, sensors.Missing, true); got < 10 || got > 30 {
		t.Errorf("%d hours are missing", got)
	}
	for _, h := range hours {
		if h.DewPoint > h.Air || math.IsNaN(h.Air+h.DewPoint+h.Wind+h.Gust+h.Rain+h.Cloud+h.Shortwave) || h.Wind > 40 {
			t.Fatalf("the truth has a hole: %+v", h)
		}
	}
}

// The instruments must say the gale, not the truth, so that the daemon has to flag it.
func TestStationRepeatsTheGale(t *testing.T) {
	o := Recording{Origin: "EWR", From: time.Date(2013, 2, 11, 0, 0, 0, 0, time.UTC), To: time.Date(2013, 2, 14, 0, 0, 0, 0, time.UTC)}
	hours, _, err := Recorded("newark_2013_hourly.csv", shared(t, "newark_2013_hourly.csv"), o)
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2013, 2, 12, 8, 10, 0, 0, time.UTC)
	w := newWorld(1, yardOf(), hours, at)
	station := newInstruments(1, []config.Sensor{weatherStation()}, o.From, 3)[0]
	station.dropout = 0
	m, ok, err := station.report(at, w.seen(station.Sensor))
	if err != nil || !ok || !strings.Contains(string(m.Payload), `"wind":468.659`) {
		t.Errorf("%s %v %v", m.Payload, ok, err)
	}
}

// seattle_2014_hourly.csv names no zone, and its nights would be warmer than its days by
// the station's clock: its times are UTC's. The hour that a clock jumps over on 9
// March is missing all the same.
func TestSeattleNeedsAZone(t *testing.T) {
	o := Recording{Origin: "SEA", Site: Site{47.45, -122.31}, From: time.Date(2014, 3, 8, 0, 0, 0, 0, time.UTC), To: time.Date(2014, 3, 11, 0, 0, 0, 0, time.UTC)}
	if _, _, err := Recorded("seattle_2014_hourly.csv", shared(t, "seattle_2014_hourly.csv"), o); err == nil || !strings.Contains(err.Error(), "zone") {
		t.Errorf("without a zone: %v", err)
	}
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	o.Zone = zone
	hours, faults, err := Recorded("seattle_2014_hourly.csv", shared(t, "seattle_2014_hourly.csv"), o)
	if err != nil || len(faults) != 1 || faults[0].Flag.Fault != sensors.Missing || len(hours) != 73 {
		t.Fatalf("%d hours, faults %v, %v", len(hours), faults, err)
	}
	// 2014-03-09 01:00, 51.98 °F and 0.12 in.
	h := outdoors(hours, time.Date(2014, 3, 9, 1, 0, 0, 0, time.UTC))
	near(t, "air", h.Air, 11.1, 0.01)
	near(t, "rain", h.Rain, 3.048, 0.001)
	if h.Cloud != 1 {
		t.Errorf("rain under %+v", h)
	}
}

// mcguire_nj_tmy3.epw, 1 January hour 1 ends at 06:00 UTC: 8.0 °C, dew point
// 5.0 °C, 1.5 m/s, cover 9/10; its rain column is all missing.
func TestEPW(t *testing.T) {
	o := Recording{From: time.Date(2026, 1, 1, 6, 0, 0, 0, time.UTC), To: time.Date(2026, 12, 31, 0, 0, 0, 0, time.UTC)}
	hours, faults, err := Recorded("mcguire_nj_tmy3.epw", shared(t, "mcguire_nj_tmy3.epw"), o)
	if err != nil {
		t.Fatal(err)
	}
	h := hours[0]
	near(t, "air", h.Air, 8, 1e-9)
	near(t, "wind", h.Wind, 1.5, 1e-9)
	near(t, "cloud", h.Cloud, 0.9, 1e-9)
	if len(hours) < 8700 || count(faults, sensors.Missing, true) != 0 {
		t.Errorf("%d hours, %d missing", len(hours), count(faults, sensors.Missing, true))
	}
	sum := 0.0
	for _, h := range hours {
		sum += h.Shortwave
	}
	// A year's sun in New Jersey is about 1450 kWh/m² (from memory).
	near(t, "kWh/m² in the year", sum/1000, 1450, 150)
}

const twoDays = `origin,year,month,day,hour,temp,dewp,humid,wind_dir,wind_speed,wind_gust,precip,pressure,visib,time_hour
EWR,2013,1,1,1,39.02,26.06,59.37,270,10.35,NA,0,1012,10,2013-01-01T06:00:00Z
EWR,2013,1,1,2,39.02,26.96,61.63,250,8.05,NA,0,1012.3,10,2013-01-01T07:00:00Z
EWR,2013,1,1,2,40.10,26.96,61.63,250,8.05,NA,0,1012.3,10,2013-01-01T07:00:00Z
JFK,2013,1,1,2,10.10,2.96,61.63,250,8.05,NA,0,1012.3,10,2013-01-01T08:00:00Z
EWR,2013,1,1,4,39.02,60.04,64.43,240,NA,NA,0,1012.5,10,2013-01-01T09:00:00Z
EWR,2013,1,1,5,41.00,28.04,59.65,240,11.5,20,0.1,1012.5,10,2013-01-01T10:00:00Z
`

func TestRecordedFaults(t *testing.T) {
	o := Recording{From: time.Date(2013, 1, 1, 6, 0, 0, 0, time.UTC), To: time.Date(2013, 1, 1, 10, 0, 0, 0, time.UTC)}
	hours, faults, err := Recorded("t.csv", []byte(twoDays), o)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, f := range faults {
		got = append(got, string(f.Fault)+" "+string(f.Of))
	}
	want := "possible repeat |missing |missing wind|contradiction humidity"
	if strings.Join(got, "|") != want {
		t.Errorf("faults %q", got)
	}
	near(t, "first of two", hours[1].Air, 3.9, 0.001)
	near(t, "bridged wind", hours[3].Wind, (8.05+2.0/3*(11.5-8.05))*0.44704, 1e-6)
	near(t, "bridged dew point", hours[3].DewPoint, (26.96+2.0/3*(28.04-26.96)-32)/1.8, 1e-6)
	if hours[2].Said == nil || !hours[2].Said.Silent || hours[3].Said.DewPoint < 15 || hours[3].DewPoint > hours[3].Air {
		t.Errorf("%+v\n%+v", hours[2].Said, hours[3])
	}
}

func TestRecordedRefuses(t *testing.T) {
	o := Recording{From: time.Date(2013, 1, 1, 6, 0, 0, 0, time.UTC), To: time.Date(2013, 1, 3, 10, 0, 0, 0, time.UTC)}
	for text, want := range map[string]string{
		"":                                   "no header",
		"origin,temp\n":                      `no column "dewp"`,
		twoDays:                              "after 2013-01-01T10:00:00Z",
		strings.SplitAfter(twoDays, "\n")[0]: "no rows of origin",
		"LOCATION,a,b\n":                     "LOCATION has 3 fields",
		"LOCATION,a,b,c,d,e,1,2,99,3\n":      "not an offset",
		strings.Replace(twoDays, "2013-01-01T07:00:00Z", "yesterday", 1): "line 3",
	} {
		if _, _, err := Recorded("t.csv", []byte(text), o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.30q: %v, want %q", text, err, want)
		}
	}
	if _, _, err := Recorded("t.csv", []byte(twoDays), Recording{From: o.To, To: o.From}); err == nil {
		t.Error("time ran backwards")
	}
}

func FuzzRecorded(f *testing.F) {
	f.Add([]byte(twoDays))
	f.Add([]byte("origin,temp,dewp,humid,wind_speed,wind_gust,precip,date\nSEA,50,40,70,5,6,0,2013-01-01 06:00:00\n"))
	header := "LOCATION,Nowhere,NJ,USA,TMY3,0,40.02,-74.60,-5.0,45.0\n" + strings.Repeat("x\n", 7)
	f.Add([]byte(header + "2005,1,1,2,0,?9,8.0,5.0,81,101900,0,0,312,0,0,0,0,0,0,0,240,1.5,9,8,11.3,1350,9,999999999,160,0.0750,0,88,0.160,999.0,99.0\n"))
	f.Fuzz(holds)
}

// holds: whatever the file says, the truth has no hole and no dew above the air.
func holds(t *testing.T, data []byte) {
	o := Recording{From: time.Date(2013, 1, 1, 6, 0, 0, 0, time.UTC), To: time.Date(2013, 1, 1, 12, 0, 0, 0, time.UTC), Zone: time.UTC}
	hours, _, err := Recorded("t.csv", data, o)
	if err != nil {
		return
	}
	if len(hours) != 7 {
		t.Fatalf("%d hours", len(hours))
	}
	for _, h := range hours {
		if math.IsNaN(h.Air+h.DewPoint+h.Wind+h.Gust+h.Rain+h.Cloud+h.Shortwave) || h.DewPoint > h.Air || h.Wind > 75 {
			t.Fatalf("%+v", h)
		}
	}
}

// shared reads a file of ../shared/weather, beside the repository. Without it a
// test is skipped, but not in CI.
func shared(t *testing.T, name string) []byte {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		if dir == filepath.Dir(dir) {
			t.Fatal("no go.mod above the test")
		}
		dir = filepath.Dir(dir)
	}
	text, err := os.ReadFile(filepath.Join(filepath.Dir(dir), "shared", "weather", name))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("../shared is needed in CI: %v", err)
		}
		t.Skipf("skipped: %v", err)
	}
	return text
}
