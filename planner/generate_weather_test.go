package planner

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// climate is an airport with the hours of a whole year, as measured.
type climate struct {
	file, zone          string
	latitude, longitude float64
	hours               []conditions.Weather // in the order of time; hours may be missing
	season              conditions.Season
}

// climates reads the public hourly records of two airports in ../shared/weather
// once. Without them there is no generated yard: the test is skipped, and fails
// where env CI says that they must be there.
func climates(t testing.TB) []climate {
	t.Helper()
	all, err := recordedClimates()
	switch {
	case err != nil && os.Getenv("CI") == "true":
		t.Fatalf("the weather of generated yards must be there in CI: %v", err)
	case os.IsNotExist(err):
		t.Skipf("no generated yards: %v", err)
	case err != nil:
		t.Fatal(err)
	}
	return all
}

var recordedClimates = sync.OnceValues(func() ([]climate, error) {
	all := []climate{
		{file: "newark_2013_hourly.csv", zone: "America/New_York", latitude: 40.7, longitude: -74.2},
		{file: "seattle_2014_hourly.csv", zone: "America/Los_Angeles", latitude: 47.4, longitude: -122.3},
	}
	dir, err := moduleRoot()
	if err != nil {
		return nil, err
	}
	for i := range all {
		c := &all[i]
		if c.hours, err = recordedHours(filepath.Join(dir, "..", "shared", "weather", c.file)); err != nil {
			return nil, err
		}
		if c.season, err = conditions.SeasonOf(c.hours); err != nil {
			return nil, err
		}
	}
	return all, nil
})

// moduleRoot is the folder of go.mod, upwards of the test's own.
func moduleRoot() (string, error) {
	dir, err := os.Getwd()
	if err != nil {
		return "", err
	}
	for ; ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir, nil
		} else if dir == filepath.Dir(dir) {
			return "", err
		}
	}
}

// recordedHours reads a table of hours, from °F, mph and inches. Times without a
// zone are taken as UTC, which shifts the hours of the day and nothing else. What
// could not be measured is left out, wind over 60 m/s, a known fault of one file, too.
func recordedHours(path string) ([]conditions.Weather, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		return nil, err
	}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	var hours []conditions.Weather
	for _, row := range rows[1:] {
		value := func(name string) float64 {
			if v, err := strconv.ParseFloat(row[column[name]], 64); err == nil {
				return v
			}
			return math.NaN()
		}
		layout, name := time.RFC3339, "time_hour"
		if _, ok := column[name]; !ok {
			layout, name = time.DateTime, "date"
		}
		at, err := time.Parse(layout, row[column[name]])
		if err != nil {
			return nil, err
		}
		w := conditions.Weather{
			At: at.UTC(), Sure: conditions.Measured,
			Air: unit.Temperature((value("temp") - 32) / 1.8), DewPoint: unit.Temperature((value("dewp") - 32) / 1.8),
			Wind: unit.Speed(value("wind_speed") * 0.44704), Gust: unit.NaN[unit.Speed](),
			Rain: unit.RainRate(value("precip") * 25.4), RainChance: unit.NaN[unit.Share](),
			Cloud: unit.NaN[unit.Share](), Shortwave: math.NaN(),
		}
		if !unit.Known(w.Air) || !unit.Known(w.DewPoint) || !unit.Known(w.Wind) || w.Wind > 60 {
			continue
		}
		if n := len(hours); n == 0 || hours[n-1].At.Before(w.At) {
			hours = append(hours, w)
		}
	}
	return hours, nil
}

// persists is how long a forecast's error lasts: the same order as the planner's
// own assumption, our judgement.
const persists = 12 * time.Hour

// foretelling is the weather as a planner at a time would have it: measured up to
// then, then foretold for ten days with errors of the published spread that
// persist for hours, then the season's. Sky and gusts nobody foretells are made up
// plainly: half a sky, gusts half as strong again as the wind.
func (c *climate) foretelling(at time.Time, horizon time.Duration, luck *rand.Rand) []conditions.Weather {
	const ahead = 10 * 24 * time.Hour
	issued := at.Truncate(6 * time.Hour)
	keep := math.Exp(-float64(time.Hour) / float64(persists))
	var air, dew float64 // in standard deviations
	var all []conditions.Weather
	for t := at.Add(-6 * time.Hour).Truncate(time.Hour); !t.After(at.Add(horizon + 3*time.Hour)); t = t.Add(time.Hour) {
		w := conditions.At(c.hours, t)
		if w.Sure == conditions.Unknown { // an hour that the record lacks
			w = c.season.Weather(t)
		}
		w.At, w.AirError, w.DewError = t, 0, 0
		w.Gust, w.Cloud = 1.5*w.Wind, 0.5
		if w.RainChance = 0.05; w.Rain > 0 {
			w.RainChance = 0.7
		}
		common := luck.NormFloat64()
		fresh := math.Sqrt(1 - keep*keep)
		air = keep*air + fresh*common
		dew = keep*dew + fresh*(0.6*common+0.8*luck.NormFloat64())
		switch {
		case !t.After(at):
			w.Sure = conditions.Measured
		case t.Before(issued.Add(ahead)):
			w.Sure = conditions.Foretold
			w.AirError, w.DewError, _ = conditions.Spread(t.Sub(issued))
			w.Air += unit.Temperature(air * float64(w.AirError))
			w.DewPoint = min(w.Air, w.DewPoint+unit.Temperature(dew*float64(w.DewError)))
		default:
			wind, rain := w.Wind, w.RainChance
			w = c.season.Weather(t)
			if w.Cloud, w.Gust = 0.5, 1.5*w.Wind; !unit.Known(w.Wind) {
				w.Wind, w.Gust = wind, 1.5*wind
			}
			if !unit.Known(w.RainChance) {
				w.RainChance = rain
			}
		}
		all = append(all, w)
	}
	return all
}

// TestGeneratedWeather: hour follows hour, no dew point is over its air, and what is
// measured comes before what is foretold, and that before what is pencilled.
func TestGeneratedWeather(t *testing.T) {
	all := generated(t, 5, 1).Outdoors
	for i, w := range all {
		if w.DewPoint > w.Air {
			t.Errorf("%v: dew point %v over air %v", w.At, w.DewPoint, w.Air)
		}
		if i > 0 && (!w.At.Equal(all[i-1].At.Add(time.Hour)) || rank(w.Sure) < rank(all[i-1].Sure)) {
			t.Errorf("%v (%s) follows %v (%s)", w.At, w.Sure, all[i-1].At, all[i-1].Sure)
		}
	}
	if last := all[len(all)-1]; all[0].Sure == last.Sure {
		t.Errorf("all of it is %s", last.Sure)
	}
}
