package forecast

import (
	"encoding/json"
	"math"
	"os"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// fuzz parses anything in a format: an error or a forecast that holds to what
// Parse promises.
func fuzz(f *testing.F, format string, files ...string) {
	zone, err := time.LoadLocation("Australia/Lord_Howe") // half an hour of summer time
	if err != nil {
		f.Fatal(err)
	}
	for _, file := range files {
		body, err := os.ReadFile("testdata/" + file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(body)
		f.Add(body[:len(body)/2])
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		got, err := Parse(sensors.Document{Source: "f", Format: format, Body: body, Received: received, Zone: zone})
		if err != nil {
			return
		}
		if len(got.Points) == 0 || got.Issued.After(received) {
			t.Fatalf("%+v", got)
		}
		for i, p := range got.Points {
			if i > 0 && !p.At.After(got.Points[i-1].At) {
				t.Fatalf("point %d is not after the one before", i)
			}
			known := !math.IsNaN(float64(p.Air)) && !math.IsNaN(float64(p.DewPoint))
			if (p.Sure == conditions.Foretold) != known || p.Air > 60 || p.Wind < 0 || p.RainChance > 1 || math.IsInf(float64(p.DewPoint), 0) {
				t.Fatalf("%+v", p)
			}
		}
		if _, err := json.Marshal(got); err != nil {
			t.Fatal(err)
		}
	})
}

func FuzzCSV(f *testing.F)    { fuzz(f, "csv", "table.csv", "semicolons.csv") }
func FuzzArrays(f *testing.F) { fuzz(f, "open-meteo", "arrays.json") }
func FuzzLayers(f *testing.F) { fuzz(f, "gridpoint", "layers.json") }
func FuzzSeries(f *testing.F) { fuzz(f, "locationforecast", "series.json") }
