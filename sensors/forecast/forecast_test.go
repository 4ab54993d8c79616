package forecast

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

var received = time.Date(2026, 4, 6, 6, 30, 0, 0, time.UTC)

func parse(format, body string, zone *time.Location) (sensors.Forecast, error) {
	return Parse(sensors.Document{Source: "f", Format: format, Body: []byte(body), Received: received, Zone: zone})
}

// say words a point: time, air/dew point, wind/gust, rain/chance, cloud/sun.
func say(w conditions.Weather) string {
	return fmt.Sprintf("%s %.1f/%.1f %.1f/%.1f %.2f/%.2f %.2f/%.0f %s", w.At.Format("02T15:04"), float64(w.Air), float64(w.DewPoint),
		float64(w.Wind), float64(w.Gust), float64(w.Rain), float64(w.RainChance), float64(w.Cloud), w.Shortwave, w.Sure)
}

func sayFlags(f sensors.Forecast) string {
	var out []string
	for _, g := range f.Flags {
		out = append(out, string(g.Of)+":"+string(g.Fault))
	}
	return strings.Join(out, " ")
}

func TestForms(t *testing.T) {
	lisbon, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	tests := []struct {
		file, format, issued, flags string
		points                      []string
	}{
		{"table.csv", "csv", "06T06:00", "", []string{
			// Dew points: 10 °C at 80 % is 6.71, 20 °C at 60 % is 12.01 (WMO formula, calc).
			"06T07:00 10.0/6.7 6.7/8.9 2.54/0.30 0.75/200 forecast",
			"06T08:00 20.0/12.0 2.2/NaN 0.00/0.00 NaN/400 forecast"}},
		{"semicolons.csv", "csv", "06T06:30", ":time without a zone", []string{
			"25T23:00 12.5/9.1 NaN/NaN NaN/NaN NaN/NaN forecast",
			"26T03:00 11.5/8.8 NaN/NaN NaN/NaN NaN/NaN forecast"}},
		{"arrays.json", "open-meteo", "06T06:30", "", []string{
			"06T06:00 10.0/8.0 5.0/NaN 0.00/0.10 0.50/100 forecast",
			"06T07:00 11.0/NaN 10.0/NaN 1.50/0.80 1.00/150 unknown",
			"06T08:00 12.0/9.0 2.5/NaN 0.00/0.20 0.00/300 forecast"}},
		{"layers.json", "gridpoint", "06T05:40", "air:out of range", []string{
			"06T06:00 10.0/8.0 5.0/NaN NaN/NaN 0.25/NaN forecast",
			"06T07:00 10.0/8.0 5.0/NaN 2.00/0.40 0.25/NaN forecast",
			"06T08:00 NaN/8.0 5.0/NaN 2.00/NaN 0.25/NaN unknown",
			"06T09:00 12.0/NaN 5.0/NaN 2.00/NaN 0.25/NaN unknown"}},
		{"series.json", "locationforecast", "06T05:00", "", []string{
			"06T06:00 10.0/6.7 5.0/NaN NaN/NaN 0.50/NaN forecast",
			"06T07:00 11.0/7.5 NaN/NaN 0.40/0.70 NaN/NaN forecast",
			"06T13:00 12.0/NaN NaN/9.0 0.50/NaN NaN/NaN unknown"}},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			body, err := os.ReadFile("testdata/" + tt.file)
			if err != nil {
				t.Fatal(err)
			}
			f, err := parse(tt.format, string(body), lisbon)
			if err != nil {
				t.Fatal(err)
			}
			if f.Source != "f" || f.Issued.Format("02T15:04") != tt.issued || !f.Received.Equal(received) || sayFlags(f) != tt.flags {
				t.Errorf("issued %s, flags %v", f.Issued, f.Flags)
			}
			var got []string
			for _, p := range f.Points {
				got = append(got, say(p))
			}
			if strings.Join(got, "\n") != strings.Join(tt.points, "\n") {
				t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(tt.points, "\n"))
			}
		})
	}
}

