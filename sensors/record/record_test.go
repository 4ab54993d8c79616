package record

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

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

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

func pacific(t *testing.T) *time.Location {
	t.Helper()
	zone, err := time.LoadLocation("America/Los_Angeles")
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

// TestWholeFiles: each real file with the faults that it really has. NA
// was counted apart over the columns, the 90 contradictions of Newark apart with
// WMO's formula. Lines, and the wind of 1048 mph, can be looked up in the files.
func TestWholeFiles(t *testing.T) {
	tests := []struct {
		file  string
		hours int
		known int // Measured
		found string
	}{
		{"newark_2013_hourly.csv", 8703, 8612, `
hour missing: 27, first on line 13 at 2013-01-01T17:00Z, before this line
pressure missing: 935, first on line 13 at 2013-01-01T18:00Z
humidity contradiction: 90, first on line 129 at 2013-01-06T14:00Z, 87 %, but 81 % by the dew point
wind out of range: 1, first on line 1011 at 2013-02-12T08:00Z, 468.659 m/s
wind missing: 1, first on line 2053 at 2013-03-27T21:00Z
air missing: 1, first on line 5593 at 2013-08-22T13:00Z
dew_point missing: 1, first on line 5593 at 2013-08-22T13:00Z
humidity missing: 1, first on line 5593 at 2013-08-22T13:00Z`},
		{"seattle_2014_hourly.csv", 8714, 8712, `
by the clock of America/Los_Angeles its nights are warmer than its days: its times are taken for UTC
pressure missing: 1458, first on line 3 at 2014-01-01T01:00Z
hour missing: 22, first on line 1184 at 2014-02-19T06:00Z, before this line
air missing: 2, first on line 5381 at 2014-08-13T17:00Z
dew_point missing: 2, first on line 5381 at 2014-08-13T17:00Z
humidity missing: 2, first on line 5381 at 2014-08-13T17:00Z
wind missing: 4, first on line 5381 at 2014-08-13T17:00Z`},
		{"mcguire_nj_tmy3.epw", 8760, 8720, `
humidity contradiction: 40, first on line 751 at 2005-02-01T04:00Z, 84 %, but 71 % by the dew point`},
		{"miami_tmy2.tm2", 8760, 8760, ""},
		{"uscrn_subhourly_tucson_2019_sample.txt", 1, 0, `
air missing: 1, first on line 1 at 2019-01-01T17:00Z, 3 of the hour's 12 records have it
humidity missing: 1, first on line 1 at 2019-01-01T17:00Z, 4 of the hour's 12 records have it
wind missing: 1, first on line 1 at 2019-01-01T17:00Z, 4 of the hour's 12 records have it
rain missing: 1, first on line 1 at 2019-01-01T17:00Z, 4 of the hour's 12 records have it
shortwave missing: 1, first on line 1 at 2019-01-01T17:00Z, 4 of the hour's 12 records have it`},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			hours, found, err := Read(tt.file, shared(t, tt.file), Options{Zone: pacific(t)})
			if err != nil {
				t.Fatal(err)
			}
			known := 0
			for _, h := range hours {
				if h.Sure == conditions.Measured {
					known++
				}
			}
			if got := strings.Join(found, "\n"); len(hours) != tt.hours || known != tt.known || got != strings.TrimPrefix(tt.found, "\n") {
				t.Errorf("%d hours, %d measured, found:\n%s", len(hours), known, got)
			}
		})
	}
}

