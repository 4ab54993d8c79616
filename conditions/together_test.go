package conditions

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// TestTogetherGoesOn: the correlation that was learned comes from Experience to the
// margin of a moment, between two points and through JSON too; where nothing was
// learned the published one counts.
func TestTogetherGoesOn(t *testing.T) {
	x := Learn(issues(20, func(issued, at time.Time) Pair {
		off := unit.TempDiff(math.Sin(float64(at.Unix()/3600)) * 1.5)
		return pair(issued, at, off, off, 5)
	}))
	if x.Together < 0.8 {
		t.Fatalf("errors that are one and the same are together by %v", x.Together)
	}
	come := pair(monday, after(24), 0, 0, 5).Forecast
	next := pair(monday, after(25), 0, 0, 5).Forecast
	a, b := x.Correct(come, "slip", monday), x.Correct(next, "slip", monday)
	if a.Together != x.Together || x.Correct(come, "elsewhere", monday).Together != 0 {
		t.Errorf("together %v in the place, %v elsewhere", a.Together, x.Correct(come, "elsewhere", monday).Together)
	}
	text, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var back Weather
	if err := json.Unmarshal(text, &back); err != nil || back.Together != a.Together {
		t.Errorf("through JSON: %v, %v", back.Together, err)
	}
	mid := At([]Weather{a, b}, after(24.5))
	near(t, "between two", mid.Together, x.Together, 1e-12)
	near(t, "between learned and not", At([]Weather{a, next}, after(24.5)).Together, (x.Together+together)/2, 1e-12)
	if At([]Weather{come, next}, after(24.5)).Together != 0 {
		t.Error("learned between two that are not")
	}
	near(t, "margin learned", Enclosure{}.Moment(a, Idle).MarginError, float64(difference(a.AirError, a.DewError, x.Together)), 1e-12)
	air, dew, published := Spread(24 * time.Hour)
	come.AirError, come.DewError = air, dew
	near(t, "margin published", Enclosure{}.Moment(come, Idle).MarginError, float64(published), 1e-12)
}