// TestFaults: one fault each; the error says where it is and what would be right.
func TestFaults(t *testing.T) {
	const head = "time,air_C,dew_point_C\n"
	hourly := func(rest string) string { return `{"utc_offset_seconds":0,"hourly":{` + rest + `}}` }
	layers := func(rest string) string { return `{"properties":{` + rest + `}}` }
	const dewRun = `"dewpoint":{"values":[{"validTime":"2026-04-06T06:00:00Z/PT1H","value":1}]}`
	tests := []struct{ name, format, body, want string }{
		{"unknown format", "grib", "x", "there are csv, gridpoint"},
		{"empty", "csv", " \n", "empty"},
		{"no header", "csv", "# a remark\n", "no header"},
		{"no unit", "csv", "time,air,dew_point_C\n", `line 1: column "air": write time, or a value's name and its unit`},
		{"wrong unit", "csv", "time,air_m/s,dew_point_C\n", `"m/s" is not a unit of temperature`},
		{"twice", "csv", "time,air_C,air_F,dew_point_C\n", `column "air_F": there is one`},
		{"no air", "csv", "time,dew_point_C\n", "no column air_C"},
		{"no moisture", "csv", "time,air_C\n", "no column dew_point_C"},
		{"no time", "csv", "air_C,dew_point_C\n", "no column time"},
		{"a word", "csv", head + "2026-04-06T07:00:00Z,warm,8\n", `line 2, column air_C: "warm" is not a number`},
		{"a bad time", "csv", head + "Monday,10,8\n", `line 2, column time: "Monday" is not a time`},
		{"cut off", "csv", head + "2026-04-06T07:00:00Z,10,8\n2026-04-06T08:0", "line 3: 1 cells under 3 columns; is the file cut off?"},
		{"issued at no time", "csv", "# issued today\n" + head, "line 1: issued"},
		{"no rows", "csv", head, "no point has a value"},
		{"an impossible year", "csv", head + "0026-04-06T07:00:00Z,10,8\n", "not a time of any forecast"},
		{"cut off", "open-meteo", `{"hourly":{"time":["2026-`, "cut off after"},
		{"not JSON", "open-meteo", `<html>`, "not JSON at byte 1"},
		{"refused", "open-meteo", `{"error":true,"reason":"Value of type 'String' required"}`, "the service refused: Value"},
		{"no times", "open-meteo", hourly(""), "no hourly.time"},
		{"no offset", "open-meteo", `{"hourly":{"time":["2026-04-06T08:00"]}}`, "no utc_offset_seconds"},
		{"lengths", "open-meteo", hourly(`"time":["2026-04-06T08:00"],"temperature_2m":[1,2]`), "temperature_2m has 2 values for 1 times"},
		{"a bad time", "open-meteo", hourly(`"time":["2026-04-06"]`), `hourly.time[0]: "2026-04-06"`},
		{"no temperature", "open-meteo", hourly(`"time":[],"weather_code":[]`), "hourly has no temperature_2m, only weather_code"},
		{"no moisture", "open-meteo", hourly(`"time":["2026-04-06T08:00"],"temperature_2m":[1]`), "ask for one"},
		{"a text for a number", "open-meteo", hourly(`"time":["2026-04-06T08:00"],"temperature_2m":["1"]`), "hourly.temperature_2m"},
		{"all nulls", "open-meteo", hourly(`"time":["2026-04-06T08:00"],"temperature_2m":[null],"dew_point_2m":[null]`), "no point has a value"},
		{"a placeholder", "gridpoint", layers(`"updateTime":"date:now -5 seconds"`), "properties.updateTime: \"date:now -5 seconds\" is a placeholder"},
		{"a placeholder interval", "gridpoint", layers(`"temperature":{"values":[{"validTime":"date:now -5 seconds / PT1H","value":1}]}`), "properties.temperature.values[0].validTime"},
		{"a placeholder", "locationforecast", `{"properties":{"timeseries":[{"time":"date:now +1 seconds"}]}}`, "placeholder"},
		{"for readers", "gridpoint", layers(`"periods":[]`), "ask for the gridpoint itself"},
		{"another document", "gridpoint", layers(""), "properties.temperature is missing"},
		{"no moisture", "gridpoint", layers(`"temperature":{"values":[{"validTime":"2026-04-06T06:00:00Z/PT1H","value":1}]}`), "both missing"},
		{"no interval", "gridpoint", layers(`"temperature":{"values":[{"validTime":"2026-04-06T06:00:00Z","value":1}]}`), "not an interval"},
		{"no duration", "gridpoint", layers(`"temperature":{"values":[{"validTime":"2026-04-06T06:00:00Z/3H","value":1}]}`), `"3H" is not a duration`},
		{"a wrong unit", "gridpoint", layers(`"temperature":{"uom":"wmoUnit:m","values":[{"validTime":"2026-04-06T06:00:00Z/PT1H","value":1}]}`), `properties.temperature.uom: "m" is not a unit`},
		{"a century", "gridpoint", layers(`"temperature":{"values":[{"validTime":"1996-04-06T06:00:00Z/PT1H","value":1},{"validTime":"2026-04-06T06:00:00Z/PT1H","value":1}]},` + dewRun), "is not believed"},
		{"another document", "locationforecast", `{}`, "properties.timeseries is missing"},
		{"a wrong unit", "locationforecast", `{"properties":{"meta":{"units":{"air_temperature":"furlong"}},"timeseries":[{"time":"2026-04-06T06:00:00Z","data":{"instant":{"details":{"air_temperature":1}}}}]}}`, "properties.meta.units.air_temperature"},
		{"more follows", "locationforecast", `{} {}`, "more follows"},
	}
	for _, tt := range tests {
		t.Run(tt.format+" "+tt.name, func(t *testing.T) {
			_, err := parse(tt.format, tt.body, nil)
			if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), "forecast f: ") {
				t.Errorf("%v, want %q", err, tt.want)
			}
		})
	}
}

