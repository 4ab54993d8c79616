package forecast

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// folder is the one of forecasts in ../shared, beside the repository.
func folder(t *testing.T) string {
	t.Helper()
	return filepath.Join(top(t), "..", "shared", "forecasts")
}

// shared reads a file of ../shared beside the repository.
func shared(t *testing.T, path string) []byte {
	t.Helper()
	body, err := os.ReadFile(filepath.Join(top(t), "..", "shared", path))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal(err)
		}
		t.Skipf("no ../shared/%s here: %v", path, err)
	}
	return body
}

// top is the repository.
func top(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		if filepath.Dir(dir) == dir {
			t.Fatal("no go.mod above the test")
		}
		dir = filepath.Dir(dir)
	}
	return dir
}

// TestRealDocuments reads every forecast of ../shared/forecasts as what it is.
// The documents are the services' own or fixtures of open programs.
func TestRealDocuments(t *testing.T) {
	tests := []struct {
		file, format, received string
		points                 int
		first, flags           string // or:
		fault                  string
	}{
		// The first temperature of the file is 22.78 °C with a dew point of 17.78 °C,
		// wind 20.372 km/h, gusts 29.632 km/h, sky 71 %.
		{file: "nws_detailed_forecast.json", format: "gridpoint", received: "2022-02-04T03:20:00Z", points: 182,
			first: "03T21:00 22.8/17.8 5.7/8.2 NaN/NaN 0.71/NaN forecast"},
		{file: "metno_locationforecast2_compact_NewYork_2020-07-20.body.json", format: "locationforecast", received: "2020-07-20T11:44:31Z", points: 82,
			first: "20T11:00 26.5/23.0 3.8/NaN NaN/NaN 0.70/NaN forecast"},
		{file: "metno_locationforecast2_complete_London_2020-07-20.body.json", format: "locationforecast", received: "2020-07-20T11:44:31Z", points: 82,
			first: "20T11:00 18.8/7.2 2.3/NaN NaN/NaN 0.12/NaN forecast"},
		{file: "openmeteo_general_2023-11-13.json", format: "open-meteo", fault: "hourly has no temperature_2m, only weather_code"},
		{file: "openmeteo_more_models_2023-11-13.json", format: "open-meteo", fault: "only weather_code_best_match, weather_code_gfs_seamless"},
		{file: "nws_weathergov_gridpoint_BOX_70_82.json", format: "gridpoint", fault: "placeholder"},
		{file: "nws_weathergov_gridpoints_OKX_1_1.json", format: "gridpoint", fault: "placeholder"},
		{file: "nws_weathergov_gridpoints_SEW_1_1.json", format: "gridpoint", fault: "placeholder"},
		{file: "nws_weathergov_gridpoints_SEW_1_1_forecast_hourly.json", format: "gridpoint", fault: "ask for the gridpoint itself"},
		{file: "nws_gridpoints_forecast_hourly_si.json", format: "gridpoint", fault: "ask for the gridpoint itself"},
		{file: "nws_gridpoints_forecast_si.json", format: "gridpoint", fault: "ask for the gridpoint itself"},
		{file: "nws_gridpoints_forecast_us.json", format: "gridpoint", fault: "ask for the gridpoint itself"},
		{file: "nws_points.json", format: "gridpoint", fault: "is this a gridpoint document?"},
		{file: "nws_weathergov_points_47.603_-122.33.json", format: "gridpoint", fault: "is this a gridpoint document?"},
		{file: "nws_stations_observations_latest.json", format: "gridpoint", fault: "properties.temperature is missing or empty; is this a gridpoint document?"},
		{file: "nws_stations_observations_multiple.json", format: "gridpoint", fault: "is this a gridpoint document?"},
		{file: "metno_locationforecast2_compact_NewYork_2020-07-20.headers.json", format: "locationforecast", fault: "is this a locationforecast document?"},
		{file: "bulletins/TAFJFK.txt", format: "open-meteo", fault: "not this form of document"},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			at, _ := time.Parse(time.RFC3339, tt.received)
			f, err := Parse(sensors.Document{Source: "f", Format: tt.format, Body: shared(t, "forecasts/"+tt.file), Received: at})
			if tt.points == 0 {
				if err == nil || !strings.Contains(err.Error(), tt.fault) {
					t.Errorf("%v, want %q", err, tt.fault)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if len(f.Points) != tt.points || say(f.Points[0]) != tt.first || sayFlags(f) != tt.flags {
				t.Errorf("%d points, first %s, flags %+v", len(f.Points), say(f.Points[0]), f.Flags)
			}
			if !f.Issued.Before(at) {
				t.Errorf("issued %s", f.Issued)
			}
		})
	}
}

// TestFilledIn fills real fixtures' placeholder times in. In one somebody put in
// 200 °C for 15 hours and a flat 10 °C later, which its humidity and dew point
// contradict for seven; in another humidity ends with zeros.
func TestFilledIn(t *testing.T) {
	tests := []struct {
		file, flags     string
		points, unknown int
	}{
		{"nws_weathergov_gridpoints_SEW_1_1.json", "air:out of range 15 dew_point:contradiction 7", 181, 25},
		{"nws_weathergov_gridpoints_OKX_1_1.json", "humidity:out of range 3", 184, 3},
		{"nws_weathergov_gridpoint_BOX_70_82.json", "", 181, 0},
	}
	for _, tt := range tests {
		t.Run(tt.file, func(t *testing.T) {
			f, err := parse("gridpoint", fill(t, string(shared(t, "forecasts/"+tt.file)), received), nil)
			if err != nil {
				t.Fatal(err)
			}
			unknown := 0
			for _, p := range f.Points {
				if p.Air > 40 {
					t.Errorf("%+v", p)
				}
				if p.Sure == conditions.Unknown {
					unknown++
				}
			}
			var flags []string
			for _, g := range f.Flags {
				count, _, _ := strings.Cut(g.Note, " ")
				flags = append(flags, string(g.Of)+":"+string(g.Fault)+" "+count)
			}
			if got := strings.Join(flags, " "); got != tt.flags || len(f.Points) != tt.points || unknown != tt.unknown {
				t.Errorf("%d points, %d unknown, flags %q", len(f.Points), unknown, got)
			}
		})
	}
}

// fill replaces each "date:now ±n seconds" by the time it means.
func fill(t *testing.T, text string, now time.Time) string {
	t.Helper()
	parts := strings.Split(text, "date:now ")
	for i, p := range parts[1:] {
		offset, rest, ok := strings.Cut(p, " seconds")
		d, err := time.ParseDuration(offset + "s")
		if !ok || err != nil {
			t.Fatalf("%q: %v", offset, err)
		}
		parts[i+1] = now.Add(d).Format(time.RFC3339) + strings.Replace(strings.Replace(rest, " / ", "/", 1), " /", "/", 1)
	}
	return strings.Join(parts, "")
}
