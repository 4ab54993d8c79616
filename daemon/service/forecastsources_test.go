package service

import (
	"strings"
	"testing"
	"time"
)

// twoSources is the yard of these tests with a second folder of forecasts.
const twoSources = `
  - {name: model, format: csv, folder: forecasts}
  - {name: other, format: csv, folder: others, stale: 6 h}
`

func withOther(yard string) string {
	return strings.Replace(yard, "\n  - {name: model, format: csv, folder: forecasts}\n", twoSources, 1)
}

// TestForecastSources: each source of the yard file is told with its newest issue and
// its age; one that never came is stale, and so is one that is older than it may be.
func TestForecastSources(t *testing.T) {
	t.Parallel()
	r := newRig(t, withOther(yardText))
	r.start()
	r.forecast("a.csv", monday, dry)
	r.until(at(0, 7, 0))
	all, err := r.svc.ForecastSources(t.Context())
	if err != nil || len(all) != 2 {
		t.Fatalf("%+v, %v", all, err)
	}
	if a := all[0]; a.Name != "model" || !a.Issued.Equal(monday) || a.Age != time.Hour || a.Stale || !a.Leads || a.Broken != "" {
		t.Errorf("%+v", a)
	}
	if b := all[1]; b.Name != "other" || !b.Issued.IsZero() || !b.Stale || b.Leads {
		t.Errorf("never came: %+v", b)
	}
	r.until(at(1, 1, 0))
	if all, err = r.svc.ForecastSources(t.Context()); err != nil || !all[0].Stale || all[0].Leads {
		t.Errorf("19 h old: %+v, %v", all[0], err)
	}
}