// uscrn_with_problems_sample.txt: its second record stands behind thousands of
// bytes that a starting logger wrote, and an hour is missing before it.
func TestReferenceWithProblems(t *testing.T) {
	rows, err := Rows("uscrn", shared(t, "uscrn_with_problems_sample.txt"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 2 || !rows[0].At.Equal(time.Date(2020, 7, 6, 12, 0, 0, 0, time.UTC)) || !rows[1].At.Equal(time.Date(2020, 7, 6, 14, 0, 0, 0, time.UTC)) {
		t.Errorf("%+v", rows)
	}
}

// The first hour of miami_tmy2.tm2, read by eye off the positions of the manual:
// 07 tenths of cloud, 20.0 °C, dew point 15.0 °C, 73 %, 1017 hPa, 6.7 m/s. A
// year's sun in Miami is about 1770 kWh/m² (from memory).
func TestTMY2(t *testing.T) {
	rows, err := Rows("miami", shared(t, "miami_tmy2.tm2"), Options{Year: 2026})
	if err != nil {
		t.Fatal(err)
	}
	r := rows[0]
	if !r.At.Equal(time.Date(2026, 1, 1, 6, 0, 0, 0, time.UTC)) || r.Line != 2 {
		t.Errorf("line %d, %s", r.Line, r.At)
	}
	near(t, "cloud", float64(r.Weather.Cloud), 0.7, 1e-9)
	near(t, "air", float64(r.Weather.Air), 20, 1e-9)
	near(t, "dew point", float64(r.Weather.DewPoint), 15, 1e-9)
	near(t, "humidity", r.Value(conditions.RelHumidity), 73, 1e-9)
	near(t, "pressure", r.Value(conditions.AirPressure), 101700, 1e-6)
	near(t, "wind", float64(r.Weather.Wind), 6.7, 1e-9)
	sum := 0.0
	for _, r := range rows {
		sum += r.Weather.Shortwave
	}
	near(t, "kWh/m² in the year", sum/1000, 1770, 100)
}

const stations = `origin,year,month,day,hour,temp,dewp,humid,wind_dir,wind_speed,wind_gust,precip,pressure,visib,time_hour
EWR,2013,1,1,1,39.02,26.06,59.37,270,10,NA,0,1012,10,2013-01-01T06:00:00Z
EWR,2013,1,1,2,39.02,26.96,61.63,250,8.05,NA,0,1012.3,10,2013-01-01T07:00:00Z
EWR,2013,1,1,2,40.10,26.96,61.63,250,8.05,NA,0,1012.3,10,2013-01-01T07:00:00Z
JFK,2013,1,1,2,10.10,2.96,50,250,8.05,NA,0,1012.3,10,2013-01-01T08:00:00Z
EWR,2013,1,1,5,41.00,28.04,59.65,240,calm,20,0.1,NA,10,2013-01-01T10:00:00Z
EWR,2013,1,1,4,39.02,60.04,64.43,240,NA,NA,0,1012.5,10,2013-01-01T09:00:00Z
`

func TestStations(t *testing.T) {
	hours, found, err := Read("t.csv", []byte(stations), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := `hour possible repeat: 1, first on line 4 at 2013-01-01T07:00Z, left out
hour missing: 1, first on line 7 at 2013-01-01T08:00Z, before this line
wind missing: 1, first on line 7 at 2013-01-01T09:00Z
humidity contradiction: 1, first on line 7 at 2013-01-01T09:00Z, 64 %, but 219 % by the dew point
wind not a number: 1, first on line 6 at 2013-01-01T10:00Z, "calm"
pressure missing: 1, first on line 6 at 2013-01-01T10:00Z`
	if got := strings.Join(found, "\n"); got != want {
		t.Errorf("found:\n%s", got)
	}
	if len(hours) != 4 {
		t.Fatalf("%d hours", len(hours))
	}
	near(t, "air", float64(hours[1].Air), 3.9, 1e-9) // the first of the two
	near(t, "wind", float64(hours[0].Wind), 4.4704, 1e-9)
	near(t, "gust", float64(hours[3].Gust), 8.9408, 1e-9)
	near(t, "rain", float64(hours[3].Rain), 2.54, 1e-9)
	if hours[0].Sure != conditions.Measured || hours[2].Sure != conditions.Unknown || !math.IsNaN(float64(hours[2].DewPoint)) {
		t.Errorf("%+v", hours)
	}
	other, _, err := Read("t.csv", []byte(stations), Options{Station: "JFK"})
	if err != nil || len(other) != 1 || other[0].Air > -12 {
		t.Errorf("%+v %v", other, err)
	}
}

// The hour that autumn doubles comes twice and in order; the one that spring
// leaves out cannot be: it lands on its neighbour.
func TestStationsOnTheClock(t *testing.T) {
	const head = "origin,temp,dewp,humid,wind_speed,wind_gust,precip,date\n"
	row := func(date string) string { return "SEA,50,50,100,5,6,0," + date + ":00:00\n" }
	for _, tt := range []struct{ name, text, hours, found string }{
		{"autumn", row("2014-11-02 00") + row("2014-11-02 01") + row("2014-11-02 01") + row("2014-11-02 02"), "07 08 09 10", ""},
		{"spring", row("2014-03-09 01") + row("2014-03-09 02") + row("2014-03-09 03"), "09 10", "hour possible repeat: 1, first on line 3 at 2014-03-09T09:00Z, left out"},
	} {
		hours, found, err := Read(tt.name, []byte(head+tt.text), Options{Zone: pacific(t)})
		var at []string
		for _, h := range hours {
			at = append(at, h.At.Format("15"))
		}
		if err != nil || strings.Join(at, " ") != tt.hours || strings.Join(found, "\n") != tt.found {
			t.Errorf("%s: %v %q %v", tt.name, at, found, err)
		}
	}
}

// epwHead is the header of a file, epwHour an hour behind its year, month, day and hour.
const (
	epwHead = "LOCATION,Nowhere,NJ,USA,TMY3,0,40.02,-74.60,-5.0,45.0\n" + "x\nx\nx\nx\nx\nx\nx\n"
	epwHour = ",0,?9,8.0,5.0,81,101900,0,0,312,25,0,0,0,0,0,0,240,1.5,9,8,11.3,1350,9,999999999,160,0.0750,0,88,0.160,999.0,99.0\n"
)

func TestEPW(t *testing.T) {
	text := []byte(epwHead + "2004,2,28,24" + epwHour + "2004,2,29,1" + epwHour + "2004,3,1,1" + epwHour)
	for year, want := range map[int]string{0: "2004-02-29T05 2004-02-29T06 2004-03-01T06", 2026: "2026-03-01T05 2026-03-01T06"} {
		rows, err := Rows("t.epw", text, Options{Year: year})
		if err != nil {
			t.Fatal(err)
		}
		var at []string
		for _, r := range rows {
			at = append(at, r.At.Format("2006-01-02T15"))
		}
		if strings.Join(at, " ") != want {
			t.Errorf("set to %d: %v", year, at)
		}
		w := rows[0].Weather
		near(t, "air", float64(w.Air), 8, 0)
		near(t, "dew point", float64(w.DewPoint), 5, 0)
		near(t, "sun", w.Shortwave, 25, 0)
		near(t, "cloud", float64(w.Cloud), 0.9, 0)
		if !math.IsNaN(float64(w.Rain)) || len(rows[0].Faults) > 0 {
			t.Errorf("%+v", rows[0])
		}
	}
}

// referenceRow is a record of five minutes, with a wind's flag.
func referenceRow(at, air, rain, flag string) string {
	return "53131 20190101 " + at + " 20190101 0910 3 -111.17 32.24 " + air + " " + rain + " 296 0 4.4 C 0 90 0 -99.000 -9999.0 24 0 0.78 " + flag + "\n"
}

func TestReference(t *testing.T) {
	var text strings.Builder
	for _, m := range []string{"05", "10", "15", "20", "25", "30", "35", "40", "45", "50", "55"} {
		air, flag := "4.0", "0"
		if m > "30" {
			air, flag = "-9999.0", "3" // six records are left, with the last
		}
		text.WriteString(referenceRow("16"+m, air, "0.2", flag))
	}
	text.WriteString("\x00\x00" + referenceRow("1700", "-9999.0", "0.2", "0"))
	hours, found, err := Read("t.txt", []byte(text.String()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := `wind unreadable: 5, first on line 7 at 2019-01-01T16:35Z, 0.78, which the station itself flags with 3
hour unreadable: 1, first on line 12 at 2019-01-01T17:00Z, bytes of nought in the line; the rest is read`
	if got := strings.Join(found, "\n"); got != want || len(hours) != 1 {
		t.Fatalf("%d hours, found:\n%s", len(hours), got)
	}
	h := hours[0]
	near(t, "air", float64(h.Air), 4, 1e-9)
	near(t, "rain", float64(h.Rain), 2.4, 1e-9) // twelve times 0.2 mm
	near(t, "wind", float64(h.Wind), 0.78, 1e-9)
	near(t, "sun", h.Shortwave, 296, 1e-9)
	// ASHRAE's psychrometrics give 2.5 °C for 4 °C at 90 %.
	near(t, "dew point", float64(h.DewPoint), 2.5, 0.05)
}

const table = `# what the yard's own station wrote
time,air_F,humidity_%,wind_kn,rain_mm,shortwave_W/m2
2026-04-06T07:00:00Z,50,50,10,0,210
2026-04-06T08:00:00Z,50,,10,1.5,
2026-04-06T09:00:00Z,200,50,10,0,210
`

func TestTable(t *testing.T) {
	hours, found, err := Read("t.csv", []byte(table), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := `air out of range: at 2026-04-06 09:00 UTC
dew_point missing: 2, first at 2026-04-06T08:00Z
air missing: 1, first at 2026-04-06T09:00Z`
	if got := strings.Join(found, "\n"); len(hours) != 3 || got != want {
		t.Fatalf("%d hours, found:\n%s", len(hours), got)
	}
	h := hours[0]
	near(t, "air", float64(h.Air), 10, 1e-9)
	near(t, "dew point", float64(h.DewPoint), 0.06, 0.05)
	near(t, "wind", float64(h.Wind), 5.1444, 1e-3)
	if h.Sure != conditions.Measured || h.AirError != 0 || hours[1].Sure != conditions.Unknown || hours[1].Rain != 1.5 {
		t.Errorf("%+v", hours)
	}
}

// A station that writes every ten minutes: the hour's mean, its greatest gust.
func TestTableOfTenMinutes(t *testing.T) {
	text := "time,air_C,dew_point_C,gust_m/s\n"
	for i, m := range []string{"10", "20", "30", "40", "50"} {
		text += "2026-04-06T07:" + m + ":00Z,1" + string(rune('0'+i)) + ",5," + string(rune('9'-i)) + "\n"
	}
	hours, found, err := Read("t.csv", []byte(text), Options{})
	if err != nil || len(hours) != 1 || len(found) > 0 {
		t.Fatalf("%v %q %v", hours, found, err)
	}
	near(t, "air", float64(hours[0].Air), 12, 1e-9)
	near(t, "gust", float64(hours[0].Gust), 9, 0)
	if !hours[0].At.Equal(time.Date(2026, 4, 6, 8, 0, 0, 0, time.UTC)) {
		t.Errorf("%s", hours[0].At)
	}
}

func TestRefuses(t *testing.T) {
	local := strings.NewReplacer("time_hour", "date", "T06:00:00Z", " 06:00:00").Replace(stations)
	miami := " 12839 MIAMI                  FL  -5 N 25 48 W  80 16     2\n"
	for text, want := range map[string]string{
		"":                                    "t: line 1: no header",
		"hello, world":                        `t: line 1: no column "origin", as a table of stations has; nor`,
		"origin,temp\n":                       `t: line 1: no column "dewp"; a table of stations has origin, temp,`,
		local:                                 `t: line 1: the column "date" has no zone`,
		strings.SplitAfter(stations, "\n")[0]: `t: no rows of origin ""`,
		strings.Replace(stations, "2013-01-01T07", "yester", 1): `t: line 3, column time_hour: "yester:00:00Z" is not a time; it should look like`,
		stations + "EWR,2013":                          "wrong number of fields; is the file cut off?",
		"LOCATION,a,b\n":                               "t: line 1: LOCATION has 3 fields, of 10",
		"LOCATION,a,b,c,d,e,1,2,99,3\n":                `t: line 1, field 9: "99" is not an offset`,
		epwHead:                                        "t: no records after the header",
		epwHead + "2005,1,1,1":                         "t: line 9: 4 fields, fewer than 34",
		epwHead + "2005,2,30,1" + epwHour:              `t: line 9, fields 1 to 4: year "2005", month "2", day "30", hour "1" is no hour`,
		epwHead + "2005,1,1,25" + epwHour:              "no hour of a year",
		miami:                                          "t: no records after the header",
		miami + " 6201010100":                          "t: line 2: 11 bytes, of 142",
		strings.Replace(miami, "-5", "E5", 1):          `t: line 1, bytes 34 to 36: " E5" is not an offset`,
		miami + " 62013201" + strings.Repeat("0", 133): `t: line 2, bytes 2 to 9: year "1962", month "01", day "32"`,
		referenceRow("1605", "4", "0", "0") + "53131 20190101": "t: line 2: 2 values, of 23",
		referenceRow("1665", "4", "0", "0"):                    `t: line 1, columns 2 and 3: "20190101 1665" is not a time`,
		"time,air_C\n":                                         "t: line 1: no column dew_point_C",
		strings.Replace(table, "50,50", "50,wet", 1):           `t: line 3, column humidity_%: "wet" is not a number`,
	} {
		if _, _, err := Read("t", []byte(text), Options{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%.40q:\n%v, want\n%s", text, err, want)
		}
	}
}

// A dew point over the air is the rounding of either, up to what rounding can do.
func TestDewPointOverTheAir(t *testing.T) {
	for _, tt := range []struct {
		dew, want float64
		faults    int
	}{{10.3, 10, 0}, {12, math.NaN(), 1}} {
		r := Row{Said: map[conditions.Variable]float64{conditions.AirTemperature: 10, conditions.DewPointTemp: tt.dew}}
		r.judge(nil)
		if got := float64(r.Weather.DewPoint); got != tt.want && !(math.IsNaN(got) && math.IsNaN(tt.want)) || len(r.Faults) != tt.faults {
			t.Errorf("%v: %v %v", tt.dew, got, r.Faults)
		}
		for _, f := range r.Faults {
			if f.Fault != sensors.Contradiction {
				t.Error(f)
			}
		}
	}
}
