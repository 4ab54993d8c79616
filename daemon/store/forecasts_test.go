package store

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
)

func forecast(source string, issued time.Time, air unit.Temperature) sensors.Forecast {
	f := sensors.Forecast{Source: source, Issued: issued, Received: issued.Add(time.Minute)}
	for h := range 3 {
		f.Points = append(f.Points, conditions.Weather{At: issued.Add(time.Duration(h) * time.Hour), Air: air, DewPoint: 7,
			Wind: unit.NaN[unit.Speed](), Shortwave: math.NaN(), Sure: conditions.Foretold})
	}
	return f
}

func TestNewestForecastOfEachSource(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	again := forecast("model a", noon, 11)
	again.Received = noon.Add(time.Hour)
	done := commit(t, s, Change{Forecasts: []NewForecast{
		{Forecast: forecast("model b", noon.Add(-time.Hour), 10)},
		{Forecast: forecast("model a", noon, 11), Raw: []byte("as it came")},
		{Forecast: forecast("model a", noon.Add(-6*time.Hour), 12)}, // late, and older
		{Forecast: again},
	}})
	if done.Forecasts[3] != done.Forecasts[1] {
		t.Errorf("fetched again, kept again: %v", done.Forecasts)
	}
	latest, err := s.LatestForecasts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if len(latest) != 2 || latest[0].Points[0].Air != 11 || latest[1].Points[0].Air != 10 {
		t.Fatalf("latest: %+v", latest)
	}
	if !latest[0].Received.Equal(noon.Add(time.Minute)) {
		t.Errorf("received %v", latest[0].Received)
	}
	p := latest[0].Points[2]
	if !p.At.Equal(noon.Add(2*time.Hour)) || p.DewPoint != 7 || !math.IsNaN(float64(p.Wind)) || !math.IsNaN(p.Shortwave) || p.Sure != conditions.Foretold {
		t.Errorf("point: %+v", p)
	}

	commit(t, s, Change{Forecasts: []NewForecast{{Forecast: forecast("model a", noon, 13)}}}) // the issue corrected
	latest, err = s.LatestForecasts(t.Context())
	if err != nil || latest[0].Points[0].Air != 13 {
		t.Errorf("corrected: %+v, %v", latest, err)
	}
	old, err := s.Forecast(t.Context(), done.Forecasts[1])
	if err != nil || old.Points[0].Air != 11 {
		t.Errorf("the one it corrects: %+v, %v", old, err)
	}
	if _, err := s.Forecast(t.Context(), 99); err == nil {
		t.Error("found a forecast that is not there")
	}
}

func TestForecastKeepsSunAndDocument(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	f := forecast("model a", noon, 11)
	f.Points[1].Shortwave = 612.5
	f.Flags = []sensors.Flag{{Of: conditions.WindSpeed, Fault: sensors.Missing}}
	done := commit(t, s, Change{Forecasts: []NewForecast{{Forecast: f, Raw: []byte("document")}}})
	got, err := s.Forecast(t.Context(), done.Forecasts[0])
	if err != nil || got.Points[1].Shortwave != 612.5 || len(got.Flags) != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	var packed []byte
	if err := s.reader.QueryRow(`SELECT raw FROM forecasts`).Scan(&packed); err != nil {
		t.Fatal(err)
	}
	if raw, err := s.packer.unpack(packed); err != nil || string(raw) != "document" {
		t.Errorf("raw %q, %v", raw, err)
	}
}