// TestDoubts: doubtful values are NaN, their points unknown, and the forecast says so.
func TestDoubts(t *testing.T) {
	tests := []struct{ name, rows, flags, want string }{
		{"out of order", "2026-04-06T08:00:00Z,11,8\n2026-04-06T07:00:00Z,10,8\n", ":out of order", "07:00 10/8 forecast, 08:00 11/8 forecast"},
		{"the same twice", "2026-04-06T07:00:00Z,10,8\n2026-04-06T07:00:00Z,10,8\n", "", "07:00 10/8 forecast"},
		{"different things of one time", "2026-04-06T07:00:00Z,10,8\n2026-04-06T07:00:00Z,12,8\n2026-04-06T07:00:00Z,10,8\n", "air:possible repeat", "07:00 NaN/8 unknown"},
		{"200 °C", "2026-04-06T07:00:00Z,200,8\n2026-04-06T08:00:00Z,11,8\n", "air:out of range", "07:00 NaN/8 unknown, 08:00 11/8 forecast"},
		{"dew point over air", "2026-04-06T07:00:00Z,10,12\n", "dew_point:contradiction", "07:00 10/NaN unknown"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, err := parse("csv", "time,air_C,dew_point_C\n"+tt.rows, nil)
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, p := range f.Points {
				got = append(got, fmt.Sprintf("%s %g/%g %s", p.At.Format("15:04"), float64(p.Air), float64(p.DewPoint), p.Sure))
			}
			if strings.Join(got, ", ") != tt.want || sayFlags(f) != tt.flags {
				t.Errorf("got %q, flags %v", got, f.Flags)
			}
		})
	}
	f, err := parse("csv", "time,air_C,dew_point_C,humidity_%\n2026-04-06T07:00:00Z,20,5,90\n", nil)
	if err != nil || !math.IsNaN(float64(f.Points[0].DewPoint)) || sayFlags(f) != "dew_point:contradiction" {
		t.Errorf("%v %+v", err, f)
	}
}

// TestIssued: a wrong zone must not make a forecast outrank a newer one.
func TestIssued(t *testing.T) {
	for issued, want := range map[string]string{"2026-04-06T06:00:00+02:00": "04:00", "2026-04-06T06:00:00-05:00": "06:30 :clock ahead", "2026-04-06T06:31:00Z": "06:30"} {
		f, err := parse("csv", "# issued "+issued+"\ntime,air_C,dew_point_C\n2026-04-06T07:00:00Z,10,8\n", nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(f.Issued.Format("15:04") + " " + sayFlags(f)); got != want {
			t.Errorf("%s: %s, want %s", issued, got, want)
		}
	}
}

// TestSpread: a later point is no surer than an earlier one.
func TestSpread(t *testing.T) {
	f, err := parse("csv", "time,air_C,dew_point_C\n2026-04-06T07:00:00Z,10,8\n2026-04-09T07:00:00Z,10,8\n", nil)
	if err != nil {
		t.Fatal(err)
	}
	a, b := f.Points[0], f.Points[1]
	if !(a.AirError > 0 && a.DewError > 0 && b.AirError > a.AirError && b.DewError > a.DewError) {
		t.Errorf("%v %v, %v %v", a.AirError, a.DewError, b.AirError, b.DewError)
	}
}

func TestPeriod(t *testing.T) {
	for text, want := range map[string]time.Duration{
		"PT3H": 3 * time.Hour, "P1DT6H": 30 * time.Hour, "P7D": 168 * time.Hour, "PT30M": 30 * time.Minute, "PT1H30M5S": 90*time.Minute + 5*time.Second,
		"": 0, "P": 0, "PT": 0, "3H": 0, "PT0H": 0, "P1M": 0, "PT-1H": 0, "PTH": 0, "P999999D": 0, "PT1H2": 0, "PTT1H": 0,
	} {
		if got, ok := period(text); ok != (want > 0) || ok && got != want {
			t.Errorf("%q: %v %v", text, got, ok)
		}
	}
}

// TestTableComesBack: what a table says is what the points hold, in order.
func TestTableComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 30).Draw(t, "rows")
		body := "time,air_C,dew_point_C,wind_m/s\n"
		var want []string
		for i := range n {
			a := rapid.Float64Range(-20, 40).Draw(t, "air")
			d := a - rapid.Float64Range(0, 20).Draw(t, "depression")
			w := rapid.Float64Range(0, 40).Draw(t, "wind")
			at := received.Add(time.Duration(i) * time.Hour).Format(time.RFC3339)
			body += fmt.Sprintf("%s,%v,%v,%v\n", at, a, d, w)
			want = append(want, fmt.Sprint(at, a, d, w))
		}
		f, err := parse("csv", body, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range f.Points {
			if got := fmt.Sprint(p.At.Format(time.RFC3339), float64(p.Air), float64(p.DewPoint), float64(p.Wind)); got != want[i] {
				t.Fatalf("got %s, want %s", got, want[i])
			}
		}
		if len(f.Points) != n || len(f.Flags) > 0 {
			t.Fatalf("%d points, flags %v", len(f.Points), f.Flags)
		}
	})
}
