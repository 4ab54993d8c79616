package forecast

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// understood are the files of ../shared/forecasts that are forecasts as they stand,
// with the points that each has as one format. Of all the others every format must say
// why it has nothing to do with them.
var understood = map[string]struct {
	format string
	points int
}{
	"nws_detailed_forecast.json":                                   {"gridpoint", 182},
	"metno_locationforecast2_compact_NewYork_2020-07-20.body.json": {"locationforecast", 82},
	"metno_locationforecast2_complete_London_2020-07-20.body.json": {"locationforecast", 82},
}

// TestEveryFileInEveryFormat: whatever is put into a source of the wrong format, or is
// an observation, a header or a page of text, is refused by name and never becomes a
// forecast; and what is a forecast keeps all that a plan goes by.
func TestEveryFileInEveryFormat(t *testing.T) {
	shared(t, "forecasts/nws_points.json") // finds the folder, or skips
	root := folder(t)
	seen := map[string]bool{}
	err := filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		body, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(root, path)
		for format := range formats {
			f, err := Parse(sensors.Document{Source: "f", Format: format, Body: body, Received: time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)})
			is := understood[name]
			switch {
			case is.format == format:
				seen[name] = true
				if err != nil || len(f.Points) != is.points {
					t.Errorf("%s: %d points, %v", name, len(f.Points), err)
				}
				if fault := fit(f); fault != "" {
					t.Errorf("%s: %s", name, fault)
				}
			case err == nil:
				t.Errorf("%s passes for %s with %d points", name, format, len(f.Points))
			case !strings.HasPrefix(err.Error(), "forecast f: ") || len(err.Error()) > 500:
				t.Errorf("%s as %s: %v", name, format, err)
			}
			if err != nil && (len(f.Points) > 0 || !f.Issued.IsZero()) {
				t.Errorf("%s as %s: half a forecast beside %v", name, format, err)
			}
		}
		return nil
	})
	if err != nil || len(seen) != len(understood) {
		t.Errorf("%d of %d forecasts were there, %v", len(seen), len(understood), err)
	}
}

// TestCutAnywhere: a real document that ends too soon is never half a forecast.
func TestCutAnywhere(t *testing.T) {
	for name, is := range understood {
		body := strings.TrimSpace(string(shared(t, "forecasts/"+name)))
		for i := range 97 {
			cut := len(body) * i / 97
			if f, err := Parse(sensors.Document{Source: "f", Format: is.format, Body: []byte(body[:cut]), Received: time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)}); err == nil || len(f.Points) > 0 {
				t.Errorf("%s: %d of %d bytes pass for a forecast of %d points", name, cut, len(body), len(f.Points))
			}
		}
	}
}

// fit says what of a forecast a plan could not go by: points in order, each once, values
// as they may be in the open air, a dew point no higher than the air, and no point that
// counts as foretold without both.
func fit(f sensors.Forecast) string {
	for i, p := range f.Points {
		switch {
		case i > 0 && !p.At.After(f.Points[i-1].At):
			return fmt.Sprintf("point %d at %s is not after the one before", i, p.At)
		case p.DewPoint > p.Air:
			return fmt.Sprintf("at %s the dew point is %v in air of %v", p.At, p.DewPoint, p.Air)
		case p.Air < -60 || p.Air > 60 || p.Wind < 0 || p.Wind > 100 || p.Gust < 0 || p.Cloud < 0 || p.Cloud > 1 || p.RainChance < 0 || p.RainChance > 1 || p.Rain < 0:
			return fmt.Sprintf("out of this world: %+v", p)
		case p.Sure == conditions.Foretold && math.IsNaN(float64(p.Air+p.DewPoint)):
			return fmt.Sprintf("foretold of nothing: %+v", p)
		case p.Sure == conditions.Foretold && !(p.AirError > 0 && p.DewError > 0):
			return fmt.Sprintf("without a spread: %+v", p)
		}
	}
	return ""
}
